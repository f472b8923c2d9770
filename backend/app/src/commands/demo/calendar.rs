//! The scenario's moments as points in time.

use chrono::{DateTime, Days, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;
use seed::plan::Moment;

/// Counts back from the day of the first start, in the school's time zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Calendar {
    zone: Tz,
    first_start: DateTime<Utc>,
}

impl Calendar {
    pub fn new(zone: Tz, first_start: DateTime<Utc>) -> Self {
        Self { zone, first_start }
    }

    /// The moment; never after the first start, for nothing has happened by then.
    pub fn at(&self, moment: Moment) -> DateTime<Utc> {
        let today = self.first_start.with_timezone(&self.zone).date_naive();
        let back = moment.days_before();
        let days = Days::new(u64::from(back.unsigned_abs()));
        let day = if back >= 0 {
            today.checked_sub_days(days)
        } else {
            today.checked_add_days(days)
        };
        let (hour, minute) = moment.time();
        let time = NaiveTime::from_hms_opt(u32::from(hour), u32::from(minute), 0);
        let (Some(day), Some(time)) = (day, time) else {
            return self.first_start;
        };
        // The hour that is skipped in spring does not exist; what was planned in it happens as in winter time.
        let local = self.zone.from_local_datetime(&day.and_time(time));
        local
            .earliest()
            .map_or_else(
                || Utc.from_utc_datetime(&day.and_time(time)),
                |t| t.with_timezone(&Utc),
            )
            .min(self.first_start)
    }

    /// The day of a moment, as the school counts days.
    pub fn day(&self, moment: Moment) -> String {
        self.at(moment)
            .with_timezone(&self.zone)
            .format("%Y-%m-%d")
            .to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_count_back_from_the_first_start_in_the_schools_zone() {
        let start = Utc.with_ymd_and_hms(2026, 11, 25, 23, 30, 0).unwrap();
        let calendar = Calendar::new(chrono_tz::Europe::Vienna, start);
        // In Vienna it is the 26th already.
        assert_eq!(calendar.day(Moment::new(1, 10, 0)), "2026-11-25");
        assert_eq!(
            calendar.at(Moment::new(1, 10, 0)),
            Utc.with_ymd_and_hms(2026, 11, 25, 9, 0, 0).unwrap()
        );
        // Summer time.
        assert_eq!(
            calendar.at(Moment::new(150, 10, 0)),
            Utc.with_ymd_and_hms(2026, 6, 29, 8, 0, 0).unwrap()
        );
        assert_eq!(
            calendar.at(Moment::new(0, 23, 0)),
            start,
            "never in the future"
        );
    }
}
