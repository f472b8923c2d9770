//! Measurable requests from the phrases that say them.

use domain::ask::Ask;

use crate::lexicon::phrase::Found;
use crate::lexicon::{Amount, Lexicon};

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
