//! Every tolerance of the measures, with its default.

use std::collections::BTreeMap;

use super::Measure;
pub use super::arc::ArcLimits;
pub use super::block::BlockLimits;
pub use super::feet::{LiftLimits, SlideLimits, StompLimits};
pub use super::jump::JumpLimits;
pub use super::limb::LimbLimits;
pub use super::pinned::{HipsLimits, PinnedLimits};
pub use super::settle::SettleLimits;
pub use super::spacing::SpacingLimits;
pub use super::step::StepLimits;
pub use super::stop::StopLimits;

/// The tolerances of all measures. Frames are those of 24 a second.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// Longest gap in a trace that is bridged by a line, in frames. Default 3.
    pub bridged_frames: usize,
    /// A trace never trembles less than this, in pixels. Default 0.1.
    pub noise_floor_px: f64,
    /// Below this mean confidence nothing is told. Default 0.5.
    pub least_confidence: f64,
    /// Frames about a span whose confidence counts too. Default 3.
    pub confidence_frames: usize,
    /// Repetitions with noise added. Default 12.
    pub noise_runs: u32,
    /// Noise added is at least this strong, in pixels. Default 0.2.
    pub noise_least_px: f64,
    /// And at most this strong, in pixels. Default 2.
    pub noise_most_px: f64,
    /// From what the added noise is drawn: the same seed gives the same answer. Default 1.
    pub seed: u64,
    /// Findings of a measure beyond this many are dropped, the weakest first. Default 200.
    pub most_findings: usize,
    /// A foot stands at most this far above the floor, in standing heights. Default 0.03.
    pub contact_height: f64,
    /// And moves down or up by at most this a frame. Default 0.006.
    pub contact_fall: f64,
    /// And sideways by at most this a frame. Default 0.02.
    pub contact_slide: f64,
    /// Differences smaller than this are the same. Default [`Measure::smallest_change`].
    pub smallest_change: BTreeMap<Measure, f64>,
    /// A difference smaller than this many deviations of its noise cannot be told. Default 1.64 (one in ten by chance).
    pub certainty: f64,
    /// Of [`Measure::Pop`].
    pub jump: JumpLimits,
    /// Of [`Measure::LinearStop`].
    pub stop: StopLimits,
    /// Of [`Measure::SlowSettle`].
    pub settle: SettleLimits,
    /// Of [`Measure::StraightPath`].
    pub arc: ArcLimits,
    /// Of [`Measure::UnevenSpacing`].
    pub spacing: SpacingLimits,
    /// Of [`Measure::InStep`].
    pub step: StepLimits,
    /// Of [`Measure::OneBlock`].
    pub block: BlockLimits,
    /// Of [`Measure::Pinned`].
    pub pinned: PinnedLimits,
    /// Of [`Measure::FootSlide`].
    pub slide: SlideLimits,
    /// Of [`Measure::Stomp`].
    pub stomp: StompLimits,
    /// Of [`Measure::HighStep`].
    pub lift: LiftLimits,
    /// Of [`Measure::IkLock`].
    pub limb: LimbLimits,
    /// Of [`Measure::StillHips`].
    pub hips: HipsLimits,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            bridged_frames: 3,
            noise_floor_px: 0.1,
            least_confidence: 0.5,
            confidence_frames: 3,
            noise_runs: 12,
            noise_least_px: 0.2,
            noise_most_px: 2.0,
            seed: 1,
            most_findings: 200,
            contact_height: 0.03,
            contact_fall: 0.006,
            contact_slide: 0.02,
            smallest_change: Measure::ALL.map(|m| (m, m.smallest_change())).into(),
            certainty: 1.64,
            jump: JumpLimits::default(),
            stop: StopLimits::default(),
            settle: SettleLimits::default(),
            arc: ArcLimits::default(),
            spacing: SpacingLimits::default(),
            step: StepLimits::default(),
            block: BlockLimits::default(),
            pinned: PinnedLimits::default(),
            slide: SlideLimits::default(),
            stomp: StompLimits::default(),
            lift: LiftLimits::default(),
            limb: LimbLimits::default(),
            hips: HipsLimits::default(),
        }
    }
}

impl Limits {
    /// The value from which on a measure finds.
    #[must_use]
    pub fn of(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Pop => self.jump.limit,
            Measure::LinearStop => self.stop.limit,
            Measure::SlowSettle => self.settle.limit,
            Measure::StraightPath => self.arc.limit,
            Measure::UnevenSpacing => self.spacing.limit,
            Measure::InStep => self.step.limit,
            Measure::OneBlock => self.block.limit,
            Measure::Pinned => self.pinned.limit,
            Measure::FootSlide => self.slide.limit,
            Measure::Stomp => self.stomp.limit,
            Measure::HighStep => self.lift.limit,
            Measure::IkLock => self.limb.limit,
            Measure::StillHips => self.hips.limit,
        }
    }
}
