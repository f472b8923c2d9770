//! The bytes of a mail: plain text and HTML of the same words, under a Message-ID made from what it is about.

use lettre::Message;
use lettre::message::header::{ContentType, Date};
use lettre::message::{Mailbox, MultiPart, SinglePart};
use std::time::{Duration, UNIX_EPOCH};

use super::Letter;

/// Why a letter cannot be written down.
#[derive(Debug, thiserror::Error)]
pub enum ComposeError {
    /// Sender or recipient is no address.
    #[error("\"{0}\" is not an e-mail address")]
    Address(String),
    /// The parts do not make a mail.
    #[error("the mail could not be put together: {0}")]
    Parts(#[from] lettre::error::Error),
}

/// `<kind.about@host>`: the same letter has the same id, however often it is written.
pub(super) fn message_id(letter: &Letter, from: &str) -> String {
    let host = from
        .rsplit('@')
        .next()
        .unwrap_or("localhost")
        .trim_end_matches('>');
    format!("<{}.{}@{host}>", letter.kind, letter.about)
}

pub(super) fn bytes(
    letter: &Letter,
    message_id: &str,
    from: &str,
) -> Result<Vec<u8>, ComposeError> {
    let from: Mailbox = from
        .parse()
        .map_err(|_| ComposeError::Address(from.into()))?;
    let address = letter
        .to
        .parse()
        .map_err(|_| ComposeError::Address(letter.to.clone()))?;
    let seconds = u64::try_from(letter.at.timestamp()).unwrap_or(0);
    let parts = MultiPart::builder()
        .kind(lettre::message::MultiPartKind::Alternative)
        .boundary(format!("refrain-{}", letter.about.simple()))
        .singlepart(
            SinglePart::builder()
                .header(ContentType::TEXT_PLAIN)
                .body(plain(letter)),
        )
        .singlepart(
            SinglePart::builder()
                .header(ContentType::TEXT_HTML)
                .body(html(letter)),
        );
    let message = Message::builder()
        .from(from)
        .to(Mailbox::new(Some(letter.name.clone()), address))
        .subject(letter.subject.as_str())
        .message_id(Some(message_id.to_owned()))
        .header(Date::new(UNIX_EPOCH + Duration::from_secs(seconds)))
        .multipart(parts)?;
    Ok(message.formatted())
}

fn plain(letter: &Letter) -> String {
    let mut text = letter.paragraphs.join("\n\n");
    if let Some((words, address)) = &letter.link {
        text.push_str(&format!("\n\n{words}:\n{address}"));
    }
    text.push('\n');
    text
}

fn html(letter: &Letter) -> String {
    let mut body: String = letter
        .paragraphs
        .iter()
        .map(|words| format!("<p>{}</p>\n", escape(words)))
        .collect();
    if let Some((words, address)) = &letter.link {
        body.push_str(&format!(
            "<p><a href=\"{}\">{}</a></p>\n",
            escape(address),
            escape(words)
        ));
    }
    format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>{}</title></head>\n<body style=\"font-family: Georgia, serif; color: #22252b\">\n{body}</body></html>\n",
        escape(&letter.subject)
    )
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
        .replace('\n', "<br>")
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::DateTime;
    use uuid::Uuid;

    fn letter() -> Letter {
        Letter {
            kind: "confirmation",
            about: Uuid::from_u128(7),
            person: Uuid::from_u128(8).into(),
            name: "Ånna \"Ö\" Example".into(),
            to: "anna@school.example".into(),
            subject: "9 of 16 sent — Lantern jump".into(),
            paragraphs: vec!["It arrived & <waits>.".into()],
            link: Some((
                "See it".into(),
                "https://refrain.example/shots/1?a=1&b=2".into(),
            )),
            at: DateTime::from_timestamp(1_700_000_000, 0).unwrap(),
        }
    }

    #[test]
    fn the_same_letter_is_the_same_bytes() {
        let (a, b) = (letter(), letter());
        let id = message_id(&a, "Refrain <office@school.example>");
        assert_eq!(
            id,
            "<confirmation.00000000-0000-0000-0000-000000000007@school.example>"
        );
        assert_eq!(
            bytes(&a, &id, "Refrain <office@school.example>").unwrap(),
            bytes(&b, &id, "Refrain <office@school.example>").unwrap()
        );
    }

    /// RFC 5322 and RFC 2047, read back by an independent parser.
    #[test]
    fn an_independent_parser_reads_what_was_meant() {
        let letter = letter();
        let id = message_id(&letter, "office@school.example");
        let bytes = bytes(&letter, &id, "Refrain <office@school.example>").unwrap();
        let mail = mail_parser::MessageParser::default().parse(&bytes).unwrap();
        assert_eq!(mail.subject(), Some("9 of 16 sent — Lantern jump"));
        assert_eq!(
            mail.to().unwrap().first().unwrap().name(),
            Some("Ånna \"Ö\" Example")
        );
        assert_eq!(format!("<{}>", mail.message_id().unwrap()), id);
        assert_eq!(
            mail.body_text(0).unwrap().trim(),
            "It arrived & <waits>.\n\nSee it:\nhttps://refrain.example/shots/1?a=1&b=2"
                .replace('\n', "\r\n")
                .as_str()
                .trim()
        );
        assert!(
            mail.body_html(0)
                .unwrap()
                .contains("It arrived &amp; &lt;waits&gt;.")
        );
    }
}
