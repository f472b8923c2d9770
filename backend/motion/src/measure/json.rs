//! The requests and answers of the measures as JSON reads and writes them.

use std::collections::BTreeMap;

use serde::de::{Deserializer, Error, MapAccess, Visitor};
use serde::{Deserialize, Serialize};

use super::{
    Finding, FrameMap, Limits, Place, Smoothness, Told, Verdict, compare, findings, smoothness,
    value,
};
use crate::trace::{FARTHEST_PX, Recording, Trace};

/// Most frames of a request.
pub const MOST_FRAMES: usize = 100_000;
/// Most traces of a request.
pub const MOST_TRACES: usize = 64;
/// Most places asked for in a request.
pub const MOST_PLACES: usize = 1_000;

/// A recording, and where it is asked about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "an object with fps, height_px and traces"
)]
pub struct MeasureRequest {
    /// Frames a second, above 0 and at most 1000.
    #[serde(deserialize_with = "rate")]
    pub fps: f64,
    /// Standing height in pixels, 1 to a million.
    #[serde(deserialize_with = "height")]
    pub height_px: f64,
    /// Per part `[[x, y, confidence] | null, ...]`, a frame an entry.
    #[serde(deserialize_with = "named")]
    pub traces: BTreeMap<String, Trace>,
    /// Per ankle, whether the foot stands.
    #[serde(
        default,
        deserialize_with = "maybe_named",
        skip_serializing_if = "Option::is_none"
    )]
    pub contacts: Option<BTreeMap<String, Vec<bool>>>,
    /// Where values are asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<Vec<Place>>,
}

/// Two revisions, the frame map between them, and where they are compared.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, expecting = "an object with before, after and at")]
pub struct CompareRequest {
    /// The earlier revision.
    pub before: MeasureRequest,
    /// The later one.
    pub after: MeasureRequest,
    /// Per frame of the earlier revision its counterpart, or null. Absent: frames are the same.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub map: Option<FrameMap>,
    /// Frames of the earlier revision.
    pub at: Vec<Place>,
}

const RATES: &str = "above 0 and at most 1000";

fn is_rate(fps: f64) -> bool {
    fps > 0.0 && fps <= 1000.0
}

fn is_height(height_px: f64) -> bool {
    (1.0..=FARTHEST_PX).contains(&height_px)
}

fn rate<'de, D: Deserializer<'de>>(de: D) -> Result<f64, D::Error> {
    let fps = f64::deserialize(de)?;
    if is_rate(fps) {
        Ok(fps)
    } else {
        Err(D::Error::custom(format!("{fps} is not {RATES}")))
    }
}

fn height<'de, D: Deserializer<'de>>(de: D) -> Result<f64, D::Error> {
    let height = f64::deserialize(de)?;
    if is_height(height) {
        Ok(height)
    } else {
        Err(D::Error::custom(format!(
            "{height} is not within 1 and {FARTHEST_PX}"
        )))
    }
}

/// A map that refuses a name given twice.
struct Named<V>(std::marker::PhantomData<V>);

impl<'de, V: Deserialize<'de>> Visitor<'de> for Named<V> {
    type Value = BTreeMap<String, V>;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("an object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Self::Value, A::Error> {
        let mut map = BTreeMap::new();
        while let Some(name) = access.next_key::<String>()? {
            if map.contains_key(&name) {
                return Err(A::Error::custom(format!("{name} is given twice")));
            }
            map.insert(name, access.next_value()?);
        }
        Ok(map)
    }
}

fn named<'de, D: Deserializer<'de>, V: Deserialize<'de>>(
    de: D,
) -> Result<BTreeMap<String, V>, D::Error> {
    de.deserialize_map(Named(std::marker::PhantomData))
}

fn maybe_named<'de, D: Deserializer<'de>, V: Deserialize<'de>>(
    de: D,
) -> Result<Option<BTreeMap<String, V>>, D::Error> {
    named(de).map(Some)
}

/// What is wrong with a request: where, and what.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{field}: {reason}")]
pub struct Fault {
    /// The field, such as `traces.wrist.left[3]`.
    pub field: String,
    /// What is wrong with it.
    pub reason: String,
}

fn fault(field: impl Into<String>, reason: impl Into<String>) -> Fault {
    Fault {
        field: field.into(),
        reason: reason.into(),
    }
}

/// A value asked for, or why there is none.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ValueAnswer {
    /// In the measure's unit.
    pub value: Option<f64>,
    /// Deviation under the traces' noise.
    pub sd: Option<f64>,
    /// The reason why there is no value.
    pub cannot_tell: Option<String>,
}

/// What holds for a measure wherever it is taken, and what it says of whole traces.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureFacts {
    /// What its values count; empty without unit.
    pub unit: &'static str,
    /// Findings have at least this value; none if it finds nothing.
    pub limit: Option<f64>,
    /// 95th percentile of the candidates in clean recorded motion.
    pub clean_p95: Option<f64>,
    /// The smallest change worth telling.
    pub smallest_change: Option<f64>,
    /// Whether findings may be shown unasked.
    pub unasked: bool,
    /// Per part that is traced and moves throughout, the value of its whole trace. Smoothness only.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub values: BTreeMap<String, f64>,
}

/// The answer to a [`MeasureRequest`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureAnswer {
    /// What was found, measure by measure.
    pub findings: Vec<Finding>,
    /// The measures by name, among them those of whole traces: `sparc`, `ldlj`, `speed-exponent` (see [`Smoothness`]), `foot-skate`.
    pub measures: BTreeMap<&'static str, MeasureFacts>,
    /// In the order of the request's places.
    pub at: Vec<ValueAnswer>,
}

/// A verdict on a place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerdictAnswer {
    /// better, worse, same or cannot-tell.
    pub verdict: Verdict,
    /// The earlier value.
    pub before: Option<f64>,
    /// The later value.
    pub after: Option<f64>,
    /// Deviation of their difference.
    pub sd: Option<f64>,
    /// The reason.
    pub why: String,
    /// First and last frame in the later revision.
    pub frames: Option<(usize, usize)>,
}

/// The answer to a [`CompareRequest`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompareAnswer {
    /// In the order of the request's places.
    pub verdicts: Vec<VerdictAnswer>,
}

fn check_places(places: &[Place], frames: usize) -> Result<(), Fault> {
    if places.len() > MOST_PLACES {
        return Err(fault(
            "at",
            format!("{} places are more than {MOST_PLACES}", places.len()),
        ));
    }
    for (i, place) in places.iter().enumerate() {
        if place.start > place.end {
            return Err(fault(
                format!("at[{i}].end"),
                format!("{} is before the start, {}", place.end, place.start),
            ));
        }
        if place.end >= frames {
            return Err(fault(
                format!("at[{i}].end"),
                format!("there is no frame {}, the traces have {frames}", place.end),
            ));
        }
    }
    Ok(())
}

fn check_trace(part: &str, trace: &Trace) -> Result<(), Fault> {
    if trace.len() > MOST_FRAMES {
        return Err(fault(
            format!("traces.{part}"),
            format!("{} frames are more than {MOST_FRAMES}", trace.len()),
        ));
    }
    match trace
        .iter()
        .enumerate()
        .find(|(_, p)| p.is_some_and(|p| !p.is_sane()))
    {
        Some((f, _)) => Err(fault(
            format!("traces.{part}[{f}]"),
            format!("a place is within {FARTHEST_PX} pixels, its confidence 0 to 1"),
        )),
        None => Ok(()),
    }
}

impl MeasureRequest {
    /// Its recording.
    #[must_use]
    pub fn recording(&self) -> Recording {
        Recording {
            fps: self.fps,
            height_px: self.height_px,
            traces: self.traces.clone(),
            contacts: self.contacts.clone().unwrap_or_default(),
        }
    }

    /// Checks what the types do not say.
    ///
    /// # Errors
    /// The first field that is out of its range.
    pub fn check(&self) -> Result<(), Fault> {
        if !is_rate(self.fps) {
            return Err(fault("fps", format!("{} is not {RATES}", self.fps)));
        }
        if !is_height(self.height_px) {
            return Err(fault(
                "height_px",
                format!("{} is not within 1 and {FARTHEST_PX}", self.height_px),
            ));
        }
        if self.traces.len() > MOST_TRACES {
            return Err(fault(
                "traces",
                format!("{} traces are more than {MOST_TRACES}", self.traces.len()),
            ));
        }
        for (part, trace) in &self.traces {
            check_trace(part, trace)?;
        }
        let frames = self.traces.values().map(Vec::len).max().unwrap_or(0);
        for (ankle, flags) in self.contacts.iter().flatten() {
            if !matches!(ankle.as_str(), "ankle.left" | "ankle.right") {
                return Err(fault(
                    format!("contacts.{ankle}"),
                    "contacts are of ankle.left and ankle.right",
                ));
            }
            if flags.len() > frames {
                return Err(fault(
                    format!("contacts.{ankle}"),
                    format!("{} entries for {frames} frames", flags.len()),
                ));
            }
        }
        check_places(self.at.as_deref().unwrap_or_default(), frames)
    }

    /// Measures the recording and answers for the places.
    ///
    /// # Errors
    /// As [`MeasureRequest::check`].
    pub fn answer(&self, limits: &Limits) -> Result<MeasureAnswer, Fault> {
        self.check()?;
        let recording = self.recording();
        let last = recording.frames().saturating_sub(1);
        let smooth = |part: &String| {
            Some((
                part.clone(),
                smoothness(&recording, part, 0, last, limits).ok()?,
            ))
        };
        let skate = |side: &&str| {
            Some((
                format!("ankle.{side}"),
                super::skate(&recording, side, limits)?,
            ))
        };
        let feet = ["left", "right"].iter().filter_map(skate).collect();
        let at = self
            .at
            .iter()
            .flatten()
            .map(|place| match value(&recording, place, limits) {
                Ok(v) => ValueAnswer {
                    value: Some(v.value),
                    sd: Some(v.sd),
                    cannot_tell: None,
                },
                Err(reason) => ValueAnswer {
                    value: None,
                    sd: None,
                    cannot_tell: Some(reason.to_string()),
                },
            });
        Ok(MeasureAnswer {
            findings: findings(&recording, limits),
            measures: facts(
                &self.traces.keys().filter_map(smooth).collect(),
                &feet,
                limits,
            ),
            at: at.collect(),
        })
    }
}

fn facts(
    smooth: &BTreeMap<String, Smoothness>,
    feet: &BTreeMap<String, f64>,
    limits: &Limits,
) -> BTreeMap<&'static str, MeasureFacts> {
    let finds = |m: super::Measure| MeasureFacts {
        unit: m.unit(),
        limit: Some(limits.of(m)),
        clean_p95: Some(m.clean_p95()),
        smallest_change: limits.smallest_change.get(&m).copied(),
        unasked: m.speaks_unasked(),
        values: BTreeMap::new(),
    };
    let tells = |unit: &'static str, values: BTreeMap<String, f64>| MeasureFacts {
        unit,
        limit: None,
        clean_p95: None,
        smallest_change: None,
        unasked: false,
        values,
    };
    let of = |value: fn(&Smoothness) -> Option<f64>| {
        let known = smooth
            .iter()
            .filter_map(|(part, s)| Some((part.clone(), value(s)?)));
        tells("", known.collect())
    };
    let mut facts: BTreeMap<_, _> = super::Measure::ALL
        .into_iter()
        .map(|m| (m.name(), finds(m)))
        .collect();
    facts.insert("sparc", of(|s| Some(s.sparc)));
    facts.insert("ldlj", of(|s| Some(s.ldlj)));
    facts.insert("speed-exponent", of(|s| s.speed_exponent));
    facts.insert("foot-skate", tells("% height", feet.clone()));
    facts
}

impl CompareRequest {
    /// Checks what the types do not say.
    ///
    /// # Errors
    /// The first field that is out of its range.
    pub fn check(&self) -> Result<(), Fault> {
        for (name, request) in [("before", &self.before), ("after", &self.after)] {
            request
                .check()
                .map_err(|f| fault(format!("{name}.{}", f.field), f.reason))?;
        }
        let (before, after) = (
            self.before.recording().frames(),
            self.after.recording().frames(),
        );
        let map = self.map.as_deref().unwrap_or_default();
        if self.map.is_some() && map.len() != before {
            return Err(fault(
                "map",
                format!("{} entries for {before} frames", map.len()),
            ));
        }
        if let Some((i, to)) = map
            .iter()
            .enumerate()
            .find_map(|(i, to)| Some((i, to.filter(|to| *to >= after)?)))
        {
            return Err(fault(
                format!("map[{i}]"),
                format!("the later revision has no frame {to}"),
            ));
        }
        check_places(&self.at, before)
    }

    /// Compares the revisions at the places.
    ///
    /// # Errors
    /// As [`CompareRequest::check`].
    pub fn answer(&self, limits: &Limits) -> Result<CompareAnswer, Fault> {
        self.check()?;
        let (before, after) = (self.before.recording(), self.after.recording());
        let told = compare(&before, &after, self.map.as_ref(), &self.at, limits);
        let verdicts = told.into_iter().map(|t: Told| VerdictAnswer {
            verdict: t.verdict,
            before: t.before,
            after: t.after,
            sd: t.sd,
            why: t.why,
            frames: t.frames,
        });
        Ok(CompareAnswer {
            verdicts: verdicts.collect(),
        })
    }
}
