//! Whether the scenario is true of its own pictures, and fit to be shown.

mod faults;
mod measures;
mod pictures;
mod plan;
mod story;
mod words;

use std::sync::LazyLock;

use crate::plan::Scenario;

static SCHOOL: LazyLock<Scenario> = LazyLock::new(Scenario::full);

/// The whole school, made once.
fn school() -> &'static Scenario {
    &SCHOOL
}
