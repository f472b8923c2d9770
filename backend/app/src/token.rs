//! Secrets handed out: session cookies and single-use links.

use std::fmt;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};

/// 32 random bytes, written as 43 characters that are safe in a cookie and in an address. Only its hash is stored.
pub struct Token([u8; 32]);

impl Token {
    /// A new one from the system's randomness.
    #[must_use]
    pub fn random() -> Self {
        Self(rand::random())
    }

    /// What the tables keep of it.
    #[must_use]
    pub fn hash(&self) -> [u8; 32] {
        hash_of(&self.to_string())
    }
}

/// What the tables keep of a token that somebody presents.
#[must_use]
pub fn hash_of(presented: &str) -> [u8; 32] {
    Sha256::digest(presented.as_bytes()).into()
}

impl fmt::Display for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&URL_SAFE_NO_PAD.encode(self.0))
    }
}
