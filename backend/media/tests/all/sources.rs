//! Every kind of source people send prepares with every frame right.
//!
//! Outside reference: ffprobe (of the FFmpeg project) for frame counts and times of the sources and the copies.

use std::path::Path;

use crate::clips::{clip, ffmpeg, ffprobe, numbered, numbers, prepared};
use media::{Prepared, Probe, Size, Sound};

const H264: [&str; 6] = [
    "-c:v",
    "libx264",
    "-preset",
    "ultrafast",
    "-pix_fmt",
    "yuv420p",
];

/// Checks everything that must hold of any source. `upright` brings the bar code of what is shown back to the top
/// left; `expected` are the numbers the shown frames carry.
fn check(path: &Path, probe: &Probe, made: &Prepared, upright: &str, expected: &[u32]) {
    let wanted: Vec<Option<u32>> = expected.iter().copied().map(Some).collect();
    assert_eq!(numbers(&made.copy.path, upright), wanted);
    assert_eq!(made.table.frames() as usize, expected.len());
    check_times(path, made);
    check_copy(&made.copy.path, made.copy.size, expected.len());
    assert!(probe.packets as usize >= expected.len());
}

/// Every cell of the strip shows the frame it says, so does the poster, and the sizes are those told.
fn check_images(made: &Prepared, upright: &str, expected: &[u32]) {
    let numbered = |frame: &u32| Some(expected[*frame as usize]);
    let cells = made.strip.frames.len() as u32;
    let split = format!("untile={cells}x1,{upright}");
    let told: Vec<Option<u32>> = made.strip.frames.iter().map(numbered).collect();
    assert_eq!(numbers(&made.strip.path, &split), told);
    assert_eq!(
        (
            made.strip.frames[0],
            *made.strip.frames.last().unwrap() as usize
        ),
        (0, expected.len() - 1)
    );
    check_size(
        &made.strip.path,
        Size {
            width: made.strip.cell.width * cells,
            ..made.strip.cell
        },
    );
    assert_eq!(
        numbers(&made.poster.path, upright),
        [numbered(&made.poster_frame)]
    );
    check_size(&made.poster.path, made.poster.size);
}

/// The table's rows are what ffprobe says of the decoded frames, wherever it says something.
fn check_times(path: &Path, made: &Prepared) {
    let said = ffprobe(
        path,
        "frame=best_effort_timestamp:stream=time_base",
        &["-show_frames"],
    );
    let frames = said["frames"].as_array().unwrap();
    assert_eq!(
        frames.len(),
        made.table.pts.len(),
        "frames counted by ffprobe"
    );
    for (row, frame) in made.table.pts.iter().zip(frames) {
        if let Some(time) = frame["best_effort_timestamp"].as_i64() {
            assert_eq!(*row, time);
        }
    }
    let tick = format!("{}/{}", made.table.time_base_num, made.table.time_base_den);
    assert_eq!(said["streams"][0]["time_base"], tick);
}

/// Frame i of the copy stands at exactly i/24 s, is a key frame, and none is reordered.
fn check_copy(copy: &Path, size: Size, frames: usize) {
    let said = ffprobe(
        copy,
        "packet=pts,dts,flags:stream=time_base,width,height,has_b_frames,sample_aspect_ratio",
        &[],
    );
    let packets = said["packets"].as_array().unwrap();
    assert_eq!(packets.len(), frames);
    for (i, packet) in packets.iter().enumerate() {
        assert_eq!(packet["pts"], 1_000 * i);
        assert_eq!(packet["dts"], packet["pts"]);
        assert!(packet["flags"].as_str().unwrap().starts_with('K'));
    }
    let stream = &said["streams"][0];
    assert_eq!(stream["time_base"], "1/24000");
    assert_eq!(
        (&stream["has_b_frames"], &stream["sample_aspect_ratio"]),
        (&0.into(), &"1:1".into())
    );
    assert_eq!(
        (&stream["width"], &stream["height"]),
        (&size.width.into(), &size.height.into())
    );
}

fn check_size(image: &Path, size: Size) {
    let stream = &ffprobe(image, "stream=width,height", &[])["streams"][0];
    assert_eq!(
        (&stream["width"], &stream["height"]),
        (&size.width.into(), &size.height.into())
    );
}

fn counted(frames: u32) -> Vec<u32> {
    (0..frames).collect()
}

/// Makes, prepares and checks one clip of 36 numbered frames.
async fn holds(name: &str, rate: &str, store: &[&str], upright: &str) -> (Probe, Prepared) {
    let folder = tempfile::tempdir().unwrap();
    let path = clip(folder.path(), name, 36, rate, store);
    let (probe, made) = prepared(&path).await;
    check(&path, &probe, &made, upright, &counted(36));
    (probe, made)
}

#[tokio::test]
async fn every_frame_rate() {
    for rate in [
        "24000/1001",
        "24",
        "25",
        "30000/1001",
        "30",
        "50",
        "60000/1001",
        "60",
    ] {
        let (probe, made) = holds("rate.mp4", rate, &H264, "").await;
        let (num, den) = rate.split_once('/').unwrap_or((rate, "1"));
        assert_eq!(
            (probe.rate_num.to_string(), probe.rate_den.to_string()),
            (num.to_owned(), den.to_owned())
        );
        assert!(!made.table.is_variable());
        let seconds = 36.0 * den.parse::<f64>().unwrap() / num.parse::<f64>().unwrap();
        assert!(
            (made.table.seconds() - seconds).abs() < 1e-4,
            "{rate}: {}",
            made.table.seconds()
        );
        assert_eq!(made.table.mended, 0);
    }
}

#[tokio::test]
async fn variable_rate() {
    let store = [
        &[
            "-vf",
            "setpts=(N+floor(N/7)*3)/24/TB",
            "-fps_mode",
            "vfr",
            "-video_track_timescale",
            "24000",
        ],
        &H264[..],
    ];
    let (_, made) = holds("variable.mp4", "24", &store.concat(), "").await;
    let steps: Vec<i64> = made
        .table
        .pts
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .collect();
    assert!(steps.contains(&1_000) && steps.contains(&4_000));
    assert!(made.table.is_variable());
}

#[tokio::test]
async fn odd_sides_become_even() {
    let store = [
        "-vf",
        "scale=321:181,setsar=1",
        "-c:v",
        "libx264",
        "-preset",
        "ultrafast",
        "-pix_fmt",
        "yuv444p",
    ];
    let (probe, made) = holds("odd.mp4", "24", &store, "").await;
    assert_eq!((probe.shown.width, probe.shown.height), (321, 181));
    assert_eq!((made.copy.size.width, made.copy.size.height), (322, 182));
}

#[tokio::test]
async fn turned_pictures_stand_upright() {
    for (degrees, upright, size) in [
        ("90", "transpose=1,", (180, 320)),
        ("180", "hflip,vflip,", (320, 180)),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let flat = clip(folder.path(), "flat.mp4", 36, "24", &H264);
        let path = folder.path().join("turned.mp4");
        let turn = format!("rotate={degrees}");
        ffmpeg(&[
            "-i",
            flat.to_str().unwrap(),
            "-c",
            "copy",
            "-metadata:s:v:0",
            &turn,
            path.to_str().unwrap(),
        ]);
        let (probe, made) = prepared(&path).await;
        assert_eq!((probe.shown.width, probe.shown.height), size);
        check(&path, &probe, &made, upright, &counted(36));
        check_images(&made, upright, &counted(36));
    }
}

#[tokio::test]
async fn an_edit_list_hides_frames() {
    let folder = tempfile::tempdir().unwrap();
    let whole = clip(
        folder.path(),
        "whole.mp4",
        72,
        "24",
        &[&H264[..], &["-g", "24"]].concat(),
    );
    let path = folder.path().join("trimmed.mp4");
    // A copy that starts between key frames: the frames from the key frame on are stored but hidden.
    ffmpeg(&[
        "-ss",
        "0.5",
        "-i",
        whole.to_str().unwrap(),
        "-c",
        "copy",
        path.to_str().unwrap(),
    ]);
    let (probe, made) = prepared(&path).await;
    let shown: Vec<u32> = (12..72).collect();
    check(&path, &probe, &made, "", &shown);
    check_images(&made, "", &shown);
    let stored = ffprobe(&path, "stream=nb_read_packets", &["-count_packets"]);
    assert_eq!(stored["streams"][0]["nb_read_packets"], "72");
    assert_eq!(probe.packets, 60);
}

#[tokio::test]
async fn production_codecs() {
    holds(
        "ten-bit.mp4",
        "24",
        &[
            "-c:v",
            "libx265",
            "-preset",
            "ultrafast",
            "-x265-params",
            "log-level=none",
            "-pix_fmt",
            "yuv420p10le",
        ],
        "",
    )
    .await;
    holds(
        "prores.mov",
        "24",
        &["-c:v", "prores_ks", "-profile:v", "2"],
        "",
    )
    .await;
    holds("motion-jpeg.mov", "24", &["-c:v", "mjpeg", "-q:v", "3"], "").await;
}

#[tokio::test]
async fn alpha() {
    holds(
        "alpha.mov",
        "24",
        &["-c:v", "qtrle", "-pix_fmt", "argb"],
        "",
    )
    .await;
    holds(
        "alpha-prores.mov",
        "24",
        &[
            "-c:v",
            "prores_ks",
            "-profile:v",
            "4444",
            "-pix_fmt",
            "yuva444p10le",
        ],
        "",
    )
    .await;
    holds(
        "alpha.webm",
        "24",
        &[
            "-c:v",
            "libvpx-vp9",
            "-deadline",
            "realtime",
            "-cpu-used",
            "8",
            "-pix_fmt",
            "yuva420p",
        ],
        "",
    )
    .await;
}

#[tokio::test]
async fn sample_aspect_and_full_range() {
    let (probe, made) = holds(
        "aspect.mp4",
        "24",
        &[&["-vf", "setsar=4/3"], &H264[..]].concat(),
        "",
    )
    .await;
    assert_eq!(
        (
            probe.shown.width,
            made.copy.size.width,
            made.copy.size.height
        ),
        (427, 428, 180)
    );
    let full = [
        "-vf",
        "scale=out_range=pc",
        "-c:v",
        "libx264",
        "-preset",
        "ultrafast",
        "-pix_fmt",
        "yuvj420p",
    ];
    holds("full-range.mp4", "24", &full, "").await;
}

#[tokio::test]
async fn other_containers() {
    let (_, avi) = holds(
        "old.avi",
        "24",
        &["-c:v", "mpeg4", "-q:v", "3", "-bf", "2"],
        "",
    )
    .await;
    assert!(avi.table.pts.windows(2).all(|pair| pair[0] < pair[1]));
    // Whole milliseconds: 59.94 a second gives steps of 16 and 17.
    let (probe, mkv) = holds("rounded.mkv", "60000/1001", &H264, "").await;
    assert_eq!(
        (probe.rate_num, probe.rate_den, mkv.table.is_variable()),
        (60_000, 1_001, false)
    );
    let steps: Vec<i64> = mkv
        .table
        .pts
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .collect();
    assert!(steps.contains(&16) && steps.contains(&17));
}

#[tokio::test]
async fn frames_that_share_a_time_are_all_kept() {
    // 2,000 a second in whole milliseconds: every other frame shares its neighbour's time.
    let (_, made) = holds(
        "equal.mkv",
        "2000",
        &["-c:v", "mjpeg", "-q:v", "3", "-fps_mode", "passthrough"],
        "",
    )
    .await;
    assert!(made.table.pts.windows(2).any(|pair| pair[0] == pair[1]));
    assert_eq!(made.table.mended, 0);
}

#[tokio::test]
async fn a_source_larger_than_the_copy_gets_a_larger_one_too() {
    let folder = tempfile::tempdir().unwrap();
    let store = [&["-vf", "scale=2560:1440:flags=neighbor"], &H264[..]].concat();
    let path = clip(folder.path(), "large.mp4", 6, "24", &store);
    let (probe, made) = prepared(&path).await;
    check(&path, &probe, &made, "", &counted(6));
    let large = made.large.unwrap();
    assert_eq!(
        (made.copy.size.width, large.size.width, large.size.height),
        (1_280, 1_920, 1_080)
    );
    check_copy(&large.path, large.size, 6);
    assert_eq!(
        numbers(&large.path, ""),
        counted(6).into_iter().map(Some).collect::<Vec<_>>()
    );
}

/// The time of the first loud sample, in seconds.
fn onset(path: &Path) -> f64 {
    let output = std::process::Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin", "-i"])
        .arg(path)
        .args(["-ac", "1", "-ar", "48000", "-f", "s16le", "-"])
        .output()
        .unwrap();
    let loud = output
        .stdout
        .chunks_exact(2)
        .position(|pair| i16::from_le_bytes([pair[0], pair[1]]).abs() > 2_000);
    loud.unwrap() as f64 / 48_000.0
}

#[tokio::test]
async fn sound_begins_with_the_first_frame() {
    let folder = tempfile::tempdir().unwrap();
    let whole = folder.path().join("whole.mp4");
    // A tone from 1.5 s on, the 36th frame.
    let tone = "aevalsrc='gte(t,1.5)*sin(2*PI*1000*t)/2':s=48000:d=3";
    let source = numbered(72, "24");
    let mut args = vec!["-f", "lavfi", "-i", &source, "-f", "lavfi", "-i", tone];
    args.extend([&H264[..], &["-g", "24", "-c:a", "aac"]].concat());
    args.push(whole.to_str().unwrap());
    ffmpeg(&args);
    let whole_text = whole.to_str().unwrap();
    let cases: [(&str, &[&str], f64, Vec<u32>); 3] = [
        ("same.mp4", &["-i", whole_text], 1.5, counted(72)),
        (
            "trimmed.mp4",
            &["-ss", "0.5", "-i", whole_text],
            1.0,
            (12..72).collect(),
        ),
        (
            "late.mkv",
            &[
                "-i",
                whole_text,
                "-itsoffset",
                "0.25",
                "-i",
                whole_text,
                "-map",
                "0:v",
                "-map",
                "1:a",
            ],
            1.75,
            counted(72),
        ),
    ];
    for (name, cut, at, expected) in cases {
        let path = folder.path().join(name);
        ffmpeg(&[cut, &["-c", "copy", path.to_str().unwrap()]].concat());
        let (probe, made) = prepared(&path).await;
        check(&path, &probe, &made, "", &expected);
        assert_eq!(made.sound, Sound::Kept);
        let heard = onset(&made.sound_path.unwrap());
        assert!(
            (heard - at).abs() < 0.003,
            "{name}: tone at {heard} instead of {at}"
        );
    }
}
