//! Progress of long work, and the wish to stop it.

use std::ops::ControlFlow;

/// The caller wished the work to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped")]
pub struct Stopped;

/// Called with rising shares of the work that is done, 0 to 1; it may end the work.
pub type Progress<'a> = dyn FnMut(f32) -> ControlFlow<()> + 'a;

/// Called after each small piece of work.
pub(crate) type Step<'a> = dyn FnMut() -> Result<(), Stopped> + 'a;

/// A part of the whole work.
pub(crate) struct Part<'a, 'b> {
    report: &'a mut Progress<'b>,
    from: f32,
    step: f32,
    done: f32,
}

impl<'a, 'b> Part<'a, 'b> {
    /// The part between the shares `from` and `to`, in `pieces`.
    pub(crate) fn of(report: &'a mut Progress<'b>, from: f32, to: f32, pieces: usize) -> Self {
        Self {
            report,
            from,
            step: (to - from) / pieces.max(1) as f32,
            done: 0.0,
        }
    }

    pub(crate) fn step(&mut self) -> Result<(), Stopped> {
        self.done += 1.0;
        match (self.report)((self.from + self.done * self.step).min(1.0)) {
            ControlFlow::Continue(()) => Ok(()),
            ControlFlow::Break(()) => Err(Stopped),
        }
    }
}
