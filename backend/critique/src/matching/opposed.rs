//! What two notes that pull opposite ways each ask for, in a word or two.

use crate::Lexicon;
use crate::note::Analysed;

/// Two opposite asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opposed {
    /// What the earlier note asks for, as in "bigger".
    pub earlier: String,
    /// What the new one asks for, as in "smaller".
    pub now: String,
}

/// How an axis is said: its name in the lexicon, one way, the other.
const WAYS: &[(&str, &str, &str)] = &[
    ("alive", "stiller", "more alive"),
    ("amount", "smaller", "bigger"),
    ("antic", "less anticipation", "more anticipation"),
    ("arc", "straighter", "rounder"),
    ("heavy", "lighter", "heavier"),
    ("loose", "tighter", "looser"),
    ("offset", "closer together", "further apart"),
    ("smooth", "more broken up", "smoother"),
    ("speed", "slower", "faster"),
];

/// The asks on the axis on which the two pull hardest against each other; none if they do not.
pub fn between(lexicon: &Lexicon, earlier: &Analysed, new: &Analysed) -> Option<Opposed> {
    let against = |at: usize| earlier.directions[at] * new.directions[at];
    let axis = (0..lexicon.axes.len())
        .filter(|at| against(*at) < 0.0)
        .min_by(|a, b| against(*a).total_cmp(&against(*b)))?;
    let say = |pull: f64| way(&lexicon.axes[axis], pull);
    Some(Opposed {
        earlier: say(earlier.directions[axis]),
        now: say(new.directions[axis]),
    })
}

fn way(axis: &str, pull: f64) -> String {
    match WAYS.iter().find(|(name, ..)| *name == axis) {
        Some((_, less, _)) if pull < 0.0 => (*less).to_owned(),
        Some((_, _, more)) => (*more).to_owned(),
        None if pull < 0.0 => format!("less {axis}"),
        None => format!("more {axis}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_axis_that_words_pull_on_both_ways_has_words_of_its_own() {
        let lexicon = Lexicon::built_in().unwrap();
        for (name, less, more) in WAYS {
            assert!(lexicon.axes.iter().any(|axis| axis == name), "{name}");
            assert_eq!(
                (way(name, -1.0), way(name, 0.6)),
                ((*less).into(), (*more).into())
            );
        }
        assert_eq!(way("contrast", 1.0), "more contrast");
    }
}
