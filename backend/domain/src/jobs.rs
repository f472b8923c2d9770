//! What a job is asked to do: written by a request, read by a worker.

use crate::{CritiqueId, FootageId, MailId, UploadId};

/// The work of one job; `kind` in the table is the variant's name.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Payload {
    /// Look at a file that has arrived whole.
    Probe {
        /// The upload.
        upload: UploadId,
    },
    /// Make the frame table, the review copies and the strip.
    Prepare {
        /// The footage.
        footage: FootageId,
    },
    /// Hand one mail of the outbox to the post.
    SendMail {
        /// The mail.
        mail: MailId,
    },
    /// Write the mail that tells the student of a critique whose two minutes have passed.
    AnnounceCritique {
        /// The critique.
        critique: CritiqueId,
    },
}

impl Payload {
    /// Every kind, as it is written in the table.
    pub const KINDS: &'static [&'static str] =
        &["probe", "prepare", "send-mail", "announce-critique"];

    /// Those that are about a file on the machine which received it; that machine alone can do them.
    pub const KINDS_OF_ARRIVAL: &'static [&'static str] = &["probe"];

    /// Those that any machine can do.
    pub const KINDS_OF_ANYWHERE: &'static [&'static str] =
        &["prepare", "send-mail", "announce-critique"];

    /// The kind as it is written in the table.
    pub fn kind(&self) -> &'static str {
        match self {
            Payload::Probe { .. } => "probe",
            Payload::Prepare { .. } => "prepare",
            Payload::SendMail { .. } => "send-mail",
            Payload::AnnounceCritique { .. } => "announce-critique",
        }
    }

    /// The key under which a second job of the same kind about the same thing is the same job.
    pub fn key(&self) -> String {
        match self {
            Payload::Probe { upload } => upload.to_string(),
            Payload::Prepare { footage } => footage.to_string(),
            Payload::SendMail { mail } => mail.to_string(),
            Payload::AnnounceCritique { critique } => critique.to_string(),
        }
    }

    /// How often it is tried before it has failed for good.
    pub fn max_attempts(&self) -> i32 {
        match self {
            Payload::Probe { .. } => 8,
            Payload::Prepare { .. } => 6,
            Payload::SendMail { .. } => 12,
            Payload::AnnounceCritique { .. } => 20,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kind_in_the_table_is_the_kind_in_the_payload() {
        let id = uuid::Uuid::nil();
        let all = [
            Payload::Probe { upload: id.into() },
            Payload::Prepare { footage: id.into() },
            Payload::SendMail { mail: id.into() },
            Payload::AnnounceCritique {
                critique: id.into(),
            },
        ];
        assert_eq!(all.each_ref().map(|p| p.kind()), Payload::KINDS);
        let parts = [Payload::KINDS_OF_ARRIVAL, Payload::KINDS_OF_ANYWHERE];
        assert_eq!(parts.concat(), Payload::KINDS);
        for payload in all {
            assert_eq!(
                serde_json::to_value(&payload).unwrap()["kind"],
                payload.kind()
            );
        }
    }
}
