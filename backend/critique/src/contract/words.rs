//! The same answers for people to read.

use std::fmt::Write;

use domain::Side;
use domain::ask::AskKind;

use super::{ListenOutput, MatchOutput, Part, Relation, ScoredAsk, TagOutput, Weight};

/// One note's tags on one line.
pub fn tags(tags: &TagOutput) -> String {
    let mut said = vec![match tags.weight {
        Some(Weight::Must) => format!("{}, must", tags.kind),
        Some(Weight::Polish) => format!("{}, if time", tags.kind),
        _ => tags.kind.to_string(),
    }];
    let principles: Vec<&str> = tags.principles.iter().map(|p| p.name.as_str()).collect();
    said.push(if principles.is_empty() {
        "no principle".into()
    } else {
        principles.join(", ")
    });
    let parts: Vec<String> = tags.parts.iter().map(|p| part(&p.name, p.side)).collect();
    said.extend((!parts.is_empty()).then(|| parts.join(", ")));
    let asks: Vec<String> = tags.asks.iter().map(ask).collect();
    said.extend((!asks.is_empty()).then(|| asks.join(", ")));
    format!("{}: {}", tags.id, said.join("; "))
}

fn part(name: &str, side: Option<Side>) -> String {
    side.map_or_else(|| name.into(), |side| format!("{side} {name}"))
}

fn ask(ask: &ScoredAsk) -> String {
    let amount = ask.amount;
    match ask.what {
        AskKind::AddFrames => format!("{amount} more frames"),
        AskKind::RemoveFrames => format!("{amount} fewer frames"),
        AskKind::Offset => format!("offset by {amount} frames"),
        AskKind::Hold => format!("hold for {amount} frames"),
        AskKind::Scale => format!("{amount} times the size"),
    }
}

/// Links and concerns, a line each.
pub fn matches(answer: &MatchOutput) -> String {
    let mut text = String::new();
    for link in &answer.links {
        let earlier = link.earlier_note.as_deref().unwrap_or_default();
        let says = match (link.concern_rank, link.relation) {
            (1, Relation::Still) => format!("still there, as {earlier}"),
            (1, Relation::Back) => format!("came back, as {earlier}"),
            (1, Relation::Late) => "late: it was there from the start".into(),
            (1, Relation::Reversal) => format!("asks the opposite of {earlier}"),
            (1, Relation::Cleared) => format!("clears {earlier}"),
            (_, Relation::Habit) => format!("habit, as {earlier} of an earlier shot"),
            _ => format!("or else {earlier}"),
        };
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "{}: {says} ({:.0} %): {}",
            link.note,
            100.0 * link.score,
            link.reasons.join(", ")
        );
    }
    for concern in &answer.concerns {
        let _ = writeln!(
            text,
            "{}: {}: {}",
            concern.id,
            concern.standing,
            concern.notes.join(", ")
        );
    }
    text
}

/// Draft notes, a line each. Frames are counted from 1, as people do.
pub fn heard(answer: &ListenOutput) -> String {
    let mut text = String::new();
    for note in &answer.notes {
        let mut about: Vec<String> = note.principles.iter().map(ToString::to_string).collect();
        about.extend(note.parts.iter().map(|p: &Part| part(&p.name, p.side)));
        let _ = writeln!(
            text,
            "{:.1} to {:.1} s, frames {} to {}, {} ({}): {}",
            note.t0,
            note.t1,
            note.start + 1,
            note.end + 1,
            note.kind,
            about.join(", "),
            note.text
        );
    }
    text
}
