//! The closed set of problems a request can end in.

macro_rules! problems {
    ($($(#[$doc:meta])* $variant:ident = $code:tt, $status:literal, $title:literal;)+) => {
        /// Why a request was not answered; published in the API's description, so that a client can switch over all of them.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
        #[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
        pub enum ProblemCode { $($(#[$doc])* #[serde(rename = $code)] $variant),+ }

        impl ProblemCode {
            /// All of them.
            pub const ALL: &'static [ProblemCode] = &[$(ProblemCode::$variant),+];
            /// The code as it is written.
            pub fn as_str(self) -> &'static str { match self { $(ProblemCode::$variant => $code),+ } }
            /// The HTTP status it goes with.
            pub fn status(self) -> u16 { match self { $(ProblemCode::$variant => $status),+ } }
            /// What happened, in a few words that do not depend on the case.
            pub fn title(self) -> &'static str { match self { $(ProblemCode::$variant => $title),+ } }
        }
    };
}

problems! {
    /// A field is wrong.
    InvalidInput = "invalid-input", 422, "Something in the request needs another look";
    /// Nobody is signed in.
    SignInRequired = "sign-in-required", 401, "Please sign in";
    /// Address or password do not match.
    SignInRefused = "sign-in-refused", 401, "This address and password do not belong together";
    /// Throttled.
    TooManyAttempts = "too-many-attempts", 429, "Too many attempts";
    /// Signed in, but not for this.
    NotAllowed = "not-allowed", 403, "This is not yours to do";
    /// It does not exist, for this person.
    NotFound = "not-found", 404, "There is nothing here";
    /// A single-use link was used or has expired.
    LinkSpent = "link-spent", 410, "This link has been used or has expired";
    /// The request did not come from our own pages.
    RequestForged = "request-forged", 403, "The request did not come from this site";
    /// Somebody else changed it in between.
    Stale = "stale", 409, "It was changed in the meantime";
    /// No submission left.
    QuotaSpent = "quota-spent", 409, "No submissions left";
    /// The enrolment has not begun.
    NotStarted = "not-started", 409, "This enrolment has not begun yet";
    /// The same idempotency key with another request.
    KeyReused = "key-reused", 422, "This key was used for another request";
    /// The mentor has opened it.
    AlreadyOpened = "already-opened", 409, "Your mentor has opened it already";
    /// The critique has gone out.
    AlreadyReleased = "already-released", 409, "The critique has been released";
    /// The critique has not gone out.
    NotReleased = "not-released", 409, "The critique has not been released";
    /// Footage is still being prepared.
    NotReady = "not-ready", 409, "The footage is still being prepared";
    /// The file cannot be used.
    FootageRefused = "footage-refused", 422, "This file cannot be used";
    /// It exists already.
    Duplicate = "duplicate", 409, "It exists already";
    /// Over a stated limit.
    TooLarge = "too-large", 413, "Larger than the limit";
    /// The state does not allow it.
    Conflict = "conflict", 409, "This cannot be done now";
    /// A part we need does not answer.
    Unavailable = "unavailable", 503, "A part of the service does not answer";
    /// Our fault.
    Internal = "internal", 500, "Something went wrong on our side";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_and_statuses_are_errors() {
        let mut codes: Vec<_> = ProblemCode::ALL.iter().map(|c| c.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), ProblemCode::ALL.len());
        assert!(
            ProblemCode::ALL
                .iter()
                .all(|c| (400..600).contains(&c.status()))
        );
    }
}
