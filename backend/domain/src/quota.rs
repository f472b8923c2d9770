//! How an enrolment's submissions stand, as the ledger tells it.

/// One submission of the quota, in the order of sending; those still to be sent come last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Peg {
    /// Sent, and it counts.
    Sent,
    /// Sent, and given back.
    Returned,
    /// Not sent yet.
    Open,
}

/// The standing of a quota.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Quota {
    /// Granted in all, less what was taken back.
    pub granted: i64,
    /// Sent, those given back included.
    pub sent: i64,
    /// Given back.
    pub returned: i64,
    /// Still to be sent.
    pub left: i64,
    /// Sent, and no critique of it is released yet.
    pub waiting: i64,
    /// One by one.
    pub pegs: Vec<Peg>,
}

impl Quota {
    /// From what was granted and the submissions in the order of sending, each with whether it was given back.
    #[must_use]
    pub fn new(granted: i64, given_back: &[bool], waiting: i64) -> Quota {
        let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
        let sent = count(given_back.len());
        let returned = count(given_back.iter().filter(|back| **back).count());
        let left = (granted - sent + returned).max(0);
        let pegs = given_back
            .iter()
            .map(|back| if *back { Peg::Returned } else { Peg::Sent })
            .chain((0..left).map(|_| Peg::Open))
            .collect();
        Quota {
            granted,
            sent,
            returned,
            left,
            waiting,
            pegs,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ten_sent_and_one_given_back_of_sixteen_leave_seven() {
        let mut sent = vec![false; 10];
        sent[3] = true;
        let quota = Quota::new(16, &sent, 1);
        assert_eq!((quota.sent, quota.returned, quota.left), (10, 1, 7));
        assert_eq!(quota.pegs.len(), 17);
        assert_eq!(quota.pegs[3], Peg::Returned);
    }

    proptest! {
        #[test]
        fn every_submission_is_one_peg(granted in 0..40i64, sent in prop::collection::vec(any::<bool>(), 0..30)) {
            let counted = sent.iter().filter(|back| !**back).count() as i64;
            prop_assume!(counted <= granted);
            let quota = Quota::new(granted, &sent, 0);
            let of = |peg| quota.pegs.iter().filter(|p| **p == peg).count() as i64;
            prop_assert_eq!(of(Peg::Sent) + of(Peg::Open), granted);
            prop_assert_eq!(of(Peg::Returned), quota.returned);
            prop_assert_eq!(of(Peg::Open), quota.left);
        }
    }
}
