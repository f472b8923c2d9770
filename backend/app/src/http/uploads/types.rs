//! What a page is told of an upload.

use chrono::{DateTime, Utc};
use domain::{FootageId, UploadId, UploadState};
use serde::Serialize;
use utoipa::ToSchema;

use crate::http::problem::ProblemBody;

/// An upload and where it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct Upload {
    /// Its id.
    pub id: UploadId,
    /// The name the file had.
    pub filename: String,
    /// Its length, bytes.
    pub length: i64,
    /// How much has arrived.
    pub received: i64,
    /// Where it stands.
    pub state: UploadState,
    /// Why it was refused.
    #[schema(required)]
    pub problem: Option<ProblemBody>,
    /// What was made of it.
    #[schema(required)]
    pub footage_id: Option<FootageId>,
    /// When it is thrown away unless it arrives whole.
    pub expires_at: DateTime<Utc>,
}

impl From<store::uploads::Upload> for Upload {
    fn from(row: store::uploads::Upload) -> Self {
        Self {
            id: row.id,
            filename: row.filename,
            length: row.length,
            received: row.received,
            state: row.state,
            problem: row
                .problem
                .and_then(|kept| serde_json::from_value(kept).ok()),
            footage_id: row.footage_id,
            expires_at: row.expires_at,
        }
    }
}
