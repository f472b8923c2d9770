//! Why two notes seem to be about one matter, in words.

use domain::Principle;

use super::pair::{Pair, distance};
use crate::Critic;
use crate::note::{Analysed, NotePart};

/// Likeness from which a thing is given as a reason.
const ALIKE: f64 = 0.7;

/// The reasons, weightiest first; none for a pair that has nothing in common.
pub fn of(critic: &Critic, earlier: &Analysed, new: &Analysed, pair: &Pair) -> Vec<String> {
    let mut reasons = vec![];
    reasons.extend(part_reason(earlier, new, pair));
    if pair.features[8] > 0.0 {
        reasons.push("overlapping frames".into());
    } else if pair.near > 0.5 {
        reasons.push("neighbouring frames".into());
    }
    reasons.extend(matter_reason(critic, earlier, new, pair));
    if pair.opposite {
        reasons.push("they pull opposite ways".into());
    }
    reasons
}

fn part_reason(earlier: &Analysed, new: &Analysed, pair: &Pair) -> Option<String> {
    let (a, b) = (earlier.parts.first()?, new.parts.first()?);
    let close = distance(a, b);
    if close == 0.0 && pair.part >= ALIKE {
        return Some(format!("same {}", name(b)));
    }
    (close <= 1.0 && pair.part >= 0.5).then(|| format!("{} and {}", name(a), name(b)))
}

fn name(part: &NotePart) -> String {
    match part.side {
        Some(side) => format!("{side} {}", part.node.name),
        None => part.node.name.into(),
    }
}

fn matter_reason(
    critic: &Critic,
    earlier: &Analysed,
    new: &Analysed,
    pair: &Pair,
) -> Option<String> {
    let shared = earlier
        .traits
        .iter()
        .find(|(id, _)| new.traits.iter().any(|(other, _)| other == id));
    if let Some((id, _)) = shared {
        return Some(format!(
            "both about {}",
            critic.lexicon.traits[*id].name.replace('-', " ")
        ));
    }
    let (a, b) = (earlier.main_principle()?, new.main_principle()?);
    if a == b {
        return Some(format!("both about {}", Principle::ALL[a]));
    }
    (pair.principle >= ALIKE).then(|| {
        format!(
            "{} and {} go together",
            Principle::ALL[a],
            Principle::ALL[b]
        )
    })
}
