//! What is usual in each school, kept for a while: it is made of everything the school was told, and moves slowly.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use chrono::{DateTime, TimeDelta, Utc};
use domain::SchoolId;
use store::habits::{self, OfSchool};
use store::{Conn, StoreResult};

use crate::critics::Critics;

/// How old the numbers of a school may be.
const KEPT: TimeDelta = TimeDelta::minutes(10);

/// When a school's numbers were read, and what they are.
type Read = (DateTime<Utc>, Arc<OfSchool>);

/// The numbers of schools.
#[derive(Default)]
pub struct Usual {
    schools: Mutex<HashMap<SchoolId, Read>>,
}

impl Usual {
    /// The numbers of the school of `conn`'s scope, at most ten minutes old. None are kept while too few students have been told
    /// anything, so that the first ones are seen at once.
    ///
    /// # Errors
    /// If the database does not answer.
    pub async fn of_school(
        &self,
        conn: &mut Conn,
        critics: &Critics,
        school: SchoolId,
        now: DateTime<Utc>,
    ) -> StoreResult<Arc<OfSchool>> {
        if let Some(kept) = self.kept(school, now) {
            return Ok(kept);
        }
        let areas = critics.built_in().lexicon.areas();
        let read = Arc::new(habits::of_school(conn, areas).await?);
        let mut schools = self.schools.lock().unwrap_or_else(PoisonError::into_inner);
        schools.retain(|_, (at, _)| now - *at < KEPT);
        if !read.habits.is_empty() {
            schools.insert(school, (now, read.clone()));
        }
        Ok(read)
    }

    fn kept(&self, school: SchoolId, now: DateTime<Utc>) -> Option<Arc<OfSchool>> {
        let schools = self.schools.lock().unwrap_or_else(PoisonError::into_inner);
        let (at, numbers) = schools.get(&school)?;
        (now - *at < KEPT).then(|| numbers.clone())
    }
}
