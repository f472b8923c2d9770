//! What a file is, by its first bytes, so that the commonest mistakes get a plain answer without starting a decoder.
//!
//! The signatures are those of the formats' own specifications; only the three container families at the top go on to
//! ffprobe, which is told to try no other.

use crate::refusal::Refusal;

/// How many bytes from the start are looked at.
pub(crate) const SNIFF_BYTES: usize = 4_096;

/// A container family that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Family {
    /// ISO base media and QuickTime: MP4, MOV, M4V.
    Iso,
    /// Matroska and WebM.
    Matroska,
    /// AVI.
    Avi,
}

const SEND_VIDEO: &str = "Export the whole shot as one MP4 or MOV and upload that.";
const UNPACK: &str = "Unpack it and upload the video inside.";

/// Signatures of things people send by mistake: offset, bytes, what it is, what to do.
const OTHERS: &[(usize, &[u8], &str, &str)] = &[
    (0, b"\x89PNG\r\n\x1a\n", "a PNG picture", SEND_VIDEO),
    (0, b"\xff\xd8\xff", "a JPEG picture", SEND_VIDEO),
    (0, b"GIF8", "a GIF picture", SEND_VIDEO),
    (8, b"WEBP", "a WebP picture", SEND_VIDEO),
    (0, b"BM", "a BMP picture", SEND_VIDEO),
    (0, b"II*\0", "a TIFF picture", SEND_VIDEO),
    (0, b"MM\0*", "a TIFF picture", SEND_VIDEO),
    (0, b"v/1\x01", "an OpenEXR picture", SEND_VIDEO),
    (0, b"8BPS", "a layered picture file", SEND_VIDEO),
    (4, b"ftypavif", "an AVIF picture", SEND_VIDEO),
    (4, b"ftypheic", "a HEIC picture", SEND_VIDEO),
    (0, b"PK\x03\x04", "a ZIP archive", UNPACK),
    (0, b"Rar!", "a RAR archive", UNPACK),
    (0, b"7z\xbc\xaf\x27\x1c", "a 7z archive", UNPACK),
    (0, b"\x1f\x8b", "a gzip archive", UNPACK),
    (0, b"%PDF", "a PDF document", SEND_VIDEO),
    (0, b"\x7fELF", "a program", SEND_VIDEO),
    (0, b"MZ", "a program", SEND_VIDEO),
    (0, b"BLENDER", "a scene file", SEND_VIDEO),
    (
        0,
        b"\x30\x26\xb2\x75\x8e\x66\xcf\x11",
        "a Windows Media file",
        SEND_VIDEO,
    ),
    (0, b"FLV\x01", "a Flash video", SEND_VIDEO),
    (0, b"\0\0\x01\xba", "an MPEG programme stream", SEND_VIDEO),
    (0, b"OggS", "an Ogg file", SEND_VIDEO),
];

/// Signatures of sound files: offset and bytes.
const SOUND: &[(usize, &[u8])] = &[
    (8, b"WAVE"),
    (0, b"ID3"),
    (0, b"\xff\xfb"),
    (0, b"fLaC"),
    (8, b"AIFF"),
];

/// Names the container family of a file by its first bytes, or says what it is instead.
pub(crate) fn family(head: &[u8]) -> Result<Family, Refusal> {
    let has = |at: usize, bytes: &[u8]| head.get(at..at + bytes.len()) == Some(bytes);
    if head.is_empty() {
        return Err(Refusal::Empty);
    }
    if let Some(&(_, _, what, remedy)) = OTHERS.iter().find(|(at, bytes, ..)| has(*at, bytes)) {
        return Err(Refusal::SomethingElse { what, remedy });
    }
    if SOUND.iter().any(|(at, bytes)| has(*at, bytes)) {
        return Err(Refusal::AudioOnly);
    }
    if has(0, b"\x1a\x45\xdf\xa3") {
        return Ok(Family::Matroska);
    }
    if has(0, b"RIFF") && has(8, b"AVI ") {
        return Ok(Family::Avi);
    }
    // ISO 14496-12 has no magic number; the first box of a real file is one of these.
    if [
        b"ftyp", b"moov", b"mdat", b"free", b"skip", b"wide", b"pnot", b"styp",
    ]
    .iter()
    .any(|kind| has(4, *kind))
    {
        return Ok(Family::Iso);
    }
    Err(text(head).unwrap_or(Refusal::NotAVideo))
}

/// The reason for a file that is text, if it is.
fn text(head: &[u8]) -> Option<Refusal> {
    let readable = match std::str::from_utf8(head) {
        Ok(text) => text,
        // A character cut by the end of the window is still text.
        Err(error) if error.valid_up_to() + 4 > head.len() => {
            std::str::from_utf8(&head[..error.valid_up_to()]).ok()?
        }
        Err(_) => return None,
    };
    if readable
        .chars()
        .any(|c| c.is_control() && !c.is_whitespace())
    {
        return None;
    }
    let start = readable
        .trim_start_matches('\u{feff}')
        .trim_start()
        .to_ascii_lowercase();
    if ["#extm3u", "ffconcat", "[playlist]"]
        .iter()
        .any(|mark| start.starts_with(mark))
        || start.contains("<mpd")
    {
        return Some(Refusal::Playlist);
    }
    let (what, remedy) = if start.contains("<svg") {
        ("an SVG drawing", SEND_VIDEO)
    } else if start.starts_with("<!doctype html") || start.starts_with("<html") {
        (
            "a web page",
            "The download you saved was not the video: fetch the file again and upload that.",
        )
    } else {
        ("a text file", SEND_VIDEO)
    };
    Some(Refusal::SomethingElse { what, remedy })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(head: &[u8]) -> &'static str {
        family(head).err().map_or("ok", |refusal| refusal.code())
    }

    #[test]
    fn containers_we_read_pass() {
        assert_eq!(family(b"\0\0\0\x20ftypisom"), Ok(Family::Iso));
        assert_eq!(family(b"\x1a\x45\xdf\xa3\x01"), Ok(Family::Matroska));
        assert_eq!(family(b"RIFF\0\0\0\0AVI LIST"), Ok(Family::Avi));
    }

    #[test]
    fn common_mistakes_are_named() {
        assert_eq!(code(b""), "empty");
        assert_eq!(code(b"#EXTM3U\n#EXT-X-VERSION:3\n"), "playlist");
        assert_eq!(
            code(b"ffconcat version 1.0\nfile /etc/passwd\n"),
            "playlist"
        );
        assert_eq!(code(b"RIFF\0\0\0\0WAVEfmt "), "audio-only");
        assert_eq!(code(b"PK\x03\x04\x14\0"), "something-else");
        assert_eq!(code(b"\x93\x00\xfe\x01\x88\x10\xaa"), "not-a-video");
        assert_eq!(
            family("<?xml version='1.0'?><svg/>".as_bytes()),
            Err(Refusal::SomethingElse {
                what: "an SVG drawing",
                remedy: SEND_VIDEO
            })
        );
    }

    #[test]
    fn text_cut_inside_a_character_is_text() {
        let text = "Notes on the walk: the heel é".as_bytes();
        assert_eq!(code(&text[..text.len() - 1]), "something-else");
    }
}
