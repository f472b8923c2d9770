//! What ffprobe says of a file, and the decision on it. Pure.

use serde::Deserialize;

use crate::geometry::{self, Size};
use crate::limits::Limits;
use crate::probe::Probe;
use crate::refusal::Refusal;

/// What ffprobe is asked for.
pub(crate) const ENTRIES: &str = "packet=stream_index,pts,dts,duration,flags\
    :stream=index,codec_type,codec_name,width,height,pix_fmt,sample_aspect_ratio,color_space,time_base,r_frame_rate,avg_frame_rate\
    :stream_disposition=attached_pic:stream_side_data=rotation";

/// Its answer.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct Described {
    packets: Vec<Packet>,
    streams: Vec<Stream>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Packet {
    stream_index: u32,
    pts: Option<i64>,
    dts: Option<i64>,
    duration: Option<i64>,
    flags: String,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Stream {
    index: u32,
    codec_type: String,
    codec_name: String,
    width: u32,
    height: u32,
    pix_fmt: String,
    sample_aspect_ratio: String,
    color_space: String,
    time_base: String,
    r_frame_rate: String,
    avg_frame_rate: String,
    disposition: Disposition,
    side_data_list: Vec<SideData>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Disposition {
    attached_pic: u8,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct SideData {
    rotation: Option<i32>,
}

/// Decides on what ffprobe said. Its frame counts and durations are claims of the file and are not used; its packets
/// were really there.
pub(crate) fn judge(
    described: &Described,
    complaints: &str,
    limits: &Limits,
) -> Result<Probe, Refusal> {
    let picture = moving_picture(&described.streams)?;
    let stored = Size::new(picture.width, picture.height);
    check_size(stored, limits)?;
    if ["partial file", "File ended prematurely"]
        .iter()
        .any(|words| complaints.contains(words))
    {
        return Err(Refusal::Truncated);
    }
    let time_base = decodable(picture).ok_or(Refusal::Unreadable)?;
    let rate = nominal_rate(picture);
    let step_ticks = step_ticks(rate, time_base);
    let shown = Shown::of(described, picture.index, step_ticks);
    let nominal_seconds = shown.ticks as f64 * f64::from(time_base.0) / f64::from(time_base.1);
    check_length(shown.packets, nominal_seconds, limits)?;
    let rotation_deg = picture
        .side_data_list
        .iter()
        .find_map(|data| data.rotation)
        .unwrap_or(0);
    let aspect = ratio(&picture.sample_aspect_ratio, ':').unwrap_or((1, 1));
    Ok(Probe {
        shown: geometry::shown(stored, aspect, rotation_deg),
        stored,
        codec: picture.codec_name.clone(),
        pixel_format: picture.pix_fmt.clone(),
        rotation_deg,
        has_sound: described.streams.iter().any(Stream::is_sound),
        packets: shown.packets,
        rate_num: rate.0,
        rate_den: rate.1,
        nominal_seconds,
        time_base_num: time_base.0,
        time_base_den: time_base.1,
        step_ticks,
        last_duration: shown.last_duration,
        has_matrix: !matches!(picture.color_space.as_str(), "" | "unknown"),
    })
}

impl Stream {
    fn is_sound(&self) -> bool {
        self.codec_type == "audio"
    }

    fn is_picture(&self) -> bool {
        self.codec_type == "video"
    }
}

/// The first stream of picture that is no cover art.
fn moving_picture(streams: &[Stream]) -> Result<&Stream, Refusal> {
    let moving = |stream: &&Stream| stream.is_picture() && stream.disposition.attached_pic == 0;
    streams.iter().find(moving).ok_or_else(|| {
        if streams.iter().any(Stream::is_sound) && !streams.iter().any(Stream::is_picture) {
            Refusal::AudioOnly
        } else {
            Refusal::NoPicture
        }
    })
}

fn check_size(stored: Size, limits: &Limits) -> Result<(), Refusal> {
    if u64::from(stored.width) * u64::from(stored.height) <= limits.pixels {
        return Ok(());
    }
    Err(Refusal::TooManyPixels {
        width: stored.width,
        height: stored.height,
        limit: limits.pixels,
    })
}

/// The clock of a stream that ffmpeg knows how to decode.
fn decodable(picture: &Stream) -> Option<(u32, u32)> {
    let known = |name: &str| !matches!(name, "" | "unknown" | "none");
    let clock = ratio(&picture.time_base, '/').filter(|&(num, den)| num > 0 && den > 0)?;
    let is_known = known(&picture.codec_name) && known(&picture.pix_fmt);
    (is_known && picture.width > 0 && picture.height > 0).then_some(clock)
}

fn check_length(packets: u32, seconds: f64, limits: &Limits) -> Result<(), Refusal> {
    if packets == 0 {
        return Err(Refusal::Unreadable);
    }
    if !limits.allow_seconds(seconds) {
        let limit = limits.seconds;
        return Err(Refusal::TooLong { seconds, limit });
    }
    if packets > limits.frames {
        return Err(Refusal::TooManyFrames {
            limit: limits.frames,
        });
    }
    Ok(())
}

/// What the packets that are shown add up to.
struct Shown {
    packets: u32,
    ticks: i64,
    last_duration: Option<i64>,
}

impl Shown {
    /// Packets flagged `D` are hidden by an edit list.
    fn of(described: &Described, stream: u32, step: i64) -> Self {
        let shown = || {
            let ours =
                |packet: &&Packet| packet.stream_index == stream && !packet.flags.contains('D');
            described.packets.iter().filter(ours)
        };
        let time = |packet: &Packet| packet.pts.or(packet.dts);
        let packets = u32::try_from(shown().count()).unwrap_or(u32::MAX);
        let first = shown().filter_map(time).min();
        let last = shown()
            .filter(|packet| time(packet).is_some())
            .max_by_key(|packet| time(packet));
        let last_duration = last
            .and_then(|packet| packet.duration)
            .filter(|&ticks| ticks > 0);
        let ticks = match (first, last.and_then(time)) {
            (Some(first), Some(last)) => last
                .saturating_sub(first)
                .saturating_add(last_duration.unwrap_or(step)),
            _ => step.saturating_mul(i64::from(packets)),
        };
        Self {
            packets,
            ticks,
            last_duration,
        }
    }
}

/// Rates that footage is made at (common practice, no source).
const USUAL_RATES: [(u32, u32); 11] = [
    (24_000, 1_001),
    (24, 1),
    (25, 1),
    (30_000, 1_001),
    (30, 1),
    (48, 1),
    (50, 1),
    (60_000, 1_001),
    (60, 1),
    (12, 1),
    (15, 1),
];

/// The rate by which all times can be told, if it is one that footage has, else the average, else 24. In a short file
/// with times in whole milliseconds it is a fraction near a usual rate; that rate is meant.
fn nominal_rate(picture: &Stream) -> (u32, u32) {
    let said = [&picture.r_frame_rate, &picture.avg_frame_rate]
        .into_iter()
        .filter_map(|text| ratio(text, '/'))
        .find(|&(num, den)| den > 0 && (1..=240).contains(&(num / den)))
        .unwrap_or((24, 1));
    let value = |(num, den): (u32, u32)| f64::from(num) / f64::from(den);
    let meant = |&usual: &(u32, u32)| (value(usual) / value(said) - 1.0).abs() < 0.000_3;
    USUAL_RATES.into_iter().find(meant).unwrap_or(said)
}

/// The nominal frame duration in ticks.
fn step_ticks(rate: (u32, u32), time_base: (u32, u32)) -> i64 {
    let ticks =
        f64::from(rate.1) * f64::from(time_base.1) / (f64::from(rate.0) * f64::from(time_base.0));
    (ticks.round() as i64).max(1)
}

fn ratio(text: &str, separator: char) -> Option<(u32, u32)> {
    let (num, den) = text.split_once(separator)?;
    Some((num.parse().ok()?, den.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn described(json: &str) -> Result<Probe, Refusal> {
        judge(&serde_json::from_str(json).unwrap(), "", &Limits::default())
    }

    const STREAM: &str = r#"{"index":0,"codec_type":"video","codec_name":"h264","width":720,"height":576,
        "sample_aspect_ratio":"16:15","pix_fmt":"yuv420p","time_base":"1/12288","avg_frame_rate":"24/1",
        "side_data_list":[{},{"rotation":-90}]}"#;

    fn clip(packets: usize, step: usize) -> String {
        let rows: Vec<String> = (0..packets)
            .map(|i| {
                format!(
                    r#"{{"stream_index":0,"pts":{},"duration":{step},"flags":"K_"}}"#,
                    i * step
                )
            })
            .collect();
        format!(r#"{{"packets":[{}],"streams":[{STREAM}]}}"#, rows.join(","))
    }

    #[test]
    fn a_turned_clip_with_sample_aspect_is_described_as_shown() {
        let probe = described(&clip(48, 512)).unwrap();
        assert_eq!(probe.shown, Size::new(576, 768));
        assert_eq!(
            (probe.packets, probe.step_ticks, probe.last_duration),
            (48, 512, Some(512))
        );
        assert!((probe.nominal_seconds - 2.0).abs() < 1e-9);
        assert!(!probe.has_sound && !probe.has_matrix);
    }

    #[test]
    fn a_rate_near_a_usual_one_is_that_one() {
        let rate = |said: &str| {
            nominal_rate(&Stream {
                r_frame_rate: said.into(),
                ..Stream::default()
            })
        };
        // What ffprobe says of half a second of 59.94 in Matroska.
        assert_eq!(rate("19001/317"), (60_000, 1_001));
        assert_eq!(
            (rate("60/1"), rate("48000/2002")),
            ((60, 1), (24_000, 1_001))
        );
        assert_eq!(
            (rate("37/2"), rate("90000/1"), rate("")),
            ((37, 2), (24, 1), (24, 1))
        );
    }

    #[test]
    fn the_bounds_are_inclusive() {
        assert!(described(&clip(1_440, 512)).is_ok());
        assert_eq!(described(&clip(1_464, 512)).unwrap_err().code(), "too-long");
        assert!(described(&clip(3_600, 200)).is_ok());
        assert_eq!(
            described(&clip(3_601, 200)).unwrap_err().code(),
            "too-many-frames"
        );
    }

    #[test]
    fn files_without_a_picture_say_which_kind_they_are() {
        let audio = r#"{"streams":[{"index":0,"codec_type":"audio"}]}"#;
        assert_eq!(described(audio), Err(Refusal::AudioOnly));
        let cover = r#"{"streams":[{"index":0,"codec_type":"audio"},
            {"index":1,"codec_type":"video","disposition":{"attached_pic":1}}]}"#;
        assert_eq!(described(cover), Err(Refusal::NoPicture));
        assert_eq!(
            described(r#"{"streams":[{"index":0,"codec_type":"subtitle"}]}"#),
            Err(Refusal::NoPicture)
        );
        assert_eq!(described("{}"), Err(Refusal::NoPicture));
    }
}
