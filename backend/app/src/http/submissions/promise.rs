//! The promise, and the words that confirm it.

use chrono::{DateTime, Days, NaiveDate, Utc};
use chrono_tz::Tz;
use domain::Quota;
use store::people::Person;
use store::schools::School;
use store::shots::Shot;
use store::submissions::Submission;

use crate::mail::Letter;

/// The day in the school's time zone.
pub fn today(school: &School, at: DateTime<Utc>) -> NaiveDate {
    let zone: Tz = school.time_zone.parse().unwrap_or(Tz::UTC);
    at.with_timezone(&zone).date_naive()
}

/// The day that many days later.
pub fn promised_on(today: NaiveDate, promise_days: i32) -> NaiveDate {
    today
        .checked_add_days(Days::new(promise_days.unsigned_abs().into()))
        .unwrap_or(today)
}

/// `Tuesday 8 December`.
pub fn spoken(day: NaiveDate) -> String {
    day.format("%A %-d %B").to_string()
}

/// The confirmation that a submission arrived.
pub fn confirmation(
    student: Person,
    school: &School,
    shot: &Shot,
    sent: &Submission,
    quota: &Quota,
    public_url: &str,
    at: DateTime<Utc>,
) -> Letter {
    let standing = format!(
        "{} of {} sent, {} left, critique promised by {}.",
        quota.sent - quota.returned,
        quota.granted,
        quota.left,
        spoken(sent.promised_on)
    );
    Letter {
        kind: "confirmation",
        about: sent.id.0,
        person: student.id,
        name: student.name,
        to: student.email,
        subject: format!("{}, r{} has arrived", shot.title, sent.number),
        paragraphs: vec![
            format!(
                "{}, r{} ({}), has arrived.",
                shot.title, sent.number, sent.stage
            ),
            standing,
            "You can withdraw it until your mentor opens it; it then counts as not sent.".into(),
            school.name.clone(),
        ],
        link: Some((
            "Your shot".into(),
            format!("{public_url}/shots/{}", shot.id),
        )),
        at,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_promise_counts_days_where_the_school_is() {
        let school = |zone: &str| School {
            id: uuid::Uuid::nil().into(),
            slug: "s".into(),
            name: "S".into(),
            time_zone: zone.into(),
        };
        let late: DateTime<Utc> = "2026-11-24T23:30:00Z".parse().unwrap();
        let day = today(&school("Europe/Vienna"), late);
        assert_eq!(day.to_string(), "2026-11-25");
        assert_eq!(spoken(promised_on(day, 13)), "Tuesday 8 December");
        assert_eq!(
            today(&school("America/Lima"), late).to_string(),
            "2026-11-24"
        );
    }
}
