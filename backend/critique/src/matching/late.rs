//! True from the start, never named.

use super::Prepared;
use super::candidates::Candidate;
use crate::Critic;
use crate::lexicon::Cue;
use crate::note::Analysed;

/// So sure must the measurement in the first revision be.
const SURE: f64 = 0.5;
/// Up to so much change of the picture is noise of rendering again.
const UNCHANGED: f64 = 0.03;

/// How likely a note of a later revision says something late, and why; none if it does not.
pub(super) fn late(
    critic: &Critic,
    shot: &Prepared,
    index: usize,
    note: &Analysed,
    found: &[Candidate],
) -> Option<(f64, String)> {
    let none = found.iter().map(|c| c.odds[0]).fold(1.0, f64::min);
    if index == 0 || note.opens_nothing() || none < critic.weights.source.late_p_none {
        return None;
    }
    let first = shot.revisions[0].rev;
    let votes: f64 = note
        .evidence
        .iter()
        .map(|e| {
            e.present.map_or(
                0.0,
                |there| if there { e.confidence } else { -e.confidence },
            )
        })
        .sum();
    if note.has(Cue::Late) {
        return Some((none, "the note says so itself".into()));
    }
    let measured = note
        .evidence
        .iter()
        .any(|e| e.rev == first && e.present == Some(true) && e.confidence >= SURE);
    if measured && votes > 0.0 {
        return Some((none, format!("the same was measured in r{first} already")));
    }
    let rev = shot.revisions[index].rev;
    let still = shot
        .maps
        .change(note.span, first, rev)
        .is_some_and(|most| most <= UNCHANGED);
    (still && votes > 0.0 && unnamed(shot, index, note)).then(|| {
        (
            none,
            format!("these frames have not changed since r{first}"),
        )
    })
}

/// Whether no earlier note stands on the frames of this one.
fn unnamed(shot: &Prepared, index: usize, note: &Analysed) -> bool {
    let rev = shot.revisions[index].rev;
    shot.revisions[..index].iter().all(|earlier| {
        earlier.notes.iter().all(|other| {
            let span = shot.maps.carry(other.span, earlier.rev, rev);
            span.1 < note.span.0 || span.0 > note.span.1
        })
    })
}
