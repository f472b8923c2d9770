//! Clips whose frames carry their own number, and the reading of it.
//!
//! Every frame has a bar code at its top left: twelve cells, the bits of the frame's number from the lowest (white is
//! one), and below them their complement, so that a frame that shows no code, or half of two, is noticed.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use media::{Limits, Prepared, Probe, Sandbox};

/// The sandbox of this machine.
pub static SANDBOX: LazyLock<Sandbox> = LazyLock::new(Sandbox::detect);

/// The bar code, as a filter chain on frames of 320 x 180.
pub fn bar_code() -> String {
    let mut chain = "drawbox=x=0:y=0:w=120:h=20:color=black:t=fill".to_owned();
    for bit in 0..12 {
        let (x, one, two) = (bit * 10, 1 << bit, 2 << bit);
        chain += &format!(
            ",drawbox=x={x}:y=0:w=10:h=10:color=white:t=fill:enable='gte(mod(n,{two}),{one})'"
        );
        chain += &format!(
            ",drawbox=x={x}:y=10:w=10:h=10:color=white:t=fill:enable='lt(mod(n,{two}),{one})'"
        );
    }
    chain
}

/// The source filter of a moving clip of `frames` numbered frames at a rate.
pub fn numbered(frames: u32, rate: &str) -> String {
    format!(
        "testsrc2=s=320x180:r={rate},trim=end_frame={frames},{}",
        bar_code()
    )
}

/// Runs ffmpeg bare, as the maker of test clips.
pub fn ffmpeg(args: &[&str]) {
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin", "-y"])
        .args(args)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "ffmpeg {args:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
}

/// Makes a clip of numbered frames; `args` say how it is stored. It is kept below the build's folder, so that ffmpeg runs
/// once for it and not at every run of the tests.
pub fn clip(folder: &Path, name: &str, frames: u32, rate: &str, args: &[&str]) -> PathBuf {
    let source = numbered(frames, rate);
    let mut all = vec!["-f", "lavfi", "-i", &source];
    all.extend_from_slice(args);
    let path = folder.join(name);
    let kept = kept(&all, &path);
    if !kept.exists() {
        let clips = kept.parent().unwrap();
        std::fs::create_dir_all(clips).unwrap();
        let new = tempfile::tempdir_in(clips).unwrap();
        let file = new.path().join(name);
        all.push(file.to_str().unwrap());
        ffmpeg(&all);
        // In one step: another test may read it meanwhile.
        std::fs::rename(&file, &kept).unwrap();
    }
    std::fs::copy(kept, &path).unwrap();
    path
}

/// Where the clip of these arguments lies: another ffmpeg makes another.
fn kept(args: &[&str], path: &Path) -> PathBuf {
    static FFMPEG: LazyLock<Vec<u8>> = LazyLock::new(|| {
        let version = Command::new("ffmpeg").arg("-version").output();
        version.unwrap().stdout
    });
    let mut hasher = DefaultHasher::new();
    (&*FFMPEG, args).hash(&mut hasher);
    let name = format!("{:016x}", hasher.finish());
    Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("clips")
        .join(name)
        .with_extension(path.extension().unwrap_or_default())
}

/// The numbers read from each frame of a video or image, after a filter that brings the code back to the top left.
/// `None` where there is no whole code.
pub fn numbers(path: &Path, first: &str) -> Vec<Option<u32>> {
    let filter = format!("{first}crop=iw*3/8:ih/9:0:0,scale=12:2:flags=area,format=gray");
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin", "-i"])
        .arg(path)
        .args([
            "-map",
            "0:V:0",
            "-vf",
            &filter,
            "-fps_mode",
            "passthrough",
            "-f",
            "rawvideo",
            "-",
        ])
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    output.stdout.chunks_exact(24).map(number).collect()
}

fn number(cells: &[u8]) -> Option<u32> {
    let bits = |row: &[u8]| row.iter().map(|&level| level > 127).collect::<Vec<_>>();
    let (ones, zeros) = (bits(&cells[..12]), bits(&cells[12..]));
    let whole = ones.iter().zip(&zeros).all(|(one, zero)| one != zero);
    whole.then(|| (0..12).filter(|&bit| ones[bit]).map(|bit| 1 << bit).sum())
}

/// What ffprobe says about the first picture stream, as JSON.
pub fn ffprobe(path: &Path, entries: &str, more: &[&str]) -> serde_json::Value {
    let output = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-select_streams",
            "v:0",
            "-of",
            "json",
            "-show_entries",
            entries,
        ])
        .args(more)
        .arg(path)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Probes and prepares into a folder beside the clip.
pub async fn prepared(path: &Path) -> (Probe, Prepared) {
    let limits = Limits::default();
    let probe = media::probe(&SANDBOX, path, &limits).await.unwrap();
    let out = path.with_extension("out");
    std::fs::create_dir(&out).unwrap();
    let prepared = media::prepare(
        &SANDBOX,
        path,
        &probe,
        &out,
        &limits,
        |_| {},
        std::future::pending(),
    )
    .await
    .unwrap();
    (probe, prepared)
}
