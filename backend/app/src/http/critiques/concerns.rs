//! Concerns as pages show them: from their notes and the course they took.

use std::collections::HashMap;

use domain::NoteId;
use store::notes::Note;
use store::standings::Course;

use super::types::{Concern, ConcernStep};

/// A title ends before this many characters.
const TITLE: usize = 60;

/// A concern up to the revision `until` (excluded, if given), from its shot's notes by id. None if no note of it is to be seen.
pub fn concern(
    course: &Course,
    notes: &HashMap<NoteId, &Note>,
    until: Option<i32>,
) -> Option<Concern> {
    let steps = || {
        course
            .steps
            .iter()
            .filter(move |step| until.is_none_or(|until| step.number < until))
    };
    let named: Vec<&Note> = steps()
        .filter_map(|step| notes.get(&step.note?).copied())
        .collect();
    let (first, latest) = (named.first()?, named.last()?);
    let history = steps()
        .filter_map(|step| {
            Some(ConcernStep {
                revision: step.number,
                standing: step.standing?,
                note_id: step.note,
                span: step
                    .note
                    .and_then(|id| notes.get(&id))
                    .map(|note| note.content.span),
            })
        })
        .collect();
    Some(Concern {
        id: course.concern,
        title: title(&first.content.words),
        kind: latest.content.kind,
        urgency: latest.content.urgency,
        principles: latest.content.principles.clone(),
        parts: latest.content.parts.clone(),
        history,
    })
}

/// The first sentence, cut between words.
fn title(words: &str) -> String {
    let sentence = words
        .split(['.', '!', '?', '\n'])
        .map(str::trim)
        .find(|part| !part.is_empty())
        .unwrap_or_default();
    if sentence.chars().count() <= TITLE {
        return sentence.to_owned();
    }
    let cut: String = sentence.chars().take(TITLE).collect();
    let kept = cut.rsplit_once(' ').map_or(cut.as_str(), |(kept, _)| kept);
    format!("{} …", kept.trim_end_matches(','))
}

#[cfg(test)]
mod tests {
    use super::title;

    #[test]
    fn a_title_is_the_first_sentence_cut_between_words() {
        assert_eq!(
            title("The wrist jumps. Give it a frame."),
            "The wrist jumps"
        );
        assert_eq!(title("  \n"), "");
        let long = title(&"word ".repeat(30));
        assert!(
            long.chars().count() <= 62 && long.ends_with("word …"),
            "{long}"
        );
    }
}
