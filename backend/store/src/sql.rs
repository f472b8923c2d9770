//! Small pieces that queries share.

use diesel::sql_types::BigInt;

/// One number of a `statement`, selected `AS n`.
#[derive(diesel::QueryableByName)]
pub(crate) struct Number {
    /// The number.
    #[diesel(sql_type = BigInt)]
    pub n: i64,
}
