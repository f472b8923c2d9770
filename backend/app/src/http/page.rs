//! Lists come in pages: a cursor names the last row seen, so that rows added meanwhile shift nothing.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::problem::Problem;

/// Rows of a page when nothing was asked.
pub const DEFAULT_LIMIT: i64 = 50;
/// Rows of a page at most.
pub const MAX_LIMIT: i64 = 200;

/// `?limit=&cursor=`.
#[derive(Debug, Clone, Default, serde::Deserialize, utoipa::IntoParams)]
pub struct PageQuery {
    /// Rows wanted, 1..=200.
    pub limit: Option<i64>,
    /// From the page before.
    pub cursor: Option<String>,
}

impl PageQuery {
    /// Rows wanted, within the bounds.
    #[must_use]
    pub fn limit(&self) -> i64 {
        self.limit.unwrap_or(DEFAULT_LIMIT).clamp(1, MAX_LIMIT)
    }

    /// The key of the last row seen.
    ///
    /// # Errors
    /// If the cursor is not one that this server made.
    pub fn after<K: DeserializeOwned>(&self) -> Result<Option<K>, Problem> {
        let Some(cursor) = &self.cursor else {
            return Ok(None);
        };
        URL_SAFE_NO_PAD
            .decode(cursor)
            .ok()
            .and_then(|bytes| serde_json::from_slice(&bytes).ok())
            .map(Some)
            .ok_or_else(|| {
                Problem::invalid(
                    "cursor",
                    "is not one that this server gave out",
                    "Begin again without it.",
                )
            })
    }
}

/// One page of a list.
#[derive(Debug, Clone, Serialize, utoipa::ToSchema)]
pub struct Page<T> {
    /// The rows.
    pub items: Vec<T>,
    /// For the next page; none: this was the last.
    pub next_cursor: Option<String>,
}

impl<T> Page<T> {
    /// A page from up to `limit + 1` rows; the extra one only tells that there are more.
    pub fn cut<R, K: Serialize>(
        mut rows: Vec<R>,
        limit: i64,
        key: impl Fn(&R) -> K,
        show: impl FnMut(R) -> T,
    ) -> Page<T> {
        let limit = usize::try_from(limit).unwrap_or(usize::MAX);
        let more = rows.len() > limit;
        rows.truncate(limit);
        let next_cursor = rows
            .last()
            .filter(|_| more)
            .and_then(|row| serde_json::to_vec(&key(row)).ok())
            .map(|bytes| URL_SAFE_NO_PAD.encode(bytes));
        Page {
            items: rows.into_iter().map(show).collect(),
            next_cursor,
        }
    }

    /// Everything there is, on one page.
    #[must_use]
    pub fn whole(items: Vec<T>) -> Page<T> {
        Page {
            items,
            next_cursor: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cursor_comes_back_as_its_key() {
        let page = Page::cut(vec![1, 2, 3], 2, |n| (*n, "x".to_owned()), |n| n);
        assert_eq!(page.items, [1, 2]);
        let query = PageQuery {
            limit: None,
            cursor: page.next_cursor,
        };
        assert_eq!(
            query.after::<(i32, String)>().unwrap(),
            Some((2, "x".to_owned()))
        );
    }

    #[test]
    fn the_last_page_has_no_cursor_and_a_made_up_one_is_refused() {
        assert_eq!(Page::cut(vec![1, 2], 2, |n| *n, |n| n).next_cursor, None);
        let query = PageQuery {
            limit: Some(9999),
            cursor: Some("zzz".into()),
        };
        assert!(query.after::<i32>().is_err());
        assert_eq!(query.limit(), MAX_LIMIT);
    }
}
