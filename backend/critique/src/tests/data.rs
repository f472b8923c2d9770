//! Shots of the tune set, as `match` reads them.

use serde_json::Value;

use crate::contract::Shot;

/// The shots of a file of JSON lines, as bare as a machine sees them.
pub(super) fn shots(file: &str) -> Vec<Shot> {
    file.lines()
        .map(|line| {
            let mut shot: Value = serde_json::from_str(line).unwrap();
            shot["id"] = shot["shot"].clone();
            for revision in shot["revisions"].as_array_mut().unwrap() {
                for note in revision["notes"].as_array_mut().unwrap() {
                    let clicked = note["mentor_tags"].clone();
                    for field in ["kind", "principles", "parts"] {
                        note[field] = clicked[field].clone();
                    }
                }
            }
            serde_json::from_value(shot).unwrap()
        })
        .collect()
}

/// The first shots of the tune set.
pub(super) fn some(count: usize) -> Vec<Shot> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../ops/train/data/tune.jsonl"
    );
    let file = std::fs::read_to_string(path).unwrap();
    let lines: Vec<&str> = file.lines().take(count).collect();
    shots(&lines.join("\n"))
}
