//! Requests as a person, and what came back.

use std::fmt;

use reqwest::Method;
use reqwest::header::{HeaderMap, HeaderName, HeaderValue};
use serde_json::Value;

/// Someone who sends requests: nobody in particular until there is a cookie.
#[derive(Debug, Clone)]
pub struct Client {
    http: reqwest::Client,
    /// Where the program answers, as in `http://127.0.0.1:4711`.
    pub address: String,
    /// `name=value` of the session, if signed in.
    pub cookie: Option<String>,
}

/// What came back.
pub struct Answer {
    /// What was asked, for messages.
    pub asked: String,
    /// The status code.
    pub status: u16,
    /// The headers.
    pub headers: HeaderMap,
    /// The body as it came.
    pub body: Vec<u8>,
}

impl Client {
    /// Nobody in particular.
    pub fn anonymous(address: &str) -> Self {
        // Another test may have been first.
        drop(rustls::crypto::ring::default_provider().install_default());
        Self {
            http: reqwest::Client::builder()
                .redirect(reqwest::redirect::Policy::none())
                // Without TLS nobody needs the system's certificates, which take long to read.
                .tls_certs_only([])
                // Sooner than the server, which ends a connection that is idle for five seconds.
                .pool_idle_timeout(std::time::Duration::from_secs(2))
                .build()
                .expect("a client"),
            address: address.to_owned(),
            cookie: None,
        }
    }

    /// The same with a session.
    pub fn with_cookie(&self, cookie: String) -> Self {
        Self {
            cookie: Some(cookie),
            ..self.clone()
        }
    }

    /// The same at another address.
    pub fn moved_to(&self, address: &str) -> Self {
        Self {
            address: address.to_owned(),
            ..self.clone()
        }
    }

    /// A request that can still be changed before it is sent; it carries the session and the header that
    /// tells requests of our own pages from forged ones.
    pub fn request(&self, method: Method, path: &str) -> Request {
        let mut builder = self
            .http
            .request(method.clone(), format!("{}{path}", self.address))
            .header("refrain-request", "1");
        if let Some(cookie) = &self.cookie {
            builder = builder.header("cookie", cookie);
        }
        Request {
            asked: format!("{method} {path}"),
            builder,
        }
    }

    /// Reads.
    pub async fn get(&self, path: &str) -> Answer {
        self.request(Method::GET, path).send().await
    }

    /// Posts JSON.
    pub async fn post(&self, path: &str, body: &Value) -> Answer {
        self.request(Method::POST, path).json(body).send().await
    }

    /// Puts JSON.
    pub async fn put(&self, path: &str, body: &Value) -> Answer {
        self.request(Method::PUT, path).json(body).send().await
    }

    /// Patches with JSON.
    pub async fn patch(&self, path: &str, body: &Value) -> Answer {
        self.request(Method::PATCH, path).json(body).send().await
    }

    /// Deletes.
    pub async fn delete(&self, path: &str) -> Answer {
        self.request(Method::DELETE, path).send().await
    }
}

/// A request on its way.
pub struct Request {
    asked: String,
    builder: reqwest::RequestBuilder,
}

impl Request {
    /// Adds a header.
    pub fn header(mut self, name: &str, value: &str) -> Self {
        let name: HeaderName = name.parse().expect("a header's name");
        let value = HeaderValue::from_str(value).expect("a header's value");
        self.builder = self.builder.header(name, value);
        self
    }

    /// With a JSON body.
    pub fn json(mut self, body: &Value) -> Self {
        self.builder = self.builder.json(body);
        self
    }

    /// With any body.
    pub fn body(mut self, media_type: &str, body: impl Into<reqwest::Body>) -> Self {
        self.builder = self.builder.header("content-type", media_type).body(body);
        self
    }

    /// Sends it and reads the whole answer.
    ///
    /// # Panics
    /// If the program does not answer.
    pub async fn send(self) -> Answer {
        let asked = self.asked.clone();
        self.try_send()
            .await
            .unwrap_or_else(|e| panic!("{asked}: {e:?}"))
    }

    /// Sends it; an error is one of the connection.
    pub async fn try_send(self) -> Result<Answer, reqwest::Error> {
        let response = self.builder.send().await?;
        Ok(Answer {
            asked: self.asked,
            status: response.status().as_u16(),
            headers: response.headers().clone(),
            body: response.bytes().await?.to_vec(),
        })
    }
}

impl Answer {
    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{self}: not JSON: {e}"))
    }

    /// The body as text.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// A header's value.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name)?.to_str().ok()
    }

    /// Fails the test unless the status is that one; gives the body as JSON, or null if there is none.
    #[track_caller]
    pub fn expect(&self, status: u16) -> Value {
        assert_eq!(self.status, status, "{self}");
        if self.body.is_empty() {
            Value::Null
        } else {
            self.json()
        }
    }

    /// Fails the test unless it is a problem (RFC 9457) of that status and code; gives it.
    #[track_caller]
    pub fn expect_problem(&self, status: u16, code: &str) -> Value {
        let problem = self.expect(status);
        assert_eq!(
            self.header("content-type"),
            Some("application/problem+json"),
            "{self}"
        );
        assert_eq!(problem["code"], code, "{self}");
        assert_eq!(problem["status"], status, "{self}");
        problem
    }

    /// The `name=value` of the cookie that was set.
    #[track_caller]
    pub fn cookie(&self) -> String {
        let set = self
            .header("set-cookie")
            .unwrap_or_else(|| panic!("{self}: no cookie was set"));
        set.split(';').next().unwrap_or_default().to_owned()
    }
}

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let body = self.text();
        let shown: String = body.chars().take(2_000).collect();
        write!(f, "{} -> {}: {shown}", self.asked, self.status)
    }
}
