//! Figures on wordings of our own that no model has seen.

use std::error::Error;

use critique::Critic;
use domain::{Kind, Principle, Side};
use serde::Deserialize;

use crate::score::Counts;

/// A wording and what it says.
#[derive(Deserialize)]
pub struct Phrasing {
    pub text: String,
    pub kind: Kind,
    pub principles: Vec<Principle>,
    pub part: Option<String>,
    pub side: Option<Side>,
}

pub fn print(critic: &Critic, phrasings: &[Phrasing], verbose: bool) -> Result<(), Box<dyn Error>> {
    let (mut principle, mut part, mut praise, mut kinds) = (
        Counts::default(),
        Counts::default(),
        Counts::default(),
        Counts::default(),
    );
    let yes = |b: bool| f64::from(u8::from(b));
    for phrasing in phrasings {
        let tags = critic.tag(&phrasing.text);
        let said: Vec<Principle> = tags.principles.iter().map(|(p, _)| *p).collect();
        kinds.truth += 1.0;
        kinds.right += yes(tags.kind == phrasing.kind);
        praise.truth += yes(phrasing.kind == Kind::Keep);
        praise.said += yes(tags.kind == Kind::Keep);
        praise.right += yes(phrasing.kind == Kind::Keep && tags.kind == Kind::Keep);
        let mut wrong = tags.kind != phrasing.kind;
        if let Some(main) = phrasing.principles.first() {
            principle.truth += 1.0;
            principle.said += said
                .iter()
                .filter(|p| *p == main || !phrasing.principles.contains(p))
                .count() as f64;
            principle.right += yes(said.contains(main));
            wrong |= !said.contains(main) || said.iter().any(|p| !phrasing.principles.contains(p));
        }
        if let Some(name) = &phrasing.part {
            let first = tags.parts.first();
            part.truth += 1.0;
            part.said += yes(first.is_some());
            part.right += yes(first.is_some_and(|p| {
                p.name == name && (p.side == phrasing.side || phrasing.side.is_none())
            }));
        }
        if verbose && wrong {
            println!(
                "{} ({}) {said:?} ({:?})\t{}",
                tags.kind, phrasing.kind, phrasing.principles, phrasing.text
            );
        }
    }
    println!(
        "phrasings.principle.precision\t{:.3}\tshare",
        principle.precision()
    );
    println!(
        "phrasings.principle.recall\t{:.3}\tshare",
        principle.recall()
    );
    println!("phrasings.principle.f1\t{:.3}\tshare", principle.f1());
    println!("phrasings.kind.accuracy\t{:.3}\tshare", kinds.recall());
    println!(
        "phrasings.praise.precision\t{:.3}\tshare",
        praise.precision()
    );
    println!("phrasings.praise.recall\t{:.3}\tshare", praise.recall());
    println!("phrasings.part.precision\t{:.3}\tshare", part.precision());
    println!("phrasings.part.recall\t{:.3}\tshare", part.recall());
    Ok(())
}
