//! Footage as pages see it.

use domain::{FootageId, FootageState};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::http::problem::ProblemBody;

/// A piece of footage.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Footage {
    /// Its id.
    pub id: FootageId,
    /// Where its preparation stands.
    pub state: FootageState,
    /// 0..1.
    pub progress: f32,
    /// Why it failed.
    #[schema(required)]
    pub problem: Option<ProblemBody>,
    /// The name the file had.
    pub filename: String,
    /// Width shown, square pixels.
    pub width: i32,
    /// Height shown.
    pub height: i32,
    /// Frames; until it is ready, what the container says.
    pub frames: i32,
    /// Nominal frames a second.
    pub fps: Fraction,
    /// Whether frames differ in how long they are shown.
    pub variable: bool,
    /// The source's exact times, once it is ready.
    #[schema(required)]
    pub frame_table: Option<FrameTable>,
    /// The review copy's size.
    #[schema(required)]
    pub copy: Option<Size>,
    /// The larger copy's size, where there is one.
    #[schema(required)]
    pub large: Option<Size>,
    /// How the strip is laid out.
    #[schema(required)]
    pub strip: Option<Strip>,
    /// Whether there is sound.
    pub sound: bool,
}

/// A fraction.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
pub struct Fraction {
    /// Numerator.
    pub num: i32,
    /// Denominator.
    pub den: i32,
}

/// Entry *i* is frame *i*.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct FrameTable {
    /// One tick, seconds.
    pub time_base: Fraction,
    /// Time of each frame, ticks.
    pub pts: Vec<i64>,
    /// How long the last is shown, ticks.
    pub last_duration: i64,
}

/// A size in pixels.
#[derive(Debug, Clone, Copy, Serialize, Deserialize, ToSchema)]
#[schema(as = PictureSize)]
pub struct Size {
    /// Width.
    pub width: u32,
    /// Height.
    pub height: u32,
}

/// A row of small pictures: cell *k* shows frame `frames[k]`.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct Strip {
    /// How many.
    pub cells: u32,
    /// Width of one.
    pub cell_width: u32,
    /// Height of one.
    pub cell_height: u32,
    /// The frame in each.
    pub frames: Vec<u32>,
}

#[derive(Debug, Default, Deserialize)]
struct Derived {
    copy: Option<Size>,
    large: Option<Size>,
    strip: Option<Strip>,
    #[serde(default)]
    sound: bool,
}

/// The layout of a strip, from what preparation wrote down.
#[must_use]
pub fn strip_of(derived: Option<&serde_json::Value>) -> Option<Strip> {
    read(derived).strip
}

fn read(derived: Option<&serde_json::Value>) -> Derived {
    derived
        .and_then(|value| Derived::deserialize(value).ok())
        .unwrap_or_default()
}

impl From<store::footage::Footage> for Footage {
    fn from(row: store::footage::Footage) -> Self {
        let derived = read(row.derived.as_ref());
        let frame_table = match (
            row.time_base_num,
            row.time_base_den,
            row.frame_pts,
            row.last_duration,
        ) {
            (Some(num), Some(den), Some(pts), Some(last_duration)) => Some(FrameTable {
                time_base: Fraction { num, den },
                pts,
                last_duration,
            }),
            _ => None,
        };
        Self {
            id: row.id,
            state: row.state,
            progress: row.progress,
            problem: row
                .problem
                .and_then(|kept| serde_json::from_value(kept).ok()),
            filename: row.filename,
            width: row.width,
            height: row.height,
            frames: row.frames,
            fps: Fraction {
                num: row.fps_num,
                den: row.fps_den,
            },
            variable: row.variable,
            frame_table,
            copy: derived.copy,
            large: derived.large,
            strip: derived.strip,
            sound: derived.sound,
        }
    }
}
