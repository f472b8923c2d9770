//! Progress, cancelling, limits and faults of a preparation.

use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use media::{Limits, PrepareError, Prepared, Probe, Refusal, Sandbox, Sound, TryAgain};
use tempfile::TempDir;

use crate::clips::{SANDBOX, clip, ffmpeg, numbered, numbers};

/// A clip that takes a while: noise.
struct Slow {
    folder: TempDir,
    path: PathBuf,
    probe: Probe,
}

impl Slow {
    async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = [
            "-vf",
            "scale=640:360,noise=alls=60:allf=t",
            "-c:v",
            "mjpeg",
            "-q:v",
            "2",
            "-pix_fmt",
            "yuvj420p",
        ];
        let path = clip(folder.path(), "slow.mov", 60, "24", &store);
        let probe = media::probe(&SANDBOX, &path, &Limits::default())
            .await
            .unwrap();
        Self {
            folder,
            path,
            probe,
        }
    }

    fn out(&self) -> PathBuf {
        let out = self.folder.path().join("out");
        std::fs::create_dir_all(&out).unwrap();
        out
    }

    async fn prepare(
        &self,
        limits: &Limits,
        progress: impl Fn(f32) + Send + Sync,
        cancel: impl Future<Output = ()> + Send,
    ) -> Result<Prepared, PrepareError> {
        media::prepare(
            &SANDBOX,
            &self.path,
            &self.probe,
            &self.out(),
            limits,
            progress,
            cancel,
        )
        .await
    }

    /// Nothing is left in the folder, and nobody works on the clip any more.
    fn assert_clean(&self) {
        assert_eq!(std::fs::read_dir(self.out()).unwrap().count(), 0);
        assert!(!lives(self.folder.path()), "a program outlived its call");
    }
}

/// Whether any process has the folder among its arguments.
fn lives(folder: &Path) -> bool {
    let name = folder.to_str().unwrap().as_bytes();
    std::fs::read_dir("/proc").unwrap().flatten().any(|entry| {
        std::fs::read(entry.path().join("cmdline"))
            .is_ok_and(|line| line.windows(name.len()).any(|part| part == name))
    })
}

#[tokio::test]
async fn progress_rises_from_nothing_to_all() {
    let slow = Slow::new().await;
    let seen = Mutex::new(Vec::new());
    let note = |share| seen.lock().unwrap().push(share);
    slow.prepare(&Limits::default(), note, std::future::pending())
        .await
        .unwrap();
    let seen = seen.into_inner().unwrap();
    assert_eq!((seen.first(), seen.last()), (Some(&0.0), Some(&1.0)));
    assert!(seen.is_sorted() && seen.len() > 10, "{seen:?}");
    assert!(seen.iter().any(|share| (0.2..0.8).contains(share)));
}

#[tokio::test]
async fn cancelling_ends_everything_at_once_and_leaves_nothing() {
    let slow = Slow::new().await;
    let (half, is_half) = tokio::sync::watch::channel(false);
    let mut wait = is_half.clone();
    let at_half = |share: f32| {
        if share > 0.3 {
            half.send_replace(true);
        }
    };
    let cancel = async move {
        wait.wait_for(|is| *is).await.unwrap();
    };
    let error = slow
        .prepare(&Limits::default(), at_half, cancel)
        .await
        .unwrap_err();
    assert!(matches!(error, PrepareError::Cancelled), "{error}");
    slow.assert_clean();
    let error = slow
        .prepare(&Limits::default(), |_| {}, std::future::ready(()))
        .await
        .unwrap_err();
    assert!(matches!(error, PrepareError::Cancelled), "{error}");
    slow.assert_clean();
}

#[tokio::test]
async fn dropping_the_call_ends_everything_too() {
    let slow = Slow::new().await;
    let started = tokio::sync::Notify::new();
    let limits = Limits::default();
    let at_work = |share: f32| {
        if share > 0.1 {
            started.notify_one();
        }
    };
    // Between two programs of the work none lives.
    let seen_at_work = async {
        started.notified().await;
        while !lives(slow.folder.path()) {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
    };
    tokio::select! {
        _ = slow.prepare(&limits, at_work, std::future::pending()) => panic!("it ended before it was seen at work and dropped"),
        () = seen_at_work => {}
    }
    let until = Instant::now() + Duration::from_secs(2);
    while lives(slow.folder.path()) && Instant::now() < until {
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
    slow.assert_clean();
}

#[tokio::test]
async fn faults_of_the_server_can_be_tried_again() {
    let slow = Slow::new().await;
    let hasty = Limits {
        prepare_wall: Duration::from_millis(150),
        ..Limits::default()
    };
    let error = slow
        .prepare(&hasty, |_| {}, std::future::pending())
        .await
        .unwrap_err();
    assert!(
        matches!(error, PrepareError::Again(TryAgain::TimedOut { .. })),
        "{error}"
    );
    slow.assert_clean();
    let nowhere = slow.folder.path().join("nowhere");
    let limits = Limits::default();
    let made = media::prepare(
        &SANDBOX,
        &slow.path,
        &slow.probe,
        &nowhere,
        &limits,
        |_| {},
        std::future::pending(),
    );
    let error = made.await.unwrap_err();
    assert!(
        matches!(error, PrepareError::Again(TryAgain::System(_))),
        "{error}"
    );
}

#[tokio::test]
async fn a_full_disk_can_be_tried_again() {
    let slow = Slow::new().await;
    // A file system of 300 kB, where this test may mount one.
    let disk = slow.folder.path().join("disk");
    std::fs::create_dir(&disk).unwrap();
    let mount = |args: &[&str]| {
        std::process::Command::new("mount")
            .args(args)
            .arg(&disk)
            .status()
    };
    if !mount(&["-t", "tmpfs", "-o", "size=300k", "tmpfs"]).is_ok_and(|status| status.success()) {
        eprintln!("not checked: mounting is not allowed here");
        return;
    }
    let limits = Limits::default();
    let made = media::prepare(
        &SANDBOX,
        &slow.path,
        &slow.probe,
        &disk,
        &limits,
        |_| {},
        std::future::pending(),
    )
    .await;
    let left = std::fs::read_dir(&disk).unwrap().count();
    assert!(
        std::process::Command::new("umount")
            .arg(&disk)
            .status()
            .unwrap()
            .success()
    );
    let error = made.unwrap_err();
    assert!(
        matches!(error, PrepareError::Again(TryAgain::DiskFull)),
        "{error}"
    );
    assert_eq!(left, 0);
}

#[tokio::test]
async fn a_file_at_fault_is_refused_for_good() {
    let slow = Slow::new().await;
    let refusal = |made: Result<Prepared, PrepareError>| match made {
        Err(PrepareError::ForGood(refusal)) => refusal,
        other => panic!("{other:?}"),
    };
    // More frames decoded than allowed: never cut in silence.
    let few = Limits {
        frames: 59,
        ..Limits::default()
    };
    let made = slow.prepare(&few, |_| {}, std::future::pending()).await;
    assert_eq!(refusal(made), Refusal::TooManyFrames { limit: 59 });
    slow.assert_clean();
    // A frame in the middle is spoilt.
    let spoilt = slow.folder.path().join("spoilt.mov");
    let good = clip(
        slow.folder.path(),
        "good.mov",
        24,
        "24",
        &["-c:v", "png", "-pix_fmt", "rgb24"],
    );
    let mut bytes = std::fs::read(good).unwrap();
    let heads: Vec<usize> = (0..bytes.len() - 4)
        .filter(|&i| &bytes[i..i + 4] == b"IHDR")
        .collect();
    bytes[heads[12]..heads[12] + 12].fill(0);
    std::fs::write(&spoilt, bytes).unwrap();
    let limits = Limits::default();
    let probe = media::probe(&SANDBOX, &spoilt, &limits).await.unwrap();
    let made = media::prepare(
        &SANDBOX,
        &spoilt,
        &probe,
        &slow.out(),
        &limits,
        |_| {},
        std::future::pending(),
    )
    .await;
    assert_eq!(refusal(made), Refusal::Unreadable);
    slow.assert_clean();
}

#[tokio::test]
async fn sound_that_cannot_be_decoded_does_not_cost_the_shot() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("noisy.mov");
    let source = numbered(24, "24");
    let store = [
        "-c:v", "mjpeg", "-c:a", "flac", "-strict", "-2", "-f", "matroska",
    ];
    let inputs = [
        "-f",
        "lavfi",
        "-i",
        &source,
        "-f",
        "lavfi",
        "-i",
        "anoisesrc=d=1",
    ];
    ffmpeg(&[&inputs[..], &store, &[path.to_str().unwrap()]].concat());
    // Spoil the sound's frames by their sync code, and leave the picture alone.
    let mut bytes = std::fs::read(&path).unwrap();
    let starts: Vec<usize> = (0..bytes.len() - 64)
        .filter(|&i| bytes[i] == 0xff && bytes[i + 1] == 0xf8)
        .collect();
    for start in starts {
        bytes[start..start + 2].fill(0);
    }
    std::fs::write(&path, bytes).unwrap();
    let (probe, made) = crate::clips::prepared(&path).await;
    assert!(probe.has_sound);
    assert_eq!((made.sound, made.sound_path), (Sound::Unreadable, None));
    assert_eq!(numbers(&made.copy.path, "").len(), 24);
}

#[tokio::test]
async fn without_namespaces_the_results_are_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let path = clip(
        folder.path(),
        "plain.mp4",
        24,
        "24",
        &["-c:v", "mpeg4", "-q:v", "3"],
    );
    let limits = Limits::default();
    let mut copies = Vec::new();
    for (name, sandbox) in [
        ("shut", SANDBOX.clone()),
        ("bare", Sandbox::detect().without_namespaces()),
    ] {
        let out = folder.path().join(name);
        std::fs::create_dir(&out).unwrap();
        let probe = media::probe(&sandbox, &path, &limits).await.unwrap();
        let made = media::prepare(
            &sandbox,
            &path,
            &probe,
            &out,
            &limits,
            |_| {},
            std::future::pending(),
        )
        .await
        .unwrap();
        copies.push((std::fs::read(&made.copy.path).unwrap(), made.table));
    }
    assert_eq!(copies[0], copies[1]);
}
