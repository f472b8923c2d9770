//! The outermost structure of a container, read without a decoder: is the file complete, and what does a copy of ours
//! say about its own timing.
//!
//! Sources: ISO/IEC 14496-12 (boxes, `stsz`, `stts`, `ctts`), RFC 8794 and RFC 9559 (EBML, Matroska's Segment),
//! the RIFF chunk header of AVI.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::Path;

use crate::refusal::Refusal;
use crate::sniff::Family;

/// No real file has more boxes at the top (a fragmented minute has some hundreds).
const MOST_TOP_BOXES: usize = 20_000;

/// The largest index read; a minute's takes some 100 KB.
const MOST_INDEX_BYTES: u64 = 64 << 20;

/// Refuses a file whose own structure says that bytes are missing at its end.
pub(crate) fn complete(
    file: &mut File,
    length: u64,
    family: Family,
) -> io::Result<Result<(), Refusal>> {
    let whole = match family {
        Family::Iso => return iso_complete(file, length),
        Family::Matroska => segment_end(file)?.is_none_or(|end| end <= length),
        // Some writers leave the pad byte out of the file but in the size.
        Family::Avi => riff_end(file)? <= length + 1,
    };
    Ok(if whole {
        Ok(())
    } else {
        Err(Refusal::Truncated)
    })
}

fn iso_complete(file: &mut File, length: u64) -> io::Result<Result<(), Refusal>> {
    let (mut has_index, mut has_samples, mut overrun) = (false, false, false);
    let mut elsewhere = false;
    let mut at = 0;
    for _ in 0..MOST_TOP_BOXES {
        let Some(found) = box_at(file, at, length)? else {
            break;
        };
        if &found.kind == b"moov" {
            has_index = true;
            elsewhere |= points_elsewhere(&body_of(file, &found, length)?);
        }
        has_samples |= &found.kind == b"mdat";
        overrun |= found.end > length && is_known_top(found.kind);
        at = found.end;
    }
    if elsewhere {
        return Ok(Err(Refusal::MediaElsewhere));
    }
    Ok(match (has_index, overrun, has_samples) {
        (_, true, _) | (false, _, true) => Err(Refusal::Truncated),
        (false, false, false) => Err(Refusal::Unreadable),
        (true, false, _) => Ok(()),
    })
}

/// Rubbish after the last box must not count as a box that runs over the end.
fn is_known_top(kind: [u8; 4]) -> bool {
    [b"ftyp", b"moov", b"mdat", b"moof", b"free", b"mfra"].contains(&&kind)
}

struct BoxAt {
    kind: [u8; 4],
    body: u64,
    end: u64,
}

/// The box that starts at a place, or `None` where none can start.
fn box_at(file: &mut (impl Read + Seek), at: u64, length: u64) -> io::Result<Option<BoxAt>> {
    if at.saturating_add(8) > length {
        return Ok(None);
    }
    file.seek(SeekFrom::Start(at))?;
    let mut head = [0; 8];
    file.read_exact(&mut head)?;
    let [a, b, c, d, kind @ ..] = head;
    let (body, size) = match u32::from_be_bytes([a, b, c, d]) {
        0 => (at + 8, length - at),
        1 => {
            let mut wide = [0; 8];
            if at + 16 > length {
                return Ok(None);
            }
            file.read_exact(&mut wide)?;
            (at + 16, u64::from_be_bytes(wide))
        }
        size => (at + 8, u64::from(size)),
    };
    let end = at.saturating_add(size);
    Ok((end >= body).then_some(BoxAt { kind, body, end }))
}

/// The content of a box, as far as it is there.
fn body_of(file: &mut (impl Read + Seek), found: &BoxAt, length: u64) -> io::Result<Vec<u8>> {
    let size = found.end.min(length).saturating_sub(found.body);
    let mut body = Vec::new();
    file.seek(SeekFrom::Start(found.body))?;
    file.take(size.min(MOST_INDEX_BYTES))
        .read_to_end(&mut body)?;
    Ok(body)
}

/// Whether any track's data reference names another place: not flagged as this very file, and not empty.
fn points_elsewhere(moov: &[u8]) -> bool {
    let references = |track| {
        [b"mdia", b"minf", b"dinf", b"dref"]
            .iter()
            .try_fold(track, |body, kind| child(body, kind))
    };
    // An entry is version and flags, of which 1 means "this file", then where.
    let elsewhere = |entry: &[u8]| entry.len() > 4 && entry[3] & 1 == 0;
    children(moov)
        .filter(|(kind, _)| kind == b"trak")
        .filter_map(|(_, track)| references(track))
        .filter_map(|references| references.get(8..))
        .any(|entries| children(entries).any(|(_, entry)| elsewhere(entry)))
}

/// Where the Segment says it ends; `None` when it does not say (a live recording) or is not where it should be.
fn segment_end(file: &mut File) -> io::Result<Option<u64>> {
    let mut head = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    file.take(4_096).read_to_end(&mut head)?;
    let after_ebml = element_end(&head, 4);
    let Some(at) = after_ebml.and_then(|at| usize::try_from(at).ok()) else {
        return Ok(None);
    };
    if head.get(at..at + 4) != Some(&[0x18, 0x53, 0x80, 0x67]) {
        return Ok(None);
    }
    Ok(element_end(&head, at + 4))
}

/// The end of the element whose size field stands at `at` (RFC 8794, section 4); `None` for unknown size.
fn element_end(bytes: &[u8], at: usize) -> Option<u64> {
    let first = *bytes.get(at)?;
    let width = first.leading_zeros() as usize + 1;
    if width > 8 {
        return None;
    }
    let field = bytes.get(at..at + width)?;
    let mask = (1u64 << (7 * width)) - 1;
    let size = field
        .iter()
        .fold(0u64, |value, byte| value << 8 | u64::from(*byte))
        & mask;
    (size != mask).then(|| (at + width) as u64 + size)
}

fn riff_end(file: &mut File) -> io::Result<u64> {
    let mut head = [0; 8];
    file.seek(SeekFrom::Start(0))?;
    file.read_exact(&mut head)?;
    let [.., a, b, c, d] = head;
    Ok(u64::from(u32::from_le_bytes([a, b, c, d])) + 8)
}

/// What a written copy says about its single track.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Timing {
    /// Number of samples.
    pub(crate) samples: u32,
    /// The distance in ticks between samples, if it is one and the same for all.
    pub(crate) step: Option<u32>,
    /// Whether samples are shown in another order than stored.
    pub(crate) reordered: bool,
}

/// Reads the timing of the first track of an MP4 we wrote.
pub(crate) fn timing(path: &Path) -> io::Result<Timing> {
    let mut file = File::open(path)?;
    let length = file.metadata()?.len();
    let mut at = 0;
    while let Some(found) = box_at(&mut file, at, length)? {
        if &found.kind == b"moov" {
            let index = body_of(&mut file, &found, length)?;
            return track_timing(&index)
                .ok_or_else(|| io::Error::other("the copy's index is incomplete"));
        }
        at = found.end;
    }
    Err(io::Error::other("the copy has no index"))
}

fn track_timing(moov: &[u8]) -> Option<Timing> {
    let table = [b"trak", b"mdia", b"minf", b"stbl"]
        .iter()
        .try_fold(moov, |body, kind| child(body, kind))?;
    let sizes = child(table, b"stsz")?;
    let times = child(table, b"stts")?;
    let runs = word(times, 4)? as usize;
    let run = |i: usize| Some((word(times, 8 + 8 * i)?, word(times, 12 + 8 * i)?));
    let step = match runs {
        0 => None,
        1 => Some(run(0)?.1),
        // The muxer may give the last sample a run of its own; its length is not a distance between samples.
        2 if run(1)?.0 == 1 => Some(run(0)?.1),
        _ => None,
    };
    Some(Timing {
        samples: word(sizes, 8)?,
        step,
        reordered: child(table, b"ctts").is_some(),
    })
}

/// The body of the first child box of a kind.
fn child<'a>(bytes: &'a [u8], kind: &[u8; 4]) -> Option<&'a [u8]> {
    children(bytes)
        .find(|(found, _)| found == kind)
        .map(|(_, body)| body)
}

/// Kind and body of the boxes that fill these bytes, up to the first that does not fit.
fn children(mut bytes: &[u8]) -> impl Iterator<Item = ([u8; 4], &[u8])> {
    std::iter::from_fn(move || {
        let size = word(bytes, 0)? as usize;
        let kind = bytes.get(4..8)?.try_into().ok()?;
        let body = bytes.get(8..size)?;
        bytes = bytes.get(size..)?;
        Some((kind, body))
    })
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..at + 4)?;
    Some(u32::from_be_bytes(four.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::io::Write;

    fn file(bytes: &[u8]) -> (File, u64) {
        let mut file = tempfile::tempfile().unwrap();
        file.write_all(bytes).unwrap();
        (file, bytes.len() as u64)
    }

    fn verdict(bytes: &[u8], family: Family) -> Result<(), Refusal> {
        let (mut file, length) = file(bytes);
        complete(&mut file, length, family).unwrap()
    }

    fn boxed(kind: &[u8; 4], body: &[u8]) -> Vec<u8> {
        let mut out = (body.len() as u32 + 8).to_be_bytes().to_vec();
        out.extend_from_slice(kind);
        out.extend_from_slice(body);
        out
    }

    #[test]
    fn an_mp4_is_whole_cut_or_without_index() {
        let whole = [
            boxed(b"ftyp", b"isom"),
            boxed(b"moov", &[0; 32]),
            boxed(b"mdat", &[7; 64]),
        ]
        .concat();
        assert_eq!(verdict(&whole, Family::Iso), Ok(()));
        assert_eq!(
            verdict(&whole[..whole.len() - 9], Family::Iso),
            Err(Refusal::Truncated)
        );
        let no_index = [boxed(b"ftyp", b"isom"), boxed(b"mdat", &[7; 64])].concat();
        assert_eq!(verdict(&no_index, Family::Iso), Err(Refusal::Truncated));
        assert_eq!(
            verdict(&boxed(b"ftyp", b"isom"), Family::Iso),
            Err(Refusal::Unreadable)
        );
        let trailing = [whole, b"rubbish after the end".to_vec()].concat();
        assert_eq!(verdict(&trailing, Family::Iso), Ok(()));
    }

    #[test]
    fn a_segment_that_says_its_size_must_be_there() {
        let head = [0x1a, 0x45, 0xdf, 0xa3, 0x81, 0x00, 0x18, 0x53, 0x80, 0x67];
        let with = |size: &[u8], body: usize| [&head[..], size, &vec![0; body]].concat();
        assert_eq!(verdict(&with(&[0x90], 16), Family::Matroska), Ok(()));
        assert_eq!(
            verdict(&with(&[0x90], 15), Family::Matroska),
            Err(Refusal::Truncated)
        );
        assert_eq!(
            verdict(
                &with(&[0x01, 255, 255, 255, 255, 255, 255, 255], 3),
                Family::Matroska
            ),
            Ok(())
        );
    }

    #[test]
    fn a_riff_that_says_more_than_there_is_was_cut() {
        let riff = |size: u32, body: usize| {
            [b"RIFF".as_slice(), &size.to_le_bytes(), &vec![0; body]].concat()
        };
        assert_eq!(verdict(&riff(40, 40), Family::Avi), Ok(()));
        assert_eq!(verdict(&riff(0, 40), Family::Avi), Ok(()));
        assert_eq!(
            verdict(&riff(400, 40), Family::Avi),
            Err(Refusal::Truncated)
        );
    }

    proptest! {
        #[test]
        fn no_bytes_make_the_readers_fail(bytes in proptest::collection::vec(any::<u8>(), 8..400)) {
            for family in [Family::Iso, Family::Matroska, Family::Avi] {
                let (mut file, length) = file(&bytes);
                prop_assert!(complete(&mut file, length, family).is_ok());
            }
            track_timing(&bytes);
        }
    }
}
