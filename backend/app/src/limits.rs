//! How often something may be tried: signing in by account and by address, mails that anybody can set off by account.

use std::net::{IpAddr, Ipv6Addr};
use std::num::NonZeroU32;
use std::time::Duration;

use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};

/// Attempts at one account: a burst, then one in so many seconds. (Common practice, no source.)
const ACCOUNT: (NonZeroU32, Duration) = (burst(20), Duration::from_secs(15));
/// Attempts from one address, where a whole school may sit behind one.
const ADDRESS: (NonZeroU32, Duration) = (burst(120), Duration::from_secs(1));
/// Mails to one account that anybody may ask for.
const MAILS: (NonZeroU32, Duration) = (burst(3), Duration::from_secs(300));

const fn burst(n: u32) -> NonZeroU32 {
    match NonZeroU32::new(n) {
        Some(n) => n,
        None => NonZeroU32::MIN,
    }
}

/// Too many attempts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooMany {
    /// When the next one is allowed, in seconds.
    pub wait_s: u64,
}

/// Counts attempts.
pub struct Limits {
    clock: DefaultClock,
    accounts: DefaultKeyedRateLimiter<String>,
    addresses: DefaultKeyedRateLimiter<IpAddr>,
    mails: DefaultKeyedRateLimiter<String>,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            clock: DefaultClock::default(),
            accounts: RateLimiter::keyed(quota(ACCOUNT)),
            addresses: RateLimiter::keyed(quota(ADDRESS)),
            mails: RateLimiter::keyed(quota(MAILS)),
        }
    }
}

impl Limits {
    /// One attempt at an account, which need not exist.
    ///
    /// # Errors
    /// If there were too many.
    pub fn account(&self, school: &str, email: &str) -> Result<(), TooMany> {
        self.check(&self.accounts, &key(school, email))
    }

    /// One attempt from an address; none: the request came over no network.
    ///
    /// # Errors
    /// If there were too many.
    pub fn address(&self, address: Option<IpAddr>) -> Result<(), TooMany> {
        address.map_or(Ok(()), |address| {
            self.check(&self.addresses, &network_of(address))
        })
    }

    /// One mail to an account, which need not exist.
    ///
    /// # Errors
    /// If there were too many.
    pub fn mail(&self, school: &str, email: &str) -> Result<(), TooMany> {
        self.check(&self.mails, &key(school, email))
    }

    /// Forgets those who have been quiet long enough to begin anew.
    pub fn forget_the_quiet(&self) {
        self.accounts.retain_recent();
        self.accounts.shrink_to_fit();
        self.addresses.retain_recent();
        self.addresses.shrink_to_fit();
        self.mails.retain_recent();
        self.mails.shrink_to_fit();
    }

    fn check<K: std::hash::Hash + Eq + Clone>(
        &self,
        limiter: &DefaultKeyedRateLimiter<K>,
        key: &K,
    ) -> Result<(), TooMany> {
        limiter.check_key(key).map_err(|not_until| {
            let wait = not_until.wait_time_from(self.clock.now());
            TooMany {
                wait_s: wait.as_secs() + 1,
            }
        })
    }
}

fn quota((burst, every): (NonZeroU32, Duration)) -> Quota {
    Quota::with_period(every)
        .unwrap_or(Quota::per_minute(burst))
        .allow_burst(burst)
}

fn key(school: &str, email: &str) -> String {
    format!("{school}/{}", email.to_lowercase())
}

/// One customer has a whole /64 of IPv6 addresses (RFC 6177).
fn network_of(address: IpAddr) -> IpAddr {
    match address {
        IpAddr::V4(_) => address,
        IpAddr::V6(v6) => Ipv6Addr::from_bits(v6.to_bits() & (u128::MAX << 64)).into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_burst_is_let_through_and_then_one_has_to_wait() {
        let limits = Limits::default();
        let n = ACCOUNT.0.get();
        assert!((0..n).all(|_| limits.account("yard", "A@b.example").is_ok()));
        let TooMany { wait_s } = limits.account("yard", "a@b.example").unwrap_err();
        assert!((1..=ACCOUNT.1.as_secs() + 1).contains(&wait_s));
        assert_eq!(limits.account("other", "a@b.example"), Ok(()));
    }

    #[test]
    fn addresses_of_one_network_count_together() {
        let near = |text: &str| network_of(text.parse().unwrap());
        assert_eq!(near("2001:db8:1:2::1"), near("2001:db8:1:2:ffff::9"));
        assert_ne!(near("2001:db8:1:2::1"), near("2001:db8:1:3::1"));
        assert_ne!(near("192.0.2.1"), near("192.0.2.2"));
    }
}
