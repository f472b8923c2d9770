//! What is asked, understood: an empty field is as good as none.

use std::str::FromStr;

use archive::{Asker, Filters, PAGE_LIMIT};
use chrono::{DateTime, Days, NaiveDate, TimeZone, Utc};
use chrono_tz::Tz;
use domain::parts::PartRef;
use domain::{Actor, EnrolmentId, Kind, Principle, Role};

use crate::http::problem::Problem;

/// Hits of a page when nothing was asked.
const DEFAULT_LIMIT: usize = 30;

/// The query of `GET /archive`.
#[derive(Debug, Default, serde::Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
pub struct ArchiveQuery {
    /// Words, all of which must occur; "in quotes" in a row; `begin*` by their beginning. The last one is
    /// taken for a beginning while no space follows it. At most 1,000 characters and 32 words.
    q: Option<String>,
    /// One of the note's principles.
    #[param(value_type = Option<Principle>)]
    principle: Option<String>,
    /// A body part; finds what belongs to it too.
    part: Option<String>,
    /// Kind of the note.
    #[param(value_type = Option<Kind>)]
    kind: Option<String>,
    /// Id of the student.
    student: Option<String>,
    /// Id of the shot.
    shot: Option<String>,
    /// First day, in the school's time zone.
    #[param(value_type = Option<NaiveDate>)]
    from: Option<String>,
    /// Last day, in the school's time zone.
    #[param(value_type = Option<NaiveDate>)]
    to: Option<String>,
    /// Hits wanted, 1..=100.
    limit: Option<usize>,
    /// From the page before, of the same search.
    cursor: Option<String>,
}

impl ArchiveQuery {
    pub(super) fn text(&self) -> &str {
        self.q.as_deref().unwrap_or_default()
    }

    pub(super) fn cursor(&self) -> Option<&str> {
        given(&self.cursor)
    }

    pub(super) fn limit(&self) -> usize {
        self.limit.unwrap_or(DEFAULT_LIMIT).clamp(1, PAGE_LIMIT)
    }

    /// The conditions beside the words; days are those of `zone`.
    pub(super) fn filters(&self, zone: &str) -> Result<Filters, Problem> {
        let zone: Tz = zone.parse().unwrap_or(Tz::UTC);
        let last: Option<NaiveDate> = read("to", &self.to)?;
        let after = last.and_then(|day| day.checked_add_days(Days::new(1)));
        let filters = Filters {
            principle: read::<Principle>("principle", &self.principle)?,
            part: given(&self.part).map(str::to_owned),
            side: None,
            kind: read::<Kind>("kind", &self.kind)?,
            student: read("student", &self.student)?,
            shot: read("shot", &self.shot)?,
            from: read("from", &self.from)?.map(|day| morning(zone, day)),
            to: after.map(|day| morning(zone, day)),
        };
        if let Some(part) = &filters.part {
            let known = PartRef {
                part: part.clone(),
                side: None,
            }
            .check();
            known.map_err(|error| wrong("part", &error))?;
        }
        Ok(filters)
    }
}

/// Who asks, as the archive sees them.
pub(super) fn asker(actor: &Actor, mentored: Vec<EnrolmentId>) -> Asker {
    Asker {
        school: actor.school,
        person: actor.person,
        as_student: actor.is(Role::Student),
        as_mentor: actor.is(Role::Mentor).then_some(mentored),
        as_office: actor.is(Role::Office),
    }
}

fn given(field: &Option<String>) -> Option<&str> {
    field
        .as_deref()
        .map(str::trim)
        .filter(|text| !text.is_empty())
}

fn read<T>(name: &str, field: &Option<String>) -> Result<Option<T>, Problem>
where
    T: FromStr<Err: std::fmt::Display>,
{
    let value = given(field).map(str::parse).transpose();
    value.map_err(|error| wrong(name, &error))
}

fn wrong(name: &str, error: &dyn std::fmt::Display) -> Problem {
    let remedy = match name {
        "from" | "to" => "Give a day as 2026-11-25.",
        "student" | "shot" => "Give its id.",
        _ => "GET /api/v1/vocabulary lists what there is.",
    };
    Problem::invalid(name, &error.to_string(), remedy)
}

/// The first moment of a day; where clocks are set forward over midnight, the first there is.
fn morning(zone: Tz, day: NaiveDate) -> DateTime<Utc> {
    let midnight = day.and_time(chrono::NaiveTime::MIN);
    let local = (0..=3).find_map(|hours| {
        let time = midnight + chrono::TimeDelta::hours(hours);
        zone.from_local_datetime(&time).earliest()
    });
    local.map_or_else(|| midnight.and_utc(), |time| time.with_timezone(&Utc))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(change: impl FnOnce(&mut ArchiveQuery)) -> Result<Filters, Problem> {
        let mut query = ArchiveQuery::default();
        change(&mut query);
        query.filters("Europe/Vienna")
    }

    #[test]
    fn days_are_the_schools_own_and_whole() {
        let filters = asked(|query| {
            query.from = Some("2026-03-29".into());
            query.to = Some("2026-03-29".into());
        })
        .unwrap();
        // Clocks go forward on that day in Vienna (EU directive 2000/84/EC): it has 23 hours.
        assert_eq!(
            filters.from.unwrap().to_rfc3339(),
            "2026-03-28T23:00:00+00:00"
        );
        assert_eq!(
            filters.to.unwrap().to_rfc3339(),
            "2026-03-29T22:00:00+00:00"
        );
    }

    #[test]
    fn a_day_without_midnight_begins_at_its_first_moment() {
        // tz database, Africa/Cairo: on 2023-04-28 clocks went from 00:00 to 01:00.
        let day = NaiveDate::from_ymd_opt(2023, 4, 28).unwrap();
        assert_eq!(
            morning(Tz::Africa__Cairo, day).to_rfc3339(),
            "2023-04-27T22:00:00+00:00"
        );
    }

    #[test]
    fn an_empty_field_asks_nothing_and_a_wrong_one_is_named() {
        assert_eq!(
            asked(|query| query.part = Some(" ".into())).unwrap(),
            Filters::default()
        );
        type Mistake = fn(&mut ArchiveQuery);
        let wrong: [(&str, Mistake); 5] = [
            ("part", |query| query.part = Some("wing".into())),
            ("principle", |query| query.principle = Some("wobble".into())),
            ("kind", |query| query.kind = Some("FIX".into())),
            ("student", |query| query.student = Some("me".into())),
            ("to", |query| query.to = Some("2026-02-30".into())),
        ];
        for (field, change) in wrong {
            let problem = asked(change).unwrap_err();
            let named = problem
                .body()
                .errors
                .iter()
                .map(|error| error.field.as_str());
            assert_eq!(named.collect::<Vec<_>>(), [field]);
        }
    }

    #[test]
    fn a_page_has_bounds() {
        let limit = |limit| {
            ArchiveQuery {
                limit,
                ..ArchiveQuery::default()
            }
            .limit()
        };
        assert_eq!(
            [
                limit(None),
                limit(Some(0)),
                limit(Some(5)),
                limit(Some(5_000))
            ],
            [30, 1, 5, 100]
        );
    }
}
