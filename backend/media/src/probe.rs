//! Looks at a file that has just arrived: what is in it, and may it be sent.

use std::fs::File;
use std::io::{self, Read};
use std::ops::ControlFlow;
use std::path::Path;

use serde::{Deserialize, Serialize};

use crate::boxes;
use crate::geometry::{self, Size};
use crate::limits::Limits;
use crate::refusal::Refusal;
use crate::run::{Cancel, End, run};
use crate::sandbox::{Caps, Job, Sandbox, ffprobe, words};
use crate::sniff;

/// The formats ffmpeg and ffprobe may try; without this list a playlist named `.mp4` opens other files.
pub(crate) const FORMATS: &str = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi";

/// The largest single allocation ffmpeg and ffprobe may make, in bytes.
pub(crate) const MOST_ALLOC: &str = "536870912";

/// The longest description read from ffprobe: some 110 bytes a packet, sound included.
const MOST_JSON: usize = 16 << 20;

/// What is in a file that may be sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Probe {
    /// The size shown: after rotation and sample aspect, in square pixels.
    pub shown: Size,
    /// The size stored.
    pub stored: Size,
    /// The picture's codec, as ffmpeg names it.
    pub codec: String,
    /// The pixel format, as ffmpeg names it.
    pub pixel_format: String,
    /// Degrees the picture is turned for showing, counter-clockwise, as ffprobe reports them.
    pub rotation_deg: i32,
    /// Whether there is sound.
    pub has_sound: bool,
    /// Packets of picture that are shown; a decoder gives at most this many frames.
    pub packets: u32,
    /// Shown length by the container's times, in seconds.
    pub nominal_seconds: f64,
    /// Numerator of one tick of the picture's clock in seconds.
    pub time_base_num: u32,
    /// Denominator of one tick of the picture's clock in seconds.
    pub time_base_den: u32,
    /// Nominal frame duration in ticks, at least 1.
    pub step_ticks: i64,
    /// How long the last frame is shown in ticks, if the container says.
    pub last_duration: Option<i64>,
    /// Whether the file says by which matrix its colours are stored.
    pub has_matrix: bool,
}

/// Checks a file and describes it. Reads it once from end to end, in the sandbox, without decoding it.
pub async fn probe(sandbox: &Sandbox, file: &Path, limits: &Limits) -> Result<Probe, Refusal> {
    let path = file.to_owned();
    let most_bytes = limits.bytes;
    tokio::task::spawn_blocking(move || look(&path, most_bytes))
        .await
        .map_err(|_| Refusal::Interrupted)??;
    let (json, complaints) = ask_ffprobe(sandbox, file, limits).await?;
    let described: Described = serde_json::from_slice(&json).map_err(|_| Refusal::Unreadable)?;
    judge(&described, &complaints, limits)
}

/// What can be said without a decoder: kind, size, signature, completeness.
fn look(path: &Path, most_bytes: u64) -> Result<(), Refusal> {
    // Not followed: an upload is never a link, and a link may lead anywhere.
    let facts = std::fs::symlink_metadata(path).map_err(|error| unreadable_now(&error))?;
    if !facts.is_file() {
        return Err(Refusal::NotAFile);
    }
    if facts.len() > most_bytes {
        return Err(Refusal::TooLarge {
            bytes: facts.len(),
            limit: most_bytes,
        });
    }
    let mut file = File::open(path).map_err(|error| unreadable_now(&error))?;
    let mut head = Vec::new();
    let reading = (&mut file)
        .take(sniff::SNIFF_BYTES as u64)
        .read_to_end(&mut head);
    reading.map_err(|error| unreadable_now(&error))?;
    let family = sniff::family(&head)?;
    boxes::complete(&mut file, facts.len(), family).map_err(|error| unreadable_now(&error))?
}

fn unreadable_now(error: &io::Error) -> Refusal {
    if error.kind() == io::ErrorKind::NotFound {
        return Refusal::NotAFile;
    }
    tracing::warn!(%error, "footage could not be read");
    Refusal::Interrupted
}

async fn ask_ffprobe(
    sandbox: &Sandbox,
    file: &Path,
    limits: &Limits,
) -> Result<(Vec<u8>, String), Refusal> {
    if let Some(program) = sandbox.missing().first() {
        return Err(Refusal::FfmpegMissing { program });
    }
    let mut args = words([
        "-v",
        "warning",
        "-hide_banner",
        "-protocol_whitelist",
        "file",
    ]);
    args.extend(words([
        "-format_whitelist",
        FORMATS,
        "-max_alloc",
        MOST_ALLOC,
    ]));
    args.extend(words(["-threads", "1", "-show_entries", ENTRIES]));
    args.extend(words(["-of", "json=compact=1"]));
    args.push(
        sandbox
            .input_name(file)
            .map_err(|error| unreadable_now(&error))?,
    );
    let job = Job {
        program: ffprobe(),
        args,
        input: Some(file),
        out_dir: None,
        caps: Caps {
            cpu_seconds: 60,
            memory_bytes: 2 << 30,
            file_bytes: 0,
        },
    };
    let mut json = Vec::new();
    let mut keep = |bytes: &[u8]| {
        json.extend_from_slice(bytes);
        if json.len() > MOST_JSON {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    };
    let ended = run(
        sandbox,
        &job,
        limits.probe_wall,
        &mut Cancel::never(),
        &mut keep,
        None,
    )
    .await
    .map_err(|error| unreadable_now(&error))?;
    match ended.end {
        End::Exited(0) => Ok((json, ended.stderr)),
        End::Exited(_) => {
            tracing::debug!(complaints = %ended.stderr, "ffprobe refused a file");
            Err(Refusal::Unreadable)
        }
        End::Stopped => Err(Refusal::TooManyFrames {
            limit: limits.frames,
        }),
        End::TimedOut => Err(Refusal::TimedOut),
        End::Signalled(SIGXCPU | SIGXFSZ | SIGABRT | SIGSEGV) => Err(Refusal::Unreadable),
        End::Signalled(_) | End::Cancelled => Err(Refusal::Interrupted),
    }
}

/// Signals that say something about the file, by their numbers on Linux (signal(7)).
pub(crate) const SIGABRT: i32 = 6;
pub(crate) const SIGSEGV: i32 = 11;
pub(crate) const SIGXCPU: i32 = 24;
pub(crate) const SIGXFSZ: i32 = 25;

const ENTRIES: &str = "packet=stream_index,pts,dts,duration,flags\
    :stream=index,codec_type,codec_name,width,height,pix_fmt,sample_aspect_ratio,color_space,time_base,avg_frame_rate\
    :stream_disposition=attached_pic:stream_side_data=rotation";

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Described {
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
fn judge(described: &Described, complaints: &str, limits: &Limits) -> Result<Probe, Refusal> {
    let has_sound = described
        .streams
        .iter()
        .any(|stream| stream.codec_type == "audio");
    let pictures =
        |stream: &&Stream| stream.codec_type == "video" && stream.disposition.attached_pic == 0;
    let Some(picture) = described.streams.iter().find(pictures) else {
        let covers = described
            .streams
            .iter()
            .any(|stream| stream.codec_type == "video");
        return Err(if has_sound && !covers {
            Refusal::AudioOnly
        } else {
            Refusal::NoPicture
        });
    };
    let stored = Size::new(picture.width, picture.height);
    if u64::from(stored.width) * u64::from(stored.height) > limits.pixels {
        return Err(Refusal::TooManyPixels {
            width: stored.width,
            height: stored.height,
            limit: limits.pixels,
        });
    }
    if ["partial file", "File ended prematurely"]
        .iter()
        .any(|words| complaints.contains(words))
    {
        return Err(Refusal::Truncated);
    }
    let time_base = ratio(&picture.time_base, '/').filter(|&(num, den)| num > 0 && den > 0);
    let known = |name: &str| !matches!(name, "" | "unknown" | "none");
    let decodable = known(&picture.codec_name)
        && known(&picture.pix_fmt)
        && stored.width > 0
        && stored.height > 0;
    let (Some(time_base), true) = (time_base, decodable) else {
        return Err(Refusal::Unreadable);
    };
    let step_ticks = step_ticks(&picture.avg_frame_rate, time_base);
    let shown = Shown::of(described, picture.index, step_ticks);
    let nominal_seconds = shown.ticks as f64 * f64::from(time_base.0) / f64::from(time_base.1);
    if shown.packets == 0 {
        return Err(Refusal::Unreadable);
    }
    if !limits.allow_seconds(nominal_seconds) {
        return Err(Refusal::TooLong {
            seconds: nominal_seconds,
            limit: limits.seconds,
        });
    }
    if shown.packets > limits.frames {
        return Err(Refusal::TooManyFrames {
            limit: limits.frames,
        });
    }
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
        has_sound,
        packets: shown.packets,
        nominal_seconds,
        time_base_num: time_base.0,
        time_base_den: time_base.1,
        step_ticks,
        last_duration: shown.last_duration,
        has_matrix: !matches!(picture.color_space.as_str(), "" | "unknown"),
    })
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

/// The nominal frame duration in ticks: from the average rate, else a 24th of a second.
fn step_ticks(rate: &str, time_base: (u32, u32)) -> i64 {
    let (num, den) = ratio(rate, '/')
        .filter(|&(num, den)| num > 0 && den > 0)
        .unwrap_or((24, 1));
    let ticks = f64::from(den) * f64::from(time_base.1) / (f64::from(num) * f64::from(time_base.0));
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
