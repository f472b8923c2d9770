//! Measurable requests from the phrases that say them.

use domain::ask::{Ask, AskKind};

use crate::lexicon::phrase::Found;
use crate::lexicon::{Amount, Lexicon, TraitId};

/// The requests, each once; amounts that make no sense are left out.
pub(super) fn read(lexicon: &Lexicon, found: &[Found<(usize, f64)>]) -> Vec<Ask> {
    let mut asks: Vec<Ask> = vec![];
    for find in found {
        let source = lexicon.ask(find.meaning.0);
        let Some(amount) = amount(&source.amount, find.number, find.meaning.1) else {
            continue;
        };
        let ask = Ask {
            what: source.what,
            amount,
        };
        if ask.is_sane() && !asks.iter().any(|other| same(other, &ask)) {
            asks.push(ask);
        }
    }
    asks
}

/// Drops the faults that are nothing but the amount of a scaling ("by half"), where another fault says what is to be scaled.
pub(super) fn drop_amounts(
    lexicon: &Lexicon,
    asks: &[Found<(usize, f64)>],
    traits: &mut Vec<Found<TraitId>>,
) {
    let is_amount = |fault: &Found<TraitId>| {
        asks.iter().any(|ask| {
            let scales = lexicon.ask(ask.meaning.0).what == AskKind::Scale;
            scales && ask.start <= fault.start && fault.end <= ask.end
        })
    };
    if traits.iter().any(|fault| !is_amount(fault)) {
        traits.retain(|fault| !is_amount(fault));
    }
}

fn amount(source: &Amount, number: Option<f64>, sign: f64) -> Option<f64> {
    match source {
        Amount::Fixed(value) => Some(*value),
        Amount::Read(how) if how == "N%" => Some((100.0 + sign * number?).round() / 100.0),
        Amount::Read(_) => number,
    }
}

fn same(a: &Ask, b: &Ask) -> bool {
    a.what == b.what && (a.amount - b.amount).abs() < 1e-9
}
