use super::*;
use proptest::prelude::*;

/// A hidden Markov model as a lattice: a node a state, fits and costs the logarithms of its tables.
fn model(start: &[f64], moves: &[&[f64]], emits: &[&[f64]], seen: &[usize]) -> Lattice<'static> {
    let states = start.len();
    let layers = seen.iter().enumerate().map(|(t, &symbol)| Layer {
        nodes: (0..states)
            .map(|s| Node {
                at: [s as f32, 0.0],
                fit: emits[s][symbol].ln() + if t == 0 { start[s].ln() } else { 0.0 },
            })
            .collect(),
        fixed: false,
        from_before: moves
            .iter()
            .flat_map(|row| row.iter().map(|p| -p.ln() as f32))
            .collect(),
    });
    Lattice {
        layers: layers.collect(),
        hidden: None,
    }
}

#[test]
fn the_best_path_of_a_hidden_markov_model() {
    // Rabiner (1989), the algorithm on the textbook's two states (healthy, fever) and three symptoms.
    let lattice = model(
        &[0.6, 0.4],
        &[&[0.7, 0.3], &[0.4, 0.6]],
        &[&[0.5, 0.4, 0.1], &[0.1, 0.3, 0.6]],
        &[0, 1, 2],
    );
    assert_eq!(lattice.best_path(), [Some(0), Some(0), Some(1)]);
    let probability = 0.6 * 0.5 * 0.7 * 0.4 * 0.3 * 0.6;
    assert!((probability - 0.01512f64).abs() < 1e-9);
}

#[test]
fn the_weights_of_the_umbrella_world() {
    // Russell and Norvig, Artificial Intelligence, chapter on temporal models; the longer sequence as in common practice.
    let lattice = model(
        &[0.5, 0.5],
        &[&[0.7, 0.3], &[0.3, 0.7]],
        &[&[0.9, 0.1], &[0.2, 0.8]],
        &[0, 0, 1, 0, 0],
    );
    let rain: Vec<f64> = lattice.weights(1.0).iter().map(|w| w[0]).collect();
    for (got, want) in rain.iter().zip([0.8673, 0.8204, 0.3075, 0.8204, 0.8673]) {
        assert!((got - want).abs() < 5e-5, "{rain:?}");
    }
}

/// All paths of a lattice with their scores: each a choice of a candidate or hidden for every frame.
fn all_paths(lattice: &Lattice<'_>) -> Vec<(Vec<Option<usize>>, f64)> {
    let mut paths = vec![Vec::new()];
    for layer in &lattice.layers {
        let choices: Vec<Option<usize>> = (0..layer.nodes.len())
            .map(Some)
            .chain((!layer.fixed && lattice.hidden.is_some()).then_some(None))
            .collect();
        paths = paths
            .iter()
            .flat_map(|p| {
                choices.iter().map(move |&c| {
                    let mut longer: Vec<Option<usize>> = p.clone();
                    longer.push(c);
                    longer
                })
            })
            .collect();
    }
    paths
        .into_iter()
        .filter_map(|p| score(lattice, &p).map(|s| (p, s)))
        .collect()
}

fn score(lattice: &Lattice<'_>, path: &[Option<usize>]) -> Option<f64> {
    let hidden = lattice.hidden?;
    let seen: Vec<(usize, usize)> = path
        .iter()
        .enumerate()
        .filter_map(|(t, c)| c.map(|c| (t, c)))
        .collect();
    let (&(first, _), &(last, _)) = (seen.first()?, seen.last()?);
    let mut sum = -hidden.free_end(first) - hidden.free_end(path.len() - 1 - last);
    for &(t, i) in &seen {
        sum += lattice.layers[t].nodes[i].fit;
    }
    for pair in seen.windows(2) {
        let [(s, i), (t, j)] = [pair[0], pair[1]];
        let (a, b) = (&lattice.layers[s], &lattice.layers[t]);
        if t == s + 1 {
            sum -= f64::from(b.from_before[i * b.nodes.len() + j]);
        } else if t - s <= hidden.longest || (a.fixed && b.fixed) {
            let inverse = hidden.inverse_reach(t - s);
            sum -= hidden.base(t - s) + move_cost(a.nodes[i].at, b.nodes[j].at, inverse);
        } else {
            return None;
        }
    }
    Some(sum)
}

fn lattices() -> impl Strategy<Value = Vec<Layer>> {
    let node =
        (0f32..20.0, 0f32..20.0, -4f64..5.0).prop_map(|(x, y, fit)| Node { at: [x, y], fit });
    let layer = (
        proptest::collection::vec(node, 0..4),
        proptest::collection::vec(0f64..8.0, 9),
        0u8..5,
    );
    proptest::collection::vec(layer, 2..7).prop_map(|made| {
        let mut before = 0;
        let mut layers: Vec<Layer> = made
            .into_iter()
            .map(|(mut nodes, costs, kind)| {
                let fixed = kind == 0 && !nodes.is_empty();
                if fixed {
                    nodes.truncate(1);
                }
                let costs = costs.into_iter().take(before * nodes.len());
                let from_before = costs.map(|cost: f64| cost as f32).collect();
                before = nodes.len();
                Layer {
                    nodes,
                    fixed,
                    from_before,
                }
            })
            .collect();
        // At least one frame has a candidate.
        if layers.iter().all(|l| l.nodes.is_empty()) {
            layers[0].nodes.push(Node {
                at: [1.0, 1.0],
                fit: 0.0,
            });
        }
        layers
    })
}

proptest! {
    #[test]
    fn solving_equals_trying_every_path(layers in lattices(), longest in 2usize..5) {
        let hidden = HiddenOptions { longest, ..HiddenOptions::default() };
        let lattice = Lattice { layers, hidden: Some(&hidden) };
        let paths = all_paths(&lattice);
        prop_assume!(!paths.is_empty());
        let solved = lattice.solve(0.6);
        let best = paths.iter().map(|(_, s)| *s).fold(f64::NEG_INFINITY, f64::max);
        let found = score(&lattice, &solved.path);
        prop_assert!(found.is_some_and(|f| (f - best).abs() < 1e-4), "{found:?} {best}");
        let total: f64 = paths.iter().map(|(_, s)| (0.6 * (s - best)).exp()).sum();
        for (t, weights) in solved.weights.iter().enumerate() {
            for (i, weight) in weights.iter().enumerate() {
                let through: f64 = paths
                    .iter()
                    .filter(|(p, _)| p[t] == Some(i))
                    .map(|(_, s)| (0.6 * (s - best)).exp())
                    .sum();
                prop_assert!((weight - through / total).abs() < 1e-5, "frame {t}: {weight} {}", through / total);
            }
        }
    }

    #[test]
    fn powers_are_those_of_the_library(x in 1f32..1e9, exponent in -1.5f32..0.0) {
        let (got, want) = (power(x, exponent), x.powf(exponent));
        prop_assert!((got - want).abs() <= 2e-5 * want, "{x} ^ {exponent}: {got} {want}");
    }
}

#[test]
fn clicks_far_apart_with_nothing_between_are_joined() {
    let click = |x: f32| Layer {
        nodes: vec![Node {
            at: [x, 0.0],
            fit: 0.0,
        }],
        fixed: true,
        from_before: Vec::new(),
    };
    let mut layers = vec![Layer::default(); 80];
    layers[5] = click(1.0);
    layers[70] = click(9.0);
    let hidden = HiddenOptions::default();
    let solved = Lattice {
        layers,
        hidden: Some(&hidden),
    }
    .solve(0.6);
    assert_eq!(solved.path.iter().flatten().count(), 2);
    assert!((solved.weights[70][0] - 1.0).abs() < 1e-9);
}
