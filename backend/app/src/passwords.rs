//! Passwords: argon2id (RFC 9106) under the configured parameters, on a bounded number of threads.

use std::sync::Arc;

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use tokio::sync::Semaphore;

use crate::config::PasswordConfig;

/// Length of a hash, bytes.
const HASH_BYTES: usize = 32;

/// Why a password could not be hashed or checked.
#[derive(Debug, thiserror::Error)]
pub enum PasswordError {
    /// The parameters are not argon2's.
    #[error("argon2 refuses the configured parameters: {0}")]
    Parameters(argon2::Error),
    /// Hashing failed.
    #[error("a password could not be hashed: {0}")]
    Hash(argon2::password_hash::Error),
    /// The thread that computed it is gone.
    #[error("the computation was cut off")]
    CutOff,
}

/// Whether a password was the right one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It is.
    Right,
    /// It is, and its hash was made under other parameters: hash it anew.
    RightButStale,
    /// It is not, or there is no such account.
    Wrong,
}

/// Hashes and checks passwords; further callers wait while all places are taken.
#[derive(Clone)]
pub struct Passwords {
    params: Params,
    places: Arc<Semaphore>,
    /// What is checked for an account that does not exist, so that the time taken tells nothing.
    nobody: Arc<str>,
}

impl Passwords {
    /// Under these parameters.
    ///
    /// # Errors
    /// If argon2 refuses them.
    pub fn new(config: &PasswordConfig) -> Result<Self, PasswordError> {
        let params = Params::new(
            config.memory_kib,
            config.passes,
            config.lanes,
            Some(HASH_BYTES),
        )
        .map_err(PasswordError::Parameters)?;
        let nobody = hash(&params, "nobody's password")?;
        Ok(Self {
            params,
            places: Arc::new(Semaphore::new(config.at_once)),
            nobody: nobody.into(),
        })
    }

    /// The hash of a new password, in PHC form, with a salt of its own.
    ///
    /// # Errors
    /// If hashing fails.
    pub async fn hash(&self, password: &str) -> Result<String, PasswordError> {
        let (params, password) = (self.params.clone(), password.to_owned());
        self.aside(move || hash(&params, &password)).await?
    }

    /// Checks a password against the hash that is kept; takes as long without one.
    ///
    /// # Errors
    /// If the computation was cut off.
    pub async fn verify(
        &self,
        password: &str,
        kept: Option<&str>,
    ) -> Result<Verdict, PasswordError> {
        let known = kept.is_some();
        let kept = kept.unwrap_or(&self.nobody).to_owned();
        let (params, password) = (self.params.clone(), password.to_owned());
        self.aside(move || match verify(&params, &password, &kept) {
            verdict if known => verdict,
            _ => Verdict::Wrong,
        })
        .await
    }

    async fn aside<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, PasswordError> {
        let place = Arc::clone(&self.places)
            .acquire_owned()
            .await
            .map_err(|_| PasswordError::CutOff)?;
        // The place is given back when the work has ended, even if nobody waits for it any more.
        tokio::task::spawn_blocking(move || {
            let value = work();
            drop(place);
            value
        })
        .await
        .map_err(|_| PasswordError::CutOff)
    }
}

fn hasher(params: &Params) -> Argon2<'static> {
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params.clone())
}

fn hash(params: &Params, password: &str) -> Result<String, PasswordError> {
    hasher(params)
        .hash_password(password.as_bytes())
        .map(|hash| hash.to_string())
        .map_err(PasswordError::Hash)
}

/// The kept hash says itself under which parameters it was made.
fn verify(params: &Params, password: &str, kept: &str) -> Verdict {
    let Ok(kept) = PasswordHash::new(kept) else {
        return Verdict::Wrong;
    };
    if hasher(params)
        .verify_password(password.as_bytes(), &kept)
        .is_err()
    {
        return Verdict::Wrong;
    }
    let same = kept.algorithm.as_str() == Algorithm::Argon2id.as_str()
        && Params::try_from(&kept).is_ok_and(|made| {
            (made.m_cost(), made.t_cost(), made.p_cost())
                == (params.m_cost(), params.t_cost(), params.p_cost())
        });
    if same {
        Verdict::Right
    } else {
        Verdict::RightButStale
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cheap(passes: u32) -> Passwords {
        Passwords::new(&PasswordConfig {
            memory_kib: 8,
            passes,
            lanes: 1,
            at_once: 2,
        })
        .unwrap()
    }

    /// RFC 9106, section 5.3: the test vector of Argon2id.
    #[test]
    fn argon2id_gives_the_tag_of_rfc_9106() {
        let params = argon2::ParamsBuilder::new()
            .m_cost(32)
            .t_cost(3)
            .p_cost(4)
            .output_len(32)
            .data(argon2::AssociatedData::new(&[4; 12]).unwrap())
            .build()
            .unwrap();
        let argon =
            Argon2::new_with_secret(&[3; 8], Algorithm::Argon2id, Version::V0x13, params).unwrap();
        let mut tag = [0; 32];
        argon
            .hash_password_into(&[1; 32], &[2; 16], &mut tag)
            .unwrap();
        assert_eq!(
            tag,
            [
                0x0d, 0x64, 0x0d, 0xf5, 0x8d, 0x78, 0x76, 0x6c, 0x08, 0xc0, 0x37, 0xa3, 0x4a, 0x8b,
                0x53, 0xc9, 0xd0, 0x1e, 0xf0, 0x45, 0x2d, 0x75, 0xb6, 0x5e, 0xb5, 0x25, 0x20, 0xe9,
                0x6b, 0x01, 0xe6, 0x59
            ]
        );
    }

    #[tokio::test]
    async fn a_password_is_known_again_and_another_is_not() {
        let passwords = cheap(1);
        let kept = passwords.hash("walk before you run").await.unwrap();
        assert!(kept.starts_with("$argon2id$v=19$m=8,t=1,p=1$"), "{kept}");
        let check = async |password, kept| passwords.verify(password, kept).await.unwrap();
        assert_eq!(
            check("walk before you run", Some(&*kept)).await,
            Verdict::Right
        );
        assert_eq!(
            check("walk before you ran", Some(&*kept)).await,
            Verdict::Wrong
        );
        assert_eq!(
            check("walk before you run", Some("rubbish")).await,
            Verdict::Wrong
        );
        assert_eq!(check("nobody's password", None).await, Verdict::Wrong);
    }

    #[tokio::test]
    async fn a_hash_of_other_parameters_is_right_but_stale() {
        let kept = cheap(1).hash("walk before you run").await.unwrap();
        let verdict = cheap(2).verify("walk before you run", Some(&kept)).await;
        assert_eq!(verdict.unwrap(), Verdict::RightButStale);
    }
}
