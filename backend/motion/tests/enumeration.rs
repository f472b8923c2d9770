//! The chain of states against every path one by one.
//!
//! Outside reference: the definition of the posterior (Rabiner 1989, equations 18 to 27): the sum over all paths through a
//! state, over the sum of all paths. With the states without evidence these are affine gaps (Gotoh 1982).

use motion::frame_map::band::{Band, Table};
use motion::frame_map::chain::{Steps, posterior};

const NEW: usize = 4;
const OLD: usize = 3;

/// A state: matched or reworked with an old frame, or none after so many old frames.
#[derive(Clone, Copy, Debug, PartialEq)]
enum State {
    Matched(usize),
    Reworked(usize),
    None(usize),
}
use State::{Matched, None as Gone, Reworked};

fn states() -> Vec<State> {
    let pairs = (0..OLD).flat_map(|j| [Matched(j), Reworked(j)]);
    pairs.chain((0..=OLD).map(Gone)).collect()
}

fn at(chances: &[f64], d: Option<usize>) -> f64 {
    d.and_then(|d| chances.get(d)).copied().unwrap_or(0.0)
}

fn step(s: &Steps, from: State, to: State) -> f64 {
    let anywhere = |j: usize, k: usize, chance: f64| if k > j { chance / OLD as f64 } else { 0.0 };
    match (from, to) {
        (Matched(j), Matched(k)) => at(&s.ahead, k.checked_sub(j)) + anywhere(j, k, s.jump),
        (Reworked(j), Matched(k)) => (1.0 - s.rework_stays) * at(&s.ahead, k.checked_sub(j)),
        (Matched(j), Reworked(k)) => {
            s.rework * s.rework_cost * at(&s.rework_ahead, k.checked_sub(j))
        }
        (Reworked(j), Reworked(k)) => {
            s.rework_stays * s.rework_cost * at(&s.rework_ahead, k.checked_sub(j))
        }
        (Matched(j), Gone(g)) if g == j + 1 => s.gap,
        (Gone(g), Gone(h)) if g == h => s.gap_stays,
        (Gone(g), Matched(k)) => {
            let leaves = 1.0 - s.gap_stays;
            let base = g.saturating_sub(1);
            let later = g == 0 || k > base;
            let far = if later {
                (1.0 - s.gap_near) / OLD as f64
            } else {
                0.0
            };
            leaves * (s.gap_near * at(&s.gap_ahead, k.checked_sub(base)) + far)
        }
        _ => 0.0,
    }
}

fn weight(s: &Steps, evidence: &Table<f32>, path: &[State]) -> f64 {
    let edge = |d: usize| if d < s.edge { 1.0 } else { s.off_edge };
    let mut weight = match path[0] {
        Matched(j) => edge(j),
        Reworked(j) => s.rework * edge(j),
        Gone(0) => s.gap,
        Gone(_) => 0.0,
    };
    for (i, &state) in path.iter().enumerate() {
        if i > 0 {
            weight *= step(s, path[i - 1], state);
        }
        if let Matched(j) = state {
            weight *= f64::from(evidence.row(i)[j]).exp();
        }
    }
    match path[NEW - 1] {
        Matched(j) | Reworked(j) => weight * edge(OLD - 1 - j),
        Gone(_) => weight,
    }
}

#[test]
fn posteriors_are_sums_over_all_paths() {
    let steps = Steps {
        edge: 1,
        gap: 0.05,
        jump: 0.04,
        rework: 0.03,
        ..Steps::default()
    };
    let mut evidence = Table::filled(&Band::whole(NEW, OLD), 0.0f32);
    for i in 0..NEW {
        for (j, e) in evidence.row_mut(i).iter_mut().enumerate() {
            *e = ((i * 7 + j * 5) % 11) as f32 * 0.4 - 2.0;
        }
    }
    let all = states();
    let (mut pairs, mut none, mut total) = ([[0.0; OLD]; NEW], [0.0; NEW], 0.0);
    for code in 0..all.len().pow(NEW as u32) {
        let path: Vec<State> = (0..NEW as u32)
            .map(|i| all[code / all.len().pow(i) % all.len()])
            .collect();
        let w = weight(&steps, &evidence, &path);
        total += w;
        for (i, state) in path.iter().enumerate() {
            match *state {
                Matched(j) | Reworked(j) => pairs[i][j] += w,
                Gone(_) => none[i] += w,
            }
        }
    }
    let found = posterior(&evidence, &steps, &[]);
    for i in 0..NEW {
        for (j, (p, sum)) in found.pairs.row(i).iter().zip(pairs[i]).enumerate() {
            let expected = sum / total;
            assert!(
                (f64::from(*p) - expected).abs() < 1e-6,
                "{i} {j}: {p} {expected}"
            );
        }
        assert!(
            (f64::from(found.none[i]) - none[i] / total).abs() < 1e-6,
            "{i}"
        );
    }
}
