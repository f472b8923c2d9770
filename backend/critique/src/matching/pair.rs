//! How alike two notes are: an earlier one on the frames of the new one, and the new one.

use std::ops::Range;
use std::sync::LazyLock;

use domain::Side;
use domain::parts::{self, PARTS, PartNode};

use crate::lexicon::{Cue, Lexicon};
use crate::note::{Analysed, NotePart, cosine, related};

/// The names of the features, in the order of [`features`].
pub const NAMES: [&str; COUNT] = [
    "part",
    "part_none",
    "prin",
    "prin_none",
    "prin_part",
    "prin_near",
    "part_near",
    "prin_part_near",
    "iou",
    "cover",
    "far",
    "tsideconf",
    "tfidf",
    "lextfidf",
    "trait",
    "trait_conf",
    "opp",
    "opp_near",
    "agree",
    "short_near",
    "short_iou",
    "bare_near",
    "cue_near",
];

/// How many there are.
pub const COUNT: usize = 23;

/// A pair's features, and what else the gate and the reasons want to know.
#[derive(Clone, Copy, Debug)]
pub struct Pair {
    /// In the order of [`NAMES`].
    pub features: [f64; COUNT],
    /// How near in frames, 0..1.
    pub near: f64,
    /// Whether the two pull opposite ways.
    pub opposite: bool,
    /// How alike the parts are, 0..1.
    pub part: f64,
    /// How alike the principles are, 0..1.
    pub principle: f64,
}

/// What a part is worth where it is unknown.
const PART_UNKNOWN: f64 = 0.45;
/// What a principle is worth where it is unknown.
const PRINCIPLE_UNKNOWN: f64 = 0.3;

/// The features that compare words, faults and pulls. They lie between 0 and 1 and cost the most to know.
pub const COSTLY: Range<usize> = 12..19;

/// What is known of a pair before words, faults and pulls are compared.
#[derive(Clone, Copy, Debug)]
pub struct Outline {
    /// In the order of [`NAMES`]; 0 where [`COSTLY`].
    pub features: [f64; COUNT],
    near: f64,
    part: f64,
    principle: f64,
}

/// Compares an earlier note, its span carried to the new one's revision, with the new one.
pub fn features(lexicon: &Lexicon, earlier: &Analysed, span: (f64, f64), new: &Analysed) -> Pair {
    outline(lexicon, earlier, span, new).compare(earlier, new)
}

/// The same without what is [`COSTLY`].
pub fn outline(lexicon: &Lexicon, earlier: &Analysed, span: (f64, f64), new: &Analysed) -> Outline {
    let part = part_likeness(&earlier.parts, &new.parts);
    let principle = principle_likeness(lexicon, earlier, new);
    let (p, r) = (
        part.unwrap_or(PART_UNKNOWN),
        principle.unwrap_or(PRINCIPLE_UNKNOWN),
    );
    let spans = Spans::new(span, new.span);
    let near = spans.near();
    let bare = new.parts.is_empty() && new.principle_norm <= 0.0;
    let cued = [Cue::Still, Cue::Back, Cue::Eased]
        .iter()
        .any(|c| new.has(*c));
    let mut features = [0.0; COUNT];
    features[..COSTLY.start].copy_from_slice(&[
        p,
        flag(part.is_none()),
        r,
        flag(principle.is_none()),
        p * r,
        r * near,
        p * near,
        p * r * near,
        spans.iou(),
        spans.cover(),
        (spans.gap() / 40.0).min(1.0),
        flag(sides_conflict(&earlier.parts, &new.parts)),
    ]);
    features[COSTLY.end..].copy_from_slice(&[
        flag(new.short) * near,
        flag(new.short) * spans.iou(),
        flag(bare) * near,
        flag(cued) * near,
    ]);
    Outline {
        features,
        near,
        part: p,
        principle: r,
    }
}

impl Outline {
    /// The whole comparison of the two notes the outline is of.
    pub fn compare(self, earlier: &Analysed, new: &Analysed) -> Pair {
        let traits = cosine(&earlier.traits, &new.traits);
        let both_traits = !earlier.traits.is_empty() && !new.traits.is_empty();
        let (opposite, agree) = pulls(&earlier.directions, &new.directions);
        let mut features = self.features;
        features[COSTLY].copy_from_slice(&[
            cosine(&earlier.words, &new.words),
            cosine(&earlier.content, &new.content),
            traits,
            flag(both_traits && traits <= 0.0),
            flag(opposite),
            flag(opposite) * self.near * self.part,
            flag(agree),
        ]);
        Pair {
            features,
            near: self.near,
            opposite,
            part: self.part,
            principle: self.principle,
        }
    }
}

fn flag(yes: bool) -> f64 {
    f64::from(u8::from(yes))
}

fn principle_likeness(lexicon: &Lexicon, a: &Analysed, b: &Analysed) -> Option<f64> {
    let norm = a.principle_norm * b.principle_norm;
    (norm > 0.0).then(|| related(lexicon, &a.principles, &b.principles) / norm)
}

fn part_likeness(a: &[NotePart], b: &[NotePart]) -> Option<f64> {
    let pairs = a.iter().flat_map(|x| b.iter().map(move |y| (x, y)));
    pairs
        .map(|(x, y)| one_part(x, y))
        .fold(None, |best: Option<f64>, v| {
            Some(best.map_or(v, |b| b.max(v)))
        })
}

fn one_part(a: &NotePart, b: &NotePart) -> f64 {
    let near = (1.0 - 0.25 * distance(a, b)).max(0.0);
    let side = match (a.side, b.side) {
        (x, y) if x == y && x.is_some() => 1.0,
        (None, None) if !a.node.sided && !b.node.sided => 1.0,
        (None, _) | (_, None) => 0.85,
        (Some(Side::Both), _) | (_, Some(Side::Both)) => 0.8,
        _ => 0.35,
    };
    let slight = if a.weight <= 0.3 || b.weight <= 0.3 {
        0.8
    } else {
        1.0
    };
    near * side * slight
}

/// Steps between two nodes of the tree of parts; far apart when they have different roots.
pub fn distance(a: &NotePart, b: &NotePart) -> f64 {
    static STEPS: LazyLock<Vec<Vec<f64>>> = LazyLock::new(|| {
        let row = |a: &PartNode| PARTS.iter().map(|b| steps(a, b)).collect();
        PARTS.iter().map(row).collect()
    });
    STEPS[a.place][b.place]
}

fn steps(a: &PartNode, b: &PartNode) -> f64 {
    let mut steps = 0.0;
    for above in parts::ancestors(a.name) {
        if let Some(up) = parts::ancestors(b.name).position(|n| n == above) {
            return steps + f64::from(u32::try_from(up).unwrap_or(u32::MAX));
        }
        steps += 1.0;
    }
    f64::INFINITY
}

fn sides_conflict(a: &[NotePart], b: &[NotePart]) -> bool {
    let (Some(a), Some(b)) = (a.first(), b.first()) else {
        return false;
    };
    let opposite = matches!(
        (a.side, b.side),
        (Some(Side::Left), Some(Side::Right)) | (Some(Side::Right), Some(Side::Left))
    );
    opposite && distance(a, b) <= 2.0
}

/// Whether on some axis the two pull opposite ways, and whether on some they agree.
fn pulls(a: &[f64], b: &[f64]) -> (bool, bool) {
    let products = || a.iter().zip(b).map(|(x, y)| x * y);
    (products().any(|p| p < -0.2), products().any(|p| p > 0.2))
}

struct Spans {
    a: (f64, f64),
    b: (f64, f64),
}

impl Spans {
    fn new(a: (f64, f64), b: (f64, f64)) -> Spans {
        Spans { a, b }
    }

    fn common(&self, padding: f64) -> f64 {
        (self.a.1.min(self.b.1) - self.a.0.max(self.b.0) + 1.0 + 2.0 * padding).max(0.0)
    }

    fn iou(&self) -> f64 {
        let (a, b) = (self.a.1 - self.a.0 + 1.0, self.b.1 - self.b.0 + 1.0);
        let common = self.common(0.0);
        common / (a + b - common)
    }

    fn cover(&self) -> f64 {
        let shorter = (self.a.1 - self.a.0).min(self.b.1 - self.b.0) + 7.0;
        (self.common(3.0) / shorter).min(1.0)
    }

    fn gap(&self) -> f64 {
        (self.a.0.max(self.b.0) - self.a.1.min(self.b.1) - 1.0).max(0.0)
    }

    fn near(&self) -> f64 {
        0.5 * self.cover() + 0.5 * (-self.gap() / 8.0).exp()
    }
}
