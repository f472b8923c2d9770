//! The frame table: the source's own time of each decoded frame.

use serde::{Deserialize, Serialize};

/// When each frame of the footage is shown. Row *i* is frame *i*, counted from 0 in the order a decoder gives them;
/// frames an edit list hides have no row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FrameTable {
    /// Numerator of one tick in seconds.
    pub time_base_num: u32,
    /// Denominator of one tick in seconds.
    pub time_base_den: u32,
    /// Time of each frame in ticks, never decreasing; two frames may share one.
    pub pts: Vec<i64>,
    /// How long the last frame is shown, in ticks; at least 1.
    pub last_duration: i64,
    /// Frames the source gave no usable time: missing or running backwards, and filled in here.
    pub mended: u32,
}

impl FrameTable {
    /// Builds the table from the times a decoder reported. `step_hint` is the nominal frame duration in ticks, used
    /// where the footage itself has no step to copy; `last_duration` is what the container says, if it does.
    pub(crate) fn mend(
        time_base: (u32, u32),
        raw: &[Option<i64>],
        step_hint: i64,
        last_duration: Option<i64>,
    ) -> Self {
        let step = typical_step(raw).unwrap_or(step_hint).max(1);
        let mut mended = 0;
        let mut pts: Vec<i64> = Vec::with_capacity(raw.len());
        for (i, time) in raw.iter().enumerate() {
            let floor = pts.last().copied();
            let value = match (*time, floor) {
                (Some(time), Some(floor)) if time < floor => None,
                (time, _) => time,
            };
            pts.push(value.unwrap_or_else(|| {
                mended += 1;
                match floor {
                    Some(floor) => floor.saturating_add(room_after(floor, step, &raw[i + 1..])),
                    None => first_known(raw, step),
                }
            }));
        }
        let last_duration = last_duration.filter(|&ticks| ticks > 0).unwrap_or(step);
        Self {
            time_base_num: time_base.0,
            time_base_den: time_base.1,
            pts,
            last_duration,
            mended,
        }
    }

    /// How many frames there are.
    pub fn frames(&self) -> u32 {
        u32::try_from(self.pts.len()).unwrap_or(u32::MAX)
    }

    /// Whether the frames do not follow each other evenly, beyond the rounding of a coarse clock: some time is more than
    /// one and a half ticks, and more than a fiftieth of a frame, away from an even spacing of all.
    pub fn is_variable(&self) -> bool {
        let (Some(first), Some(last)) = (self.pts.first(), self.pts.last()) else {
            return false;
        };
        let steps = (self.pts.len() - 1).max(1) as f64;
        let even = (last.saturating_sub(*first)) as f64 / steps;
        let room = (even / 50.0).max(1.5);
        let away = |(i, time): (usize, &i64)| {
            (time.saturating_sub(*first) as f64 - even * i as f64).abs() > room
        };
        self.pts.iter().enumerate().any(away)
    }

    /// Length in ticks, from the first frame's time to the end of the last.
    pub fn length_ticks(&self) -> i64 {
        match (self.pts.first(), self.pts.last()) {
            (Some(first), Some(last)) => last
                .saturating_sub(*first)
                .saturating_add(self.last_duration),
            _ => 0,
        }
    }

    /// Length in seconds, for showing and for limits; not for storage.
    pub fn seconds(&self) -> f64 {
        self.length_ticks() as f64 * f64::from(self.time_base_num) / f64::from(self.time_base_den)
    }
}

/// The median of the positive steps between neighbours that both have a time.
fn typical_step(raw: &[Option<i64>]) -> Option<i64> {
    let mut steps: Vec<i64> = raw
        .windows(2)
        .filter_map(|pair| pair[1]?.checked_sub(pair[0]?))
        .filter(|&step| step > 0)
        .collect();
    let middle = steps.len() / 2;
    (!steps.is_empty()).then(|| *steps.select_nth_unstable(middle).1)
}

/// The step for a filled frame: the typical one, or less where the next known time leaves no room for it.
fn room_after(floor: i64, step: i64, rest: &[Option<i64>]) -> i64 {
    match rest
        .iter()
        .enumerate()
        .find_map(|(i, time)| Some((i, (*time)?)))
    {
        Some((gap, next)) if next >= floor => {
            step.min(next.saturating_sub(floor) / (gap as i64 + 2))
        }
        _ => step,
    }
}

/// A time for a first frame that has none: as many steps before the first known time as there are frames between.
fn first_known(raw: &[Option<i64>], step: i64) -> i64 {
    raw.iter()
        .enumerate()
        .find_map(|(i, time)| Some((*time)?.saturating_sub(step.saturating_mul(i as i64))))
        .unwrap_or(0)
}

/// Reads the lines ffmpeg's `metadata` filter prints for each decoded frame
/// (`frame:12   pts:6144    pts_time:0.5`), as they arrive in pieces.
#[derive(Debug, Default)]
pub(crate) struct TableReader {
    rest: Vec<u8>,
    rows: Vec<Option<i64>>,
}

impl TableReader {
    /// Takes the next piece of output.
    pub(crate) fn push(&mut self, bytes: &[u8]) {
        self.rest.extend_from_slice(bytes);
        while let Some(end) = self.rest.iter().position(|&b| b == b'\n') {
            let line: Vec<u8> = self.rest.drain(..=end).collect();
            self.line(&String::from_utf8_lossy(&line));
        }
    }

    fn line(&mut self, line: &str) {
        if let Some((_, after)) = line
            .strip_prefix("frame:")
            .and_then(|rest| rest.split_once("pts:"))
        {
            self.rows.push(
                after
                    .split_whitespace()
                    .next()
                    .and_then(|pts| pts.parse().ok()),
            );
        }
    }

    /// The times read so far; `None` for a frame without one.
    pub(crate) fn rows(&self) -> &[Option<i64>] {
        &self.rows
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mend(raw: &[Option<i64>]) -> FrameTable {
        FrameTable::mend((1, 24), raw, 1, None)
    }

    #[test]
    fn lines_split_anywhere_read_the_same() {
        let text = b"frame:0    pts:0       pts_time:0\nn=1\nframe:1    pts:-512     pts_time:-0.04\nn=1\nframe:2    pts:NOPTS\nn=1\n";
        for cut in 0..text.len() {
            let mut reader = TableReader::default();
            reader.push(&text[..cut]);
            reader.push(&text[cut..]);
            assert_eq!(reader.rows(), [Some(0), Some(-512), None]);
        }
    }

    #[test]
    fn missing_times_come_from_the_neighbours_step() {
        let table = mend(&[None, Some(2), Some(4), None, Some(8), None]);
        assert_eq!(table.pts, [0, 2, 4, 6, 8, 10]);
        assert_eq!((table.mended, table.last_duration), (3, 2));
    }

    #[test]
    fn equal_times_stay_and_backward_ones_are_mended() {
        assert_eq!(
            mend(&[Some(0), Some(1), Some(1), Some(2)]).pts,
            [0, 1, 1, 2]
        );
        let table = mend(&[Some(0), Some(10), Some(5), Some(20)]);
        assert_eq!(table.pts, [0, 10, 15, 20]);
        assert_eq!(table.mended, 1);
    }

    #[test]
    fn rounding_to_milliseconds_is_not_variable() {
        let at = |rate: f64| {
            (0..100)
                .map(|i| Some((f64::from(i) * 1_000.0 / rate).round() as i64))
                .collect::<Vec<_>>()
        };
        for rate in [24.0, 23.976, 59.94, 60.0] {
            assert!(!mend(&at(rate)).is_variable(), "{rate}");
        }
        let mut held = at(24.0);
        held[50..]
            .iter_mut()
            .for_each(|time| *time = time.map(|time| time + 42));
        assert!(mend(&held).is_variable());
        assert!(!mend(&[Some(7)]).is_variable());
    }

    #[test]
    fn footage_without_any_time_runs_at_its_nominal_step() {
        let table = FrameTable::mend((1, 1_000), &[None, None, None], 40, None);
        assert_eq!(table.pts, [0, 40, 80]);
        assert!((table.seconds() - 0.12).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_table_never_runs_backwards_and_keeps_every_frame(
            raw in proptest::collection::vec(proptest::option::of(-1_000i64..1_000), 1..80)
        ) {
            let table = mend(&raw);
            prop_assert_eq!(table.pts.len(), raw.len());
            prop_assert!(table.pts.windows(2).all(|pair| pair[0] <= pair[1]));
            prop_assert!(table.length_ticks() >= 1);
        }

        #[test]
        fn good_times_pass_unchanged(steps in proptest::collection::vec(0i64..50, 1..80)) {
            let pts: Vec<i64> = steps.iter().scan(0, |at, step| { *at += step; Some(*at) }).collect();
            let raw: Vec<Option<i64>> = pts.iter().copied().map(Some).collect();
            let table = mend(&raw);
            prop_assert_eq!(table.pts, pts);
            prop_assert_eq!(table.mended, 0);
        }
    }
}
