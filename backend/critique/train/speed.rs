//! How long answers take, on one core. The corpus is the tune set's notes over and over, each time elsewhere in the shot.

use std::error::Error;
use std::time::Instant;

use critique::contract::{ListenInput, Note};
use critique::{Critic, Earlier, listen};

use crate::data::{Transcript, TuneShot};

/// Earlier notes of one school.
const NOTES: usize = 10_000;
/// Questions asked.
const ASKED: usize = 200;
/// Length of the spoken critique, in seconds.
const SPOKEN: f64 = 900.0;

/// The notes of the corpus.
pub fn corpus(shots: &[TuneShot]) -> Vec<Note> {
    let notes: Vec<Note> = shots
        .iter()
        .flat_map(TuneShot::notes)
        .map(|n| n.note(true))
        .collect();
    (0..NOTES)
        .map(|at| {
            let mut note = notes[at % notes.len()].clone();
            let shift = i64::try_from(at / notes.len()).unwrap_or(0) * 7;
            note.id = format!("n{at}");
            note.span = (note.span.0 + shift, note.span.1 + shift);
            note
        })
        .collect()
}

/// The texts that are asked for: every ninth note of the corpus, from the front.
pub fn asked(notes: &[Note]) -> impl Iterator<Item = &Note> {
    notes.iter().step_by(9).take(ASKED)
}

pub fn print(
    critic: &Critic,
    shots: &[TuneShot],
    transcripts: &[Transcript],
) -> Result<(), Box<dyn Error>> {
    let notes = corpus(shots);
    let earlier: Vec<Earlier> = notes
        .iter()
        .enumerate()
        .map(|(concern, note)| Earlier::open(critic.analyse(note), concern))
        .collect();
    let mut found = 0;
    let proposing = median(asked(&notes).map(|note| {
        let start = Instant::now();
        found += critic.propose(note, &earlier).1.len();
        start.elapsed().as_secs_f64()
    }));
    let tagging = median(asked(&notes).map(|note| {
        let start = Instant::now();
        found += critic.tag(&note.text).parts.len();
        start.elapsed().as_secs_f64()
    }));
    let input = long(transcripts)?;
    let hearing = median((0..7).map(|_| {
        let start = Instant::now();
        found += listen(critic, &input).notes.len();
        start.elapsed().as_secs_f64()
    }));
    println!("critique.propose.{NOTES}_notes\t{:.3}\tms", 1e3 * proposing);
    println!("critique.tag\t{:.1}\tus", 1e6 * tagging);
    println!("critique.listen.15_minutes\t{:.1}\tms", 1e3 * hearing);
    println!("critique.answers\t{found}\tcount");
    Ok(())
}

fn median(seconds: impl Iterator<Item = f64>) -> f64 {
    let mut all: Vec<f64> = seconds.collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// The spoken critiques one behind the other, until there is a quarter of an hour of them.
fn long(transcripts: &[Transcript]) -> Result<ListenInput, Box<dyn Error>> {
    let mut whole = transcripts.first().ok_or("no transcripts")?.input.clone();
    whole.segments.clear();
    whole.playhead.clear();
    whole.strokes.clear();
    let mut words = vec![];
    let mut start = 0.0;
    for transcript in transcripts.iter().cycle() {
        let input = &transcript.input;
        let until = input.segments.last().map_or(start, |s| start + s.t1 + 1.0);
        whole
            .segments
            .extend(input.segments.iter().cloned().map(|mut s| {
                (s.t0, s.t1) = (s.t0 + start, s.t1 + start);
                s
            }));
        words.extend(
            input
                .words
                .iter()
                .flatten()
                .map(|(a, b, w)| (a + start, b + start, w.clone())),
        );
        whole
            .playhead
            .extend(input.playhead.iter().map(|(t, f)| (t + start, *f)));
        whole
            .strokes
            .extend(input.strokes.iter().map(|(t, f)| (t + start, *f)));
        start = until;
        if start >= SPOKEN {
            break;
        }
    }
    whole.words = Some(words);
    Ok(whole)
}
