//! What preparing costs, against the same ffmpeg commands run bare in the same run, and what a copy of key frames only
//! costs against one with a key frame in twelve.
//!
//! Prints `name<TAB>value<TAB>unit` lines. Each time is the least of five, the sides taking turns, so
//! that what else the machine does weighs little.
#![expect(clippy::print_stdout, reason = "its output is its purpose")]

use std::error::Error;
use std::ffi::OsString;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use media::{Limits, RawVideo, Sandbox, Size, bare_commands, encode_raw, prepare, probe};

const TURNS: usize = 5;
const FRAMES: u32 = 120;

type Outcome<T> = Result<T, Box<dyn Error>>;

#[tokio::main]
async fn main() -> Outcome<()> {
    let sandbox = Sandbox::detect();
    println!("isolated\t{}\tbool", u8::from(sandbox.is_isolated()));
    for (name, width, height) in [
        ("360p", 640, 360),
        ("720p", 1_280, 720),
        ("1080p", 1_920, 1_080),
    ] {
        let folder = tempfile::tempdir()?;
        let clip = folder.path().join("clip.mp4");
        draw_clip(&sandbox, &clip, Size { width, height }).await?;
        compare(&sandbox, name, &clip, folder.path()).await?;
    }
    Ok(())
}

/// Five seconds with sound: a figure of soft discs that swing before a shaded ground.
async fn draw_clip(sandbox: &Sandbox, clip: &Path, size: Size) -> Outcome<()> {
    let silent = clip.with_extension("silent.mp4");
    let video = RawVideo {
        size,
        rate_num: 24,
        rate_den: 1,
    };
    encode_raw(
        sandbox,
        &silent,
        video,
        (0..FRAMES).map(move |i| draw(i, size)),
    )
    .await?;
    let status = Command::new("ffmpeg")
        .args(["-v", "error", "-y", "-i"])
        .arg(silent)
        .args([
            "-f", "lavfi", "-i", "sine=d=5", "-c:v", "copy", "-c:a", "aac",
        ])
        .arg(clip)
        .status()?;
    if status.success() {
        Ok(())
    } else {
        Err("the clip could not be made".into())
    }
}

fn draw(frame: u32, size: Size) -> Vec<u8> {
    let time = frame as f32 / 24.0;
    let unit = size.height as f32;
    let joints: Vec<(f32, f32, f32)> = (0..14)
        .map(|k| {
            let k = k as f32;
            let swing = (time * (1.0 + k * 0.13) * 2.0).sin();
            (
                0.88 + swing * 0.03 * k,
                0.2 + 0.05 * k,
                0.03 + 0.004 * (13.0 - k),
            )
        })
        .collect();
    let mut pixels = Vec::with_capacity(size.width as usize * size.height as usize * 3);
    for y in 0..size.height {
        for x in 0..size.width {
            let (u, v) = (x as f32 / unit, y as f32 / unit);
            let near = joints
                .iter()
                .map(|&(cx, cy, r)| ((u - cx).powi(2) + (v - cy).powi(2)) / (r * r))
                .fold(f32::MAX, f32::min);
            let cover = ((1.15 - near) / 0.15).clamp(0.0, 1.0);
            let ground = 90.0
                + 90.0 * v
                + if v > 0.85 {
                    ((u * 40.0).sin() * (v * 90.0).sin()) * 18.0
                } else {
                    0.0
                };
            let level = |tint: f32| {
                (ground * (1.0 - cover) + (60.0 + tint * (1.2 - near * 0.5)) * cover) as u8
            };
            pixels.extend([level(150.0), level(110.0), level(70.0)]);
        }
    }
    pixels
}

async fn compare(sandbox: &Sandbox, name: &str, clip: &Path, folder: &Path) -> Outcome<()> {
    let limits = Limits::default();
    let facts = probe(sandbox, clip, &limits).await?;
    let (mut probed, mut ours, mut bare, mut sparse) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let mut bytes = (0, 0);
    for turn in 0..TURNS {
        let start = Instant::now();
        probe(sandbox, clip, &limits).await?;
        probed.push(start.elapsed().as_secs_f64());

        let out = folder.join(format!("ours-{turn}"));
        std::fs::create_dir(&out)?;
        let start = Instant::now();
        let made = prepare(
            sandbox,
            clip,
            &facts,
            &out,
            &limits,
            |_| {},
            std::future::pending(),
        )
        .await?;
        ours.push(start.elapsed().as_secs_f64());

        let commands = bare_commands(clip, &facts, &made.table, &limits);
        let out = folder.join(format!("bare-{turn}"));
        bare.push(run_all(&commands, &out)?);
        let out = folder.join(format!("sparse-{turn}"));
        sparse.push(run_all(&key_frame_in_twelve(&commands), &out)?);
        bytes = (
            made.copy.bytes,
            std::fs::metadata(out.join("copy.mp4"))?.len(),
        );
    }
    let [probed, ours, bare, sparse] = [probed, ours, bare, sparse].map(least);
    println!("probe_{name}\t{probed:.3}\ts");
    println!("prepare_{name}\t{ours:.3}\ts");
    println!("prepare_{name}_bare_ffmpeg\t{bare:.3}\ts");
    println!("prepare_{name}_to_bare\t{:.3}\tratio", ours / bare);
    println!("copy_{name}_all_key_frames\t{}\tbytes", bytes.0);
    println!("copy_{name}_key_frame_in_12\t{}\tbytes", bytes.1);
    println!(
        "copy_{name}_all_to_12\t{:.3}\tbytes ratio",
        bytes.0 as f64 / bytes.1 as f64
    );
    println!("prepare_{name}_all_to_12\t{:.3}\ttime ratio", bare / sparse);
    Ok(())
}

/// The same commands, but with a key frame in twelve.
fn key_frame_in_twelve(commands: &[Vec<OsString>]) -> Vec<Vec<OsString>> {
    let sparse = |command: &Vec<OsString>| {
        let mut command = command.clone();
        let groups: Vec<usize> = (1..command.len())
            .filter(|&i| command[i - 1] == "-g")
            .collect();
        for at in groups {
            command[at] = "12".into();
        }
        command
    };
    commands.iter().map(sparse).collect()
}

/// Runs the commands one after the other in a new folder; returns the seconds.
fn run_all(commands: &[Vec<OsString>], folder: &Path) -> Outcome<f64> {
    std::fs::create_dir(folder)?;
    let start = Instant::now();
    for command in commands {
        // The same niceness as inside the sandbox; what the frame table is read from goes nowhere.
        let status = Command::new("nice")
            .args(["-n", "5"])
            .args(command)
            .current_dir(folder)
            .stdout(Stdio::null())
            .status()?;
        if !status.success() {
            return Err("a bare command failed".into());
        }
    }
    Ok(start.elapsed().as_secs_f64())
}

fn least(times: Vec<f64>) -> f64 {
    times.into_iter().fold(f64::MAX, f64::min)
}
