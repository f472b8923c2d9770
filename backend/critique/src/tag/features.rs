//! What the softmaxes of tagging look at.

use std::collections::BTreeMap;

use crate::lexicon::{Cue, Lexicon, PRINCIPLES};
use crate::note::is_side;
use crate::scan::{Light, Scan};
use crate::weights::Features;
use domain::Principle;

/// Most that one fault counts.
const TRAIT_MOST: f64 = 3.0;
/// Most that one principle's words count.
const WORDS_MOST: f64 = 2.0;
/// What a principle word adds to the share by lexicon, beside a fault's one.
const WORD_SHARE: f64 = 0.8;
/// What a stem counts.
const STEM: f64 = 0.7;
const KIND_STEM: f64 = 0.5;

/// The weight of each fault, by its number.
pub fn trait_weights(scan: &Scan) -> BTreeMap<usize, f64> {
    let mut weights = BTreeMap::new();
    for found in &scan.traits {
        let held: &mut f64 = weights.entry(found.meaning).or_default();
        *held = (*held + found.weight()).min(TRAIT_MOST);
    }
    weights
}

/// The weight of each principle's own words.
fn word_weights(scan: &Scan) -> [f64; PRINCIPLES] {
    let mut weights = [0.0; PRINCIPLES];
    for found in &scan.principles {
        let held: &mut f64 = &mut weights[found.meaning as usize];
        *held = (*held + found.weight()).min(WORDS_MOST);
    }
    weights
}

/// The share of each principle by the lexicon alone; all zero when nothing was found.
pub fn share(lexicon: &Lexicon, scan: &Scan) -> [f64; PRINCIPLES] {
    let mut share = word_weights(scan).map(|w| w * WORD_SHARE);
    for (id, weight) in trait_weights(scan) {
        for (principle, part) in &lexicon.traits[id].principles {
            share[*principle] += weight * part;
        }
    }
    let sum: f64 = share.iter().sum();
    if sum > 0.0 {
        share.iter_mut().for_each(|s| *s /= sum);
    }
    share
}

/// For the principles.
pub fn principle(lexicon: &Lexicon, scan: &Scan) -> Features {
    let mut features = Features::new();
    for (id, weight) in trait_weights(scan) {
        features.push((format!("t:{}", lexicon.traits[id].name), weight));
    }
    let words = word_weights(scan);
    let share = share(lexicon, scan);
    for (index, name) in Principle::ALL.iter().enumerate() {
        if words[index] > 0.0 {
            features.push((format!("p:{name}"), words[index]));
        }
        if share[index] > 0.0 {
            features.push((format!("l:{name}"), share[index]));
        }
    }
    features.extend(
        scan.parts
            .iter()
            .take(2)
            .map(|part| (format!("b:{}", part.name), part.weight)),
    );
    stems(scan, STEM, &mut features);
    features
}

/// For the kind.
pub fn kind(scan: &Scan) -> Features {
    let mut features = Features::new();
    for cue in Cue::ALL.iter().filter(|c| **c != Cue::Imperative) {
        let weight = scan.cue(*cue);
        if weight > 0.0 {
            features.push((format!("c:{}", cue.as_str()), weight));
        }
    }
    let mut add = |name: &str, value: f64| {
        if value != 0.0 {
            features.push((name.into(), value));
        }
    };
    let count = |n: usize| f64::from(u32::try_from(n.min(2)).unwrap_or(2));
    let p = &scan.polarity;
    add(
        "n",
        f64::from(u32::try_from(scan.tokens.len().min(40)).unwrap_or(40)) / 20.0,
    );
    add("?", f64::from(u8::from(scan.asks_back)));
    add("!", f64::from(u8::from(scan.exclaims)));
    let faults = p.count(Light::Stands);
    let gone = p.count(Light::Gone);
    add("faults", count(faults));
    add("denied", count(p.count(Light::Denied)));
    add("gone", count(gone));
    add("stated", count(p.quality_stated));
    add("missed", count(p.quality_missed));
    add("praise", p.praise.min(3.0));
    add("praise_missed", p.praise_missed.min(3.0));
    add("orders", count(p.orders));
    let wants =
        p.orders > 0 || scan.has(Cue::Request) || scan.has(Cue::Wish) || p.quality_missed > 0;
    let good = p.praise > 0.0 || scan.has(Cue::Cleared);
    add(
        "good_only",
        f64::from(u8::from(good && !wants && faults == 0)),
    );
    add("good_wants", f64::from(u8::from(good && wants)));
    add("good_fault", f64::from(u8::from(good && faults > 0)));
    add("calm", f64::from(u8::from(!good && !wants && faults == 0)));
    let now = scan.tokens.iter().any(|t| t.text == "now");
    add("now", f64::from(u8::from(now)));
    let settled = !wants && faults == 0 && !scan.has(Cue::Eased) && !scan.has(Cue::Still);
    add("now_settled", f64::from(u8::from(now && settled)));
    add("gone_settled", f64::from(u8::from(gone > 0 && settled)));
    after_turn(scan, &mut add);
    if let Some(first) = scan.stems.first().filter(|s| !is_side(s)) {
        features.push((format!("first:{first}"), 1.0));
    }
    stems(scan, KIND_STEM, &mut features);
    features
}

/// What stands behind the last "but".
fn after_turn(scan: &Scan, add: &mut impl FnMut(&str, f64)) {
    let Some(turn) = scan
        .tokens
        .iter()
        .rposition(|t| crate::words::is_turn(&t.text))
    else {
        return;
    };
    let behind = |cue: Cue| scan.cues.iter().any(|c| c.meaning == cue && c.start > turn);
    let fault = scan
        .traits
        .iter()
        .zip(&scan.polarity.faults)
        .any(|(t, light)| t.start > turn && *light == Light::Stands);
    add("but", 1.0);
    add("praise_after_but", f64::from(u8::from(behind(Cue::Praise))));
    add(
        "fix_after_but",
        f64::from(u8::from(
            behind(Cue::Fix) || behind(Cue::Request) || behind(Cue::Imperative) || fault,
        )),
    );
}

fn stems(scan: &Scan, weight: f64, features: &mut Features) {
    let mut seen: Vec<&str> = vec![];
    for stem in &scan.stems {
        if !seen.contains(&stem.as_str())
            && !is_side(stem)
            && !stem.bytes().any(|b| b.is_ascii_digit())
        {
            seen.push(stem);
            features.push((format!("s:{stem}"), weight));
        }
    }
}
