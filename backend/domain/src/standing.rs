//! Where a concern stands, revision by revision.

use crate::{Standing, Verdict};

/// What one critique said about a concern.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said {
    /// A note names it, and no verdict was given.
    Named,
    /// The mentor judged it.
    Judged(Verdict),
    /// Nothing.
    Nothing,
}

/// The standing after a critique, from the standing before it (none: not noted before).
/// `None` stays only for a concern that was never named.
pub fn next(before: Option<Standing>, said: Said) -> Option<Standing> {
    use Standing::{Back, Cleared, Eased, Noted, SetAside, Unmentioned};
    let after = match (before, said) {
        (None, Said::Nothing) => return None,
        (Some(SetAside), Said::Judged(Verdict::Cleared)) => Cleared,
        (Some(SetAside), _) | (_, Said::Judged(Verdict::SetAside)) => SetAside,
        (_, Said::Judged(Verdict::Cleared)) => Cleared,
        (Some(Cleared), Said::Named | Said::Judged(Verdict::Still | Verdict::Eased)) => Back,
        (Some(Cleared), Said::Nothing) => Cleared,
        (_, Said::Judged(Verdict::Eased)) => Eased,
        (_, Said::Named | Said::Judged(Verdict::Still)) => Noted,
        (Some(_), Said::Nothing) => Unmentioned,
    };
    Some(after)
}

/// The standing after every critique in turn.
pub fn history(said: impl IntoIterator<Item = Said>) -> Vec<Option<Standing>> {
    said.into_iter()
        .scan(None, |standing, word| {
            *standing = next(*standing, word);
            Some(*standing)
        })
        .collect()
}

/// Whether the concern still wants something from the student.
pub fn is_open(standing: Standing) -> bool {
    !matches!(standing, Standing::Cleared | Standing::SetAside)
}

/// How many revisions a concern that is `back` at the end had stayed cleared, if it is back.
pub fn stayed_away(history: &[Option<Standing>]) -> Option<usize> {
    let back = history.iter().rposition(|s| *s == Some(Standing::Back))?;
    Some(
        history[..back]
            .iter()
            .rev()
            .take_while(|s| **s == Some(Standing::Cleared))
            .count(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use Standing::*;
    use proptest::prelude::*;

    #[test]
    fn the_table_row_by_row() {
        let rows: &[(Option<Standing>, [Option<Standing>; 4])] = &[
            // before: named, eased, cleared, silent
            (None, [Some(Noted), Some(Eased), Some(Cleared), None]),
            (
                Some(Noted),
                [Some(Noted), Some(Eased), Some(Cleared), Some(Unmentioned)],
            ),
            (
                Some(Eased),
                [Some(Noted), Some(Eased), Some(Cleared), Some(Unmentioned)],
            ),
            (
                Some(Back),
                [Some(Noted), Some(Eased), Some(Cleared), Some(Unmentioned)],
            ),
            (
                Some(Unmentioned),
                [Some(Noted), Some(Eased), Some(Cleared), Some(Unmentioned)],
            ),
            (
                Some(Cleared),
                [Some(Back), Some(Back), Some(Cleared), Some(Cleared)],
            ),
            (
                Some(SetAside),
                [
                    Some(SetAside),
                    Some(SetAside),
                    Some(Cleared),
                    Some(SetAside),
                ],
            ),
        ];
        for (before, after) in rows {
            let said = [
                Said::Named,
                Said::Judged(Verdict::Eased),
                Said::Judged(Verdict::Cleared),
                Said::Nothing,
            ];
            for (word, want) in said.into_iter().zip(after) {
                assert_eq!(next(*before, word), *want, "{before:?} then {word:?}");
            }
        }
    }

    #[test]
    fn still_there_on_a_cleared_one_is_back() {
        let said = [
            Said::Named,
            Said::Judged(Verdict::Eased),
            Said::Judged(Verdict::Cleared),
            Said::Nothing,
            Said::Judged(Verdict::Still),
        ];
        let standings = history(said);
        assert_eq!(
            standings,
            [
                Some(Noted),
                Some(Eased),
                Some(Cleared),
                Some(Cleared),
                Some(Back)
            ]
        );
        assert_eq!(stayed_away(&standings), Some(2));
    }

    fn said() -> impl Strategy<Value = Said> {
        prop_oneof![
            Just(Said::Named),
            Just(Said::Nothing),
            prop::sample::select(Verdict::ALL).prop_map(Said::Judged),
        ]
    }

    proptest! {
        #[test]
        fn back_comes_only_from_cleared(words in prop::collection::vec(said(), 0..12)) {
            let standings = history(words);
            for pair in standings.windows(2) {
                if pair[1] == Some(Back) { prop_assert_eq!(pair[0], Some(Cleared)); }
                if pair[0].is_some() { prop_assert!(pair[1].is_some(), "a concern never vanishes"); }
            }
        }

        #[test]
        fn silence_never_closes_and_never_opens(before in prop::sample::select(Standing::ALL)) {
            let after = next(Some(before), Said::Nothing).unwrap();
            prop_assert_eq!(is_open(before), is_open(after));
        }

        #[test]
        fn a_person_alone_sets_aside(words in prop::collection::vec(said(), 0..12)) {
            let asked = words.contains(&Said::Judged(Verdict::SetAside));
            let stands = history(words).contains(&Some(SetAside));
            prop_assert!(asked || !stands);
        }
    }
}
