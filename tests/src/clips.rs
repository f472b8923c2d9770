//! Clips made by ffmpeg. Each is kept below the build's folder, so that ffmpeg runs once for it and not at every run of the tests.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

/// A clip made by ffmpeg: what its words say, as the bytes of a file with that ending.
pub fn clip(ending: &str, words: &[&str]) -> Vec<u8> {
    let kept = kept(ending, words);
    if let Ok(bytes) = std::fs::read(&kept) {
        return bytes;
    }
    let folder = kept.parent().expect("a folder");
    std::fs::create_dir_all(folder).expect("a folder for clips");
    let new = tempfile::tempdir_in(folder).expect("a folder");
    let file = new.path().join("clip").with_extension(ending);
    make(words, &file);
    let bytes = std::fs::read(&file).expect("a clip");
    // In one step: another test may read it meanwhile.
    std::fs::rename(file, kept).expect("the clip in its place");
    bytes
}

/// Words for H.264 made quickly.
pub const H264: [&str; 6] = [
    "-c:v",
    "libx264",
    "-preset",
    "ultrafast",
    "-pix_fmt",
    "yuv420p",
];

/// A clip that moves, 160 x 90 at 24 frames a second, of so many frames.
pub fn moving(frames: u32) -> Vec<u8> {
    let frames = frames.to_string();
    let source = ["-f", "lavfi", "-i", "testsrc2=size=160x90:rate=24"];
    clip(
        "mp4",
        &[&source[..], &["-frames:v", &frames], &H264].concat(),
    )
}

fn make(words: &[&str], file: &Path) {
    let status = Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin", "-y"])
        .args(words)
        .arg(file)
        .status()
        .expect("ffmpeg runs");
    assert!(status.success(), "{words:?}");
}

/// Where the clip of these words lies: another ffmpeg makes another.
fn kept(ending: &str, words: &[&str]) -> PathBuf {
    static FFMPEG: LazyLock<Vec<u8>> = LazyLock::new(|| {
        let version = Command::new("ffmpeg").arg("-version").output();
        version.expect("ffmpeg runs").stdout
    });
    let mut hasher = DefaultHasher::new();
    (&*FFMPEG, words).hash(&mut hasher);
    let name = format!("{:016x}.{ending}", hasher.finish());
    Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("clips")
        .join(name)
}
