//! What `refrain align` and `refrain track` say of real files, and what they refuse.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use serde_json::Value;
use tempfile::TempDir;
use tests::harness::cluster::cluster;
use tests::harness::process::{command, output};

use crate::clips::{H264, clip};

/// Frames of the ball's clip: more than are followed in memory.
const FRAMES: usize = 440;

/// A ball of one colour on its way from (34.5, 34.5), half a pixel right and a quarter down a frame, from frame `first` on.
fn ball(first: usize) -> Vec<u8> {
    let (x, y) = (format!("20+(n+{first})/2"), format!("20+(n+{first})/4"));
    let ball = "color=0xd04030:s=30x30:r=24,format=rgba,\
        geq=r='r(X,Y)':g='g(X,Y)':b='b(X,Y)':a='255*lte(hypot(X-14.5,Y-14.5),14)'";
    let frames = (FRAMES - first).to_string();
    let graph = format!("[0][1]overlay=x='{x}':y='{y}'");
    let sources = [
        "-f",
        "lavfi",
        "-i",
        "color=0x909090:s=320x180:r=24",
        "-f",
        "lavfi",
        "-i",
        ball,
    ];
    let drawn = ["-filter_complex", &graph, "-frames:v", &frames];
    clip("mp4", &[&sources[..], &drawn, &H264].concat())
}

fn laid(folder: &TempDir, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.path().join(name);
    fs::write(&path, bytes).expect("a file");
    path
}

fn asked(words: &[&str], files: &[&Path]) -> Output {
    let var = cluster().var_folder();
    output(command(&var).arg(words[0]).args(files).args(&words[1..]))
}

fn answer(shown: &Output) -> Value {
    let said = String::from_utf8_lossy(&shown.stderr);
    assert!(shown.status.success(), "{said}");
    serde_json::from_slice(&shown.stdout).expect("JSON")
}

#[test]
fn a_trimmed_clip_lies_where_it_was_cut() {
    let folder = tempfile::tempdir().expect("a folder");
    let old = laid(&folder, "r1.mp4", &ball(0));
    let new = laid(&folder, "r2.mp4", &ball(90));
    let told = answer(&asked(&["align", "--json"], &[&old, &new]));
    assert_eq!(told["old_frames"], FRAMES);
    assert_eq!(told["new_frames"], FRAMES - 90);
    assert_eq!(told["grid"], serde_json::json!([16, 9]));
    let map = told["map"].as_array().expect("a map");
    assert_eq!(map.len(), FRAMES - 90);
    for (i, row) in map.iter().enumerate() {
        assert_eq!(row["new"], i);
        let old = row["old"].as_f64().expect("a place");
        assert!((old - (i + 90) as f64).abs() <= 2.0, "{row}");
        assert!(row["confidence"].as_f64().is_some_and(|c| c > 0.8), "{row}");
    }
    let changes = told["change"].as_array().expect("changes");
    assert_eq!(changes.len(), FRAMES - 90);
    assert!(changes.iter().all(|c| c["value"].as_f64() < Some(0.5)));
    assert!(changes.iter().all(|c| {
        c["cells"]
            .as_array()
            .is_some_and(|cells| cells.len() == 144)
    }));
    let table = asked(&["align"], &[&old, &new]);
    let table = String::from_utf8_lossy(&table.stdout).into_owned();
    assert!(
        table.starts_with("350 new frames on 440 old ones"),
        "{table}"
    );
    assert!(
        table.contains("1-350") && table.contains("-440.0"),
        "{table}"
    );
}

#[test]
fn a_point_is_followed_through_more_frames_than_fit_in_memory() {
    let folder = tempfile::tempdir().expect("a folder");
    let shot = laid(&folder, "ball.mp4", &ball(0));
    let click = ["--point", "134.5,84.5", "--frame", "200"];
    let words = [&["track", "--json"][..], &click].concat();
    let told = answer(&asked(&words, &[&shot]));
    let frames = told["frames"].as_array().expect("frames");
    assert_eq!(frames.len(), FRAMES);
    for (t, point) in frames.iter().enumerate() {
        assert_eq!(point["frame"], t);
        assert_eq!(point["lost"], false, "{point}");
        let at = |name: &str| point[name].as_f64().expect("a number");
        let (x, y) = (34.5 + t as f64 / 2.0, 34.5 + t as f64 / 4.0);
        // The overlay rounds to whole pixels, and colour to every second one.
        assert!((at("x") - x).hypot(at("y") - y) < 3.0, "{point}");
    }
    let table = asked(&[&["track"][..], &click].concat(), &[&shot]);
    let table = String::from_utf8_lossy(&table.stdout).into_owned();
    assert!(table.starts_with("seen on 440 of 440 frames"), "{table}");
}

#[test]
fn what_is_no_clip_is_refused_with_a_reason_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let good = laid(&folder, "good.mp4", &crate::clips::moving(24));
    let still = laid(&folder, "one.mp4", &crate::clips::moving(1));
    let text = laid(&folder, "text.mp4", b"a list of what to do on Monday\n");
    let empty = laid(&folder, "empty.mp4", b"");
    let colour = ["-f", "lavfi", "-i", "color=gray:s=64x36:r=2000:d=50"];
    let many = clip("mp4", &[&colour[..], &H264].concat());
    let many = laid(&folder, "many.mp4", &many);
    let gone = folder.path().join("gone.mp4");
    for (file, reason) in [
        (&still, "one frame"),
        (&text, "text file"),
        (&empty, "empty"),
        (&many, "more than 3600 frames"),
        (&gone, "cannot be read: No such file"),
    ] {
        for shown in [
            asked(&["align", "--json"], &[file, &good]),
            asked(&["align", "--json"], &[&good, file]),
            asked(
                &["track", "--json", "--point", "9,9", "--frame", "0"],
                &[file],
            ),
        ] {
            let said = String::from_utf8_lossy(&shown.stderr);
            assert_eq!(shown.status.code(), Some(2), "{said}");
            assert!(shown.stdout.is_empty(), "{file:?} was answered");
            assert!(said.contains(reason), "{said}");
            assert!(said.contains(".mp4"), "{said}");
        }
    }
    for (point, frame, reason) in [
        ("9,9", "24", "outside the clip"),
        ("500,9", "0", "outside the picture"),
        ("nan,9", "0", "two numbers"),
    ] {
        let words = ["track", "--json", "--point", point, "--frame", frame];
        let shown = asked(&words, &[&good]);
        let said = String::from_utf8_lossy(&shown.stderr);
        assert_eq!(shown.status.code(), Some(2), "{said}");
        assert!(shown.stdout.is_empty() && said.contains(reason), "{said}");
    }
}
