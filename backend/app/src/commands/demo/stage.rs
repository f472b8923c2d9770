//! Real requests at past times: a second server of this process, on a closed socket, whose clock the loader
//! moves. No other request can move a clock.

use chrono::{DateTime, Utc};
use reqwest::{Method, StatusCode};
use serde_json::Value;
use tokio::sync::Mutex;

use super::DemoError;

/// A server and its clock. One request at a time, so that each is answered at its own time.
pub(super) struct Stage {
    http: reqwest::Client,
    address: String,
    clock: Mutex<crate::clock::Hand>,
}

/// Someone who is signed in.
#[derive(Debug, Clone)]
pub(super) struct Voice {
    pub name: String,
    cookie: Option<String>,
}

impl Voice {
    /// Nobody yet.
    pub fn stranger() -> Self {
        Self {
            name: "a stranger".into(),
            cookie: None,
        }
    }
}

/// A request to be.
pub(super) struct Line<'a> {
    pub at: DateTime<Utc>,
    pub who: &'a Voice,
    pub method: Method,
    pub path: String,
    pub headers: Vec<(&'static str, String)>,
    pub body: Body,
}

/// What a request carries.
pub(super) enum Body {
    Nothing,
    Json(Value),
    Bytes(Vec<u8>),
}

/// What came back.
pub(super) struct Reply {
    pub status: StatusCode,
    pub location: Option<String>,
    pub cookie: Option<String>,
    pub json: Value,
}

impl Stage {
    pub fn new(http: reqwest::Client, address: String, clock: crate::clock::Hand) -> Self {
        Self {
            http,
            address,
            clock: Mutex::new(clock),
        }
    }

    /// Sends a request at its time.
    pub async fn send(&self, line: Line<'_>) -> Result<Reply, DemoError> {
        let clock = self.clock.lock().await;
        clock.set(line.at);
        let mut request = self
            .http
            .request(
                line.method.clone(),
                format!("{}{}", self.address, line.path),
            )
            .header("refrain-request", "1");
        for (name, value) in &line.headers {
            request = request.header(*name, value);
        }
        if let Some(cookie) = &line.who.cookie {
            request = request.header("cookie", cookie);
        }
        request = match line.body {
            Body::Nothing => request,
            Body::Json(value) => request.json(&value),
            Body::Bytes(bytes) => request.body(bytes),
        };
        let response = request.send().await?;
        let header = |name: &str| {
            let value = response.headers().get(name)?.to_str().ok()?;
            Some(value.to_owned())
        };
        let (status, location) = (response.status(), header("location"));
        let cookie = header("set-cookie").and_then(|c| c.split(';').next().map(str::to_owned));
        let bytes = response.bytes().await?;
        Ok(Reply {
            status,
            location,
            cookie,
            json: serde_json::from_slice(&bytes).unwrap_or(Value::Null),
        })
    }

    /// Sends JSON and expects success.
    pub async fn ask(
        &self,
        who: &Voice,
        at: DateTime<Utc>,
        method: Method,
        path: impl Into<String>,
        body: Option<Value>,
    ) -> Result<Value, DemoError> {
        let path = path.into();
        let line = Line {
            at,
            who,
            method: method.clone(),
            path: path.clone(),
            headers: vec![],
            body: body.map_or(Body::Nothing, Body::Json),
        };
        let reply = self.send(line).await?;
        reply.accepted(who, &method, &path)
    }

    /// The first item of a list for which `is_it` holds, over all its pages.
    pub async fn find(
        &self,
        who: &Voice,
        at: DateTime<Utc>,
        path: &str,
        is_it: impl Fn(&Value) -> bool,
    ) -> Result<Option<Value>, DemoError> {
        let mut cursor: Option<String> = None;
        loop {
            let joint = if path.contains('?') { '&' } else { '?' };
            let next = cursor.map_or_else(String::new, |c| format!("&cursor={c}"));
            let page = self
                .ask(
                    who,
                    at,
                    Method::GET,
                    format!("{path}{joint}limit=100{next}"),
                    None,
                )
                .await?;
            let items = page["items"].as_array().map_or(&[][..], Vec::as_slice);
            if let Some(found) = items.iter().find(|i| is_it(i)) {
                return Ok(Some(found.clone()));
            }
            match page["next_cursor"].as_str() {
                Some(c) => cursor = Some(c.to_owned()),
                None => return Ok(None),
            }
        }
    }

    /// Chooses a password through a link and comes in.
    pub async fn enter(
        &self,
        name: &str,
        at: DateTime<Utc>,
        token: &str,
        password: &str,
    ) -> Result<Voice, DemoError> {
        let path = format!("/api/v1/access-links/{token}");
        let stranger = Voice::stranger();
        let line = Line {
            at,
            who: &stranger,
            method: Method::POST,
            path: path.clone(),
            headers: vec![],
            body: Body::Json(serde_json::json!({ "password": password })),
        };
        let reply = self.send(line).await?;
        let cookie = reply.cookie.clone();
        // The token is left out of what may be shown.
        reply.accepted(&stranger, &Method::POST, "/api/v1/access-links/...")?;
        Ok(Voice {
            name: name.to_owned(),
            cookie,
        })
    }
}

impl Reply {
    pub fn accepted(self, who: &Voice, method: &Method, path: &str) -> Result<Value, DemoError> {
        if self.status.is_success() {
            Ok(self.json)
        } else {
            Err(DemoError::Refused {
                what: format!("{method} {path} as {}", who.name),
                status: self.status.as_u16(),
                answer: self.json.to_string(),
            })
        }
    }
}

/// A text field of an answer.
pub(super) fn text<'a>(value: &'a Value, field: &str) -> Result<&'a str, DemoError> {
    value[field]
        .as_str()
        .ok_or_else(|| DemoError::Answer(format!("no {field} in {value}")))
}
