//! Why a file is not taken, in words for the person who sent it.

use serde::Serialize;

/// The reason a file is refused. Its `Display` is a plain sentence in the second person that names reason and remedy;
/// [`Refusal::code`] is the stable name for programs.
#[derive(Debug, Clone, PartialEq, Serialize, thiserror::Error)]
#[serde(tag = "code", rename_all = "kebab-case")]
pub enum Refusal {
    /// A folder, link, device or nothing at all stands at the path.
    #[error(
        "This is not an ordinary file. Upload the video file itself, not a folder or a link to it."
    )]
    NotAFile,
    /// Zero bytes.
    #[error(
        "The file is empty. Export your shot again, check that the file has a size, and upload that."
    )]
    Empty,
    /// More bytes than allowed.
    #[error(
        "The file is {}, and you can send up to {}. Export your shot as H.264 in an MP4, or at a smaller picture size.",
        size_text(*bytes), size_text(*limit)
    )]
    TooLarge {
        /// Size of the file in bytes.
        bytes: u64,
        /// Allowed size in bytes.
        limit: u64,
    },
    /// A still or animated image, a document, an archive, an unsupported container: something else, recognised.
    #[error("This is {what}, not a video you can send here. {remedy}")]
    SomethingElse {
        /// What it is, with its article.
        what: &'static str,
        /// What to do instead.
        remedy: &'static str,
    },
    /// A list that only names other files.
    #[error(
        "This is a playlist: it only names other files and holds no picture. Upload the video itself."
    )]
    Playlist,
    /// No format we read.
    #[error(
        "This file is not a video we can read. Export your shot as an MP4, MOV, MKV, WebM or AVI and upload that."
    )]
    NotAVideo,
    /// Sound without picture.
    #[error(
        "The file has sound but no picture. Switch the picture on in your export settings and export your shot again."
    )]
    AudioOnly,
    /// A container without any moving picture: subtitles, cover art, data.
    #[error(
        "There is no moving picture in the file. Export your shot as a video, with its frames, and upload that."
    )]
    NoPicture,
    /// The samples live in another file.
    #[error(
        "The file only points at media kept elsewhere. Export a self-contained movie and upload that."
    )]
    MediaElsewhere,
    /// The end is missing.
    #[error(
        "The file is cut off: its end is missing. Export or copy it again until it is complete, then upload it."
    )]
    Truncated,
    /// Damaged, or a codec that cannot be decoded.
    #[error(
        "The picture in this file cannot be decoded. Play it to the end yourself; if it plays, export it as H.264 in an MP4."
    )]
    Unreadable,
    /// Longer than allowed.
    #[error(
        "Your shot lasts {} s, and you can send up to {limit} s. Cut it, or send it as two shots.",
        above(*seconds, *limit)
    )]
    TooLong {
        /// Shown length in seconds.
        seconds: f64,
        /// Allowed length in seconds.
        limit: u32,
    },
    /// More frames than allowed.
    #[error(
        "Your shot has more than {limit} frames, and you can send up to {limit}. Cut it, or export it at its own frame rate."
    )]
    TooManyFrames {
        /// Allowed number of frames.
        limit: u32,
    },
    /// A larger picture than allowed.
    #[error(
        "The picture is {width} x {height}, and you can send up to {} megapixels. Export it at 1920 x 1080 or smaller.",
        limit / 1_000_000
    )]
    TooManyPixels {
        /// Stored width in pixels.
        width: u32,
        /// Stored height in pixels.
        height: u32,
        /// Allowed pixels in one frame.
        limit: u64,
    },
    /// Decoding it needs more memory or room than one shot may have.
    #[error(
        "This file needs more memory than one shot may use. Export it as H.264 in an MP4 at 1920 x 1080 or smaller."
    )]
    TooHeavy,
    /// The check took too long.
    #[error(
        "Checking your file took too long. Try again; if it happens again, export it as H.264 in an MP4."
    )]
    TimedOut,
    /// The server cannot look at footage.
    #[error(
        "The server cannot read video at the moment: {program} is missing. Tell the office, and try again later."
    )]
    FfmpegMissing {
        /// The program that is missing.
        program: &'static str,
    },
    /// The check was interrupted or the server failed.
    #[error("Checking your file was interrupted on our side. Nothing was lost: try again.")]
    Interrupted,
}

/// A length above a limit, to a tenth of a second where that shows it to be above, else rounded up to a hundredth.
fn above(seconds: f64, limit: u32) -> String {
    if (seconds * 10.0).round() > f64::from(limit) * 10.0 {
        format!("{seconds:.1}")
    } else {
        format!("{:.2}", (seconds * 100.0).ceil() / 100.0)
    }
}

impl Refusal {
    /// The stable name of the reason, in kebab case.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NotAFile => "not-a-file",
            Self::Empty => "empty",
            Self::TooLarge { .. } => "too-large",
            Self::SomethingElse { .. } => "something-else",
            Self::Playlist => "playlist",
            Self::NotAVideo => "not-a-video",
            Self::AudioOnly => "audio-only",
            Self::NoPicture => "no-picture",
            Self::MediaElsewhere => "media-elsewhere",
            Self::Truncated => "truncated",
            Self::Unreadable => "unreadable",
            Self::TooLong { .. } => "too-long",
            Self::TooManyFrames { .. } => "too-many-frames",
            Self::TooManyPixels { .. } => "too-many-pixels",
            Self::TooHeavy => "too-heavy",
            Self::TimedOut => "timed-out",
            Self::FfmpegMissing { .. } => "ffmpeg-missing",
            Self::Interrupted => "interrupted",
        }
    }

    /// True when the same file may pass at another time: the fault is on the server's side.
    pub fn may_pass_later(&self) -> bool {
        matches!(
            self,
            Self::TimedOut | Self::FfmpegMissing { .. } | Self::Interrupted
        )
    }
}

/// A size for people: whole MiB below one GiB, else GiB with one decimal.
fn size_text(bytes: u64) -> String {
    let mib = bytes.div_ceil(1 << 20);
    if mib < 1_024 {
        format!("{mib} MiB")
    } else {
        format!("{}.{} GiB", mib / 1_024, mib % 1_024 * 10 / 1_024)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sentences_name_the_bound_and_speak_to_the_reader() {
        let refusal = Refusal::TooLarge {
            bytes: 3 << 30,
            limit: 2 << 30,
        };
        assert_eq!(
            refusal.to_string(),
            "The file is 3.0 GiB, and you can send up to 2.0 GiB. Export your shot as H.264 in an MP4, or at a smaller \
             picture size."
        );
        let refusal = Refusal::TooLong {
            seconds: 61.04,
            limit: 60,
        };
        assert!(
            refusal
                .to_string()
                .contains("61.0 s, and you can send up to 60 s")
        );
        let hardly = Refusal::TooLong {
            seconds: 60.041,
            limit: 60,
        };
        assert!(hardly.to_string().contains("lasts 60.05 s,"), "{hardly}");
    }

    #[test]
    fn the_code_and_the_serialised_tag_agree() {
        for refusal in [
            Refusal::NotAFile,
            Refusal::TooManyFrames { limit: 3_600 },
            Refusal::FfmpegMissing { program: "ffprobe" },
            Refusal::MediaElsewhere,
        ] {
            let json = serde_json::to_value(&refusal).unwrap();
            assert_eq!(json["code"], refusal.code());
        }
    }
}
