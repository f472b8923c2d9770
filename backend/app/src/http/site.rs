//! The pages, held in the binary.

use std::collections::BTreeSet;

use actix_web::http::header::HeaderValue;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, ResponseError};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

use super::problem::Problem;

#[derive(RustEmbed)]
#[folder = "../../frontend/build/"]
#[allow_missing = true]
struct Files;

/// The start page with the policy that admits its inline script and the style attributes of its markup by hash, and nothing else
/// inline (Content Security Policy Level 3, `unsafe-hashes`).
pub struct Site {
    policy: HeaderValue,
}

impl Default for Site {
    fn default() -> Self {
        let page = Files::get("index.html")
            .map(|file| String::from_utf8_lossy(&file.data).into_owned())
            .unwrap_or_default();
        let scripts = hashes(inline_scripts(&page));
        let code: Vec<String> = Files::iter()
            .filter(|name| name.ends_with(".js"))
            .filter_map(|name| Files::get(&name))
            .map(|file| String::from_utf8_lossy(&file.data).into_owned())
            .collect();
        let styles: BTreeSet<&str> = code
            .iter()
            .flat_map(|code| style_attributes(code))
            .collect();
        let styles = match hashes(styles.into_iter()) {
            none if none.is_empty() => " 'none'".to_owned(),
            some => format!(" 'unsafe-hashes'{some}"),
        };
        let policy = format!(
            "default-src 'none'; script-src 'self'{scripts}; style-src 'self'; style-src-attr{styles}; img-src 'self' blob: data:; \
             media-src 'self' blob:; font-src 'self'; connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; base-uri 'none'; \
             form-action 'self'; frame-ancestors 'none'"
        );
        Self {
            policy: HeaderValue::from_str(&policy)
                .unwrap_or_else(|_| HeaderValue::from_static("default-src 'none'")),
        }
    }
}

impl Site {
    /// The value of `Content-Security-Policy`.
    #[must_use]
    pub fn content_policy(&self) -> &HeaderValue {
        &self.policy
    }
}

/// The sources that admit these texts.
fn hashes<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    texts
        .map(|text| {
            let hash = STANDARD.encode(Sha256::digest(text.as_bytes()));
            format!(" 'sha256-{hash}'")
        })
        .collect()
}

/// The style attributes of markup within the pages' code. Those that are put together as the page runs are set otherwise, which no
/// policy asks about.
fn style_attributes(code: &str) -> impl Iterator<Item = &str> {
    code.split(" style=\"")
        .skip(1)
        .filter_map(|rest| Some(rest.split_once('"')?.0))
        .filter(|style| !style.contains("${"))
}

/// The texts between `<script>` and `</script>` of scripts without a source.
fn inline_scripts(page: &str) -> impl Iterator<Item = &str> {
    page.split("<script").skip(1).filter_map(|rest| {
        let (attributes, body) = rest.split_once('>')?;
        let (script, _) = body.split_once("</script>")?;
        (!attributes.contains("src=")).then_some(script)
    })
}

/// A file of the pages; every other address below no API is the start page, which finds the way itself.
pub async fn serve(request: HttpRequest, _site: Data<Site>) -> HttpResponse {
    let path = request.path().trim_start_matches('/');
    if path.starts_with("api/") || !request.method().is_safe() {
        return Problem::not_found().error_response();
    }
    let hit = Files::get(path).filter(|_| !path.is_empty() && path != "index.html");
    if hit.is_none() && path.contains("_app/") {
        return HttpResponse::NotFound().finish();
    }
    let forever = hit.is_some() && path.starts_with("_app/immutable/");
    let name = if hit.is_some() { path } else { "index.html" };
    let Some(file) = hit.or_else(|| Files::get("index.html")) else {
        return HttpResponse::ServiceUnavailable()
            .content_type("text/plain; charset=utf-8")
            .body("The pages were not built into this program: run ops/demo, or `npm run build` in frontend and build again.\n");
    };
    let tag = format!(
        "\"{}\"",
        STANDARD.encode(&file.metadata.sha256_hash()[..12])
    );
    let known = request
        .headers()
        .get("if-none-match")
        .is_some_and(|value| value.as_bytes() == tag.as_bytes());
    let mut answer = if known {
        HttpResponse::NotModified()
    } else {
        HttpResponse::Ok()
    };
    answer.insert_header(("ETag", tag)).insert_header((
        "Cache-Control",
        if forever {
            "public, max-age=31536000, immutable"
        } else {
            "no-cache"
        },
    ));
    if known {
        return answer.finish();
    }
    answer.content_type(mime(name)).body(file.data.into_owned())
}

fn mime(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("html") => "text/html; charset=utf-8",
        Some("js" | "mjs") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("json" | "map") => "application/json",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("woff2") => "font/woff2",
        Some("woff") => "font/woff",
        Some("txt") => "text/plain; charset=utf-8",
        Some("wasm") => "application/wasm",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_scripts_without_a_source_are_inline() {
        let page =
            "<script src=\"a.js\"></script><script>\n go() </script><script type=module>b</script>";
        assert_eq!(inline_scripts(page).collect::<Vec<_>>(), ["\n go() ", "b"]);
    }

    #[test]
    fn style_attributes_are_those_that_stand_in_markup() {
        let code = "a(`<div style=\"left: 0\"> <i style=\"top: ${x}\"></i>`); b(`<p class=\"c\" style=\"clip: x\">`)";
        assert_eq!(
            style_attributes(code).collect::<Vec<_>>(),
            ["left: 0", "clip: x"]
        );
    }
}
