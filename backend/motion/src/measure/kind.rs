//! The measures by name, with what clean motion shows.

use std::str::FromStr;

/// A measure. Values rise with the fault. Kinds and limits are common practice without a source.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Measure {
    /// A part leaves its path for a frame or two (jump), in times of the displacement usual about the frame.
    Pop,
    /// A part stands from one frame to the next; share of the speed that is lost at once, 0..=1.
    LinearStop,
    /// Creeping on after the movement, in frames.
    SlowSettle,
    /// 1 less the sagitta of the path as a share of its chord; 1 is a line.
    StraightPath,
    /// Alternation of the gaps as a share of the mean gap.
    UnevenSpacing,
    /// Correlation of the velocities of both hands, plain or mirrored, -1..=1.
    InStep,
    /// 1: all parts leave a rest on the same frame; 0: their onsets spread by three frames or more.
    OneBlock,
    /// 1 less the travel of a head or hand as a share of the chest's, ..=1.
    Pinned,
    /// Slide of a standing foot, in % of the standing height.
    FootSlide,
    /// Drop of a foot in the frame in which it lands (one-frame plant), in % of the standing height.
    Stomp,
    /// Lift of a foot between two contacts, in % of the standing height. Only to compare.
    HighStep,
    /// A joint thrown straight and back (limb snap), in degrees a frame.
    IkLock,
    /// 1 less the travel of the hips as a share of the chest's, ..=1.
    StillHips,
}

impl Measure {
    /// All measures.
    pub const ALL: [Self; 13] = [
        Self::Pop,
        Self::LinearStop,
        Self::SlowSettle,
        Self::StraightPath,
        Self::UnevenSpacing,
        Self::InStep,
        Self::OneBlock,
        Self::Pinned,
        Self::FootSlide,
        Self::Stomp,
        Self::HighStep,
        Self::IkLock,
        Self::StillHips,
    ];

    /// Its one spelling.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Pop => "pop",
            Self::LinearStop => "linear-stop",
            Self::SlowSettle => "slow-settle",
            Self::StraightPath => "straight-path",
            Self::UnevenSpacing => "uneven-spacing",
            Self::InStep => "in-step",
            Self::OneBlock => "one-block",
            Self::Pinned => "pinned",
            Self::FootSlide => "foot-slide",
            Self::Stomp => "stomp",
            Self::HighStep => "high-step",
            Self::IkLock => "ik-lock",
            Self::StillHips => "still-hips",
        }
    }

    /// What its values count.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Pop => "×",
            Self::LinearStop | Self::UnevenSpacing => "share",
            Self::SlowSettle => "frames",
            Self::StraightPath => "1 - sagitta",
            Self::InStep => "correlation",
            Self::OneBlock | Self::Pinned | Self::StillHips => "0..1",
            Self::FootSlide | Self::Stomp | Self::HighStep => "% height",
            Self::IkLock => "°/frame",
        }
    }

    /// 95th percentile of the candidates in clean recorded motion, as `ops/bench/accuracy_measures` prints them; acrobatics among it.
    #[must_use]
    pub fn clean_p95(self) -> f64 {
        match self {
            Self::Pop => 2.2,
            Self::LinearStop => 0.61,
            Self::SlowSettle => 8.3,
            Self::StraightPath => 0.971,
            Self::UnevenSpacing => 0.41,
            Self::InStep => 0.945,
            Self::OneBlock => 0.85,
            Self::Pinned => 0.87,
            Self::FootSlide => 2.8,
            Self::Stomp => 1.5,
            Self::HighStep => 48.0,
            Self::IkLock => 15.0,
            Self::StillHips => 0.63,
        }
    }

    /// The smallest difference between two revisions that is worth telling, in its unit.
    #[must_use]
    pub fn smallest_change(self) -> f64 {
        match self {
            Self::Pop => 0.6,
            Self::LinearStop => 0.15,
            Self::OneBlock => 0.1,
            Self::SlowSettle => 3.0,
            Self::IkLock => 4.0,
            Self::StraightPath => 0.02,
            Self::UnevenSpacing => 0.03,
            Self::InStep => 0.05,
            Self::Pinned | Self::StillHips => 0.08,
            Self::FootSlide => 0.5,
            Self::Stomp => 0.6,
            Self::HighStep => 1.5,
        }
    }

    /// Whether a finding is sure enough to be shown though nobody asked. The others are evidence on a note's frames.
    #[must_use]
    pub fn speaks_unasked(self) -> bool {
        matches!(
            self,
            Self::Stomp | Self::StillHips | Self::SlowSettle | Self::InStep
        )
    }
}

impl std::fmt::Display for Measure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.name())
    }
}

/// There is no such measure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no measure called \"{0}\"")]
pub struct UnknownMeasure(String);

impl FromStr for Measure {
    type Err = UnknownMeasure;

    fn from_str(name: &str) -> Result<Self, Self::Err> {
        let known = Self::ALL.into_iter().find(|m| m.name() == name);
        known.ok_or_else(|| UnknownMeasure(name.chars().take(40).collect()))
    }
}
