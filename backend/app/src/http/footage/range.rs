//! Files by range, with conditions: RFC 9110, sections 13 and 14.

use actix_web::http::Method;
use actix_web::http::header::HeaderMap;
use actix_web::{Error, HttpRequest, HttpResponse};
use bytes::Bytes;
use domain::ProblemCode;
use futures_util::{StreamExt, TryStreamExt, stream};
use object_store::path::Path as Key;
use object_store::{GetOptions, GetRange, ObjectStore, ObjectStoreExt};

use crate::http::problem::{Answer, Problem};

/// What of the file is wanted.
#[derive(Debug, PartialEq, Eq)]
enum Wanted {
    Whole,
    Part { start: u64, end: u64 },
    Unsatisfiable,
}

/// Answers with the object, or the part of it that is asked for. One range; several are answered whole, as the RFC allows.
///
/// # Errors
/// If it is not there or the store does not answer.
pub async fn serve(
    store: &dyn ObjectStore,
    key: &Key,
    media_type: &str,
    request: &HttpRequest,
) -> Answer {
    let meta = store.head(key).await.map_err(|error| explain(&error))?;
    let tag = format!(
        "\"{}\"",
        meta.e_tag.as_deref().unwrap_or("").trim_matches('"')
    );
    let headers = request.headers();
    let common = |status: actix_web::http::StatusCode| {
        let mut answer = HttpResponse::build(status);
        answer
            .insert_header(("ETag", tag.clone()))
            .insert_header(("Accept-Ranges", "bytes"))
            .insert_header(("Cache-Control", "private, max-age=31536000, immutable"))
            .content_type(media_type);
        answer
    };
    if header(headers, "if-none-match").is_some_and(|tags| {
        tags == "*"
            || tags
                .split(',')
                .any(|known| known.trim().trim_start_matches("W/") == tag)
    }) {
        return Ok(common(actix_web::http::StatusCode::NOT_MODIFIED).finish());
    }
    let unchanged = header(headers, "if-range").is_none_or(|known| known == tag);
    // Ranges are of GET alone (14.2).
    let may_be_part = unchanged && request.method() == Method::GET;
    let wanted = match header(headers, "range").filter(|_| may_be_part) {
        Some(range) => parse(range, meta.size),
        None => Wanted::Whole,
    };
    let (mut answer, range) = match wanted {
        Wanted::Unsatisfiable => {
            return Ok(common(actix_web::http::StatusCode::RANGE_NOT_SATISFIABLE)
                .insert_header(("Content-Range", format!("bytes */{}", meta.size)))
                .finish());
        }
        Wanted::Whole => (common(actix_web::http::StatusCode::OK), 0..meta.size),
        Wanted::Part { start, end } => {
            let mut answer = common(actix_web::http::StatusCode::PARTIAL_CONTENT);
            answer.insert_header((
                "Content-Range",
                format!("bytes {start}-{end}/{}", meta.size),
            ));
            (answer, start..end + 1)
        }
    };
    let length = range.end - range.start;
    if request.method() == Method::HEAD {
        return Ok(answer
            .no_chunking(length)
            .streaming(stream::empty::<Result<Bytes, Error>>()));
    }
    let options = GetOptions {
        range: (meta.size > 0).then_some(GetRange::Bounded(range)),
        ..GetOptions::default()
    };
    let body = store
        .get_opts(key, options)
        .await
        .map_err(|error| explain(&error))?
        .into_stream();
    Ok(answer.no_chunking(length).streaming(
        body.map_err(actix_web::error::ErrorInternalServerError)
            .boxed_local(),
    ))
}

fn header<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers.get(name)?.to_str().ok()
}

/// `bytes=a-b`, `bytes=a-`, `bytes=-n`; anything else is ignored.
fn parse(range: &str, size: u64) -> Wanted {
    let Some((first, last)) = range
        .strip_prefix("bytes=")
        .filter(|set| !set.contains(','))
        .and_then(|set| set.split_once('-'))
    else {
        return Wanted::Whole;
    };
    let (first, last) = (first.trim(), last.trim());
    let bounds = match (first.parse::<u64>(), last.parse::<u64>()) {
        (Ok(start), Ok(end)) if start <= end => Some((start, end)),
        (Ok(start), Err(_)) if last.is_empty() => Some((start, u64::MAX)),
        (Err(_), Ok(suffix)) if first.is_empty() => match suffix {
            0 => return Wanted::Unsatisfiable,
            suffix => Some((size.saturating_sub(suffix), u64::MAX)),
        },
        _ => None,
    };
    match bounds {
        None => Wanted::Whole,
        Some((start, _)) if start >= size => Wanted::Unsatisfiable,
        Some((start, end)) => Wanted::Part {
            start,
            end: end.min(size - 1),
        },
    }
}

fn explain(error: &object_store::Error) -> Problem {
    match error {
        object_store::Error::NotFound { .. } => Problem::not_found(),
        other => {
            tracing::error!(%other, "the footage store does not answer");
            Problem::new(ProblemCode::Unavailable)
                .detail(
                    "The footage store does not answer. Nothing is lost; try again in a moment.",
                )
                .retry_after(5)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9110, 14.1.2: the examples for a representation of 10,000 bytes.
    #[test]
    fn the_examples_of_the_rfc() {
        let part = |start, end| Wanted::Part { start, end };
        assert_eq!(parse("bytes=0-499", 10_000), part(0, 499));
        assert_eq!(parse("bytes=500-999", 10_000), part(500, 999));
        assert_eq!(parse("bytes=-500", 10_000), part(9_500, 9_999));
        assert_eq!(parse("bytes=9500-", 10_000), part(9_500, 9_999));
        assert_eq!(parse("bytes=9999-20000", 10_000), part(9_999, 9_999));
        assert_eq!(parse("bytes=10000-", 10_000), Wanted::Unsatisfiable);
        assert_eq!(parse("bytes=-0", 10_000), Wanted::Unsatisfiable);
        assert_eq!(parse("bytes=5-2", 10_000), Wanted::Whole);
        assert_eq!(parse("lines=1-2", 10_000), Wanted::Whole);
        assert_eq!(parse("bytes=0-1,3-4", 10_000), Wanted::Whole);
    }
}
