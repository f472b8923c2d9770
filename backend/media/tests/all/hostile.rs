//! Files sent by mistake, damaged on the way, or made to do harm. Each is refused with the reason its sender can act on,
//! or prepares; none makes anything else be read, reached or run.
//!
//! Proof of the last: beside each sample lies a bait, a sound video that samples name and that would prepare; the
//! kernel (inotify(7)) reports any opening of it, and a listening socket any connection.

use std::io::ErrorKind;
use std::mem::MaybeUninit;
use std::net::TcpListener;
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

use media::{Limits, Refusal, Sandbox};
use rustix::fs::inotify;
use tempfile::TempDir;

use crate::clips::{SANDBOX, clip, ffmpeg, numbers, prepared};
use crate::surgery::{boxed, edit};

const H264: [&str; 6] = [
    "-c:v",
    "libx264",
    "-preset",
    "ultrafast",
    "-pix_fmt",
    "yuv420p",
];

/// A folder with a bait in it, both watched.
struct Lab {
    folder: TempDir,
    watch: OwnedFd,
    listener: TcpListener,
}

impl Lab {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let bait = clip(folder.path(), "bait.mp4", 12, "24", &H264);
        let watch = inotify::init(inotify::CreateFlags::NONBLOCK).unwrap();
        inotify::add_watch(
            &watch,
            &bait,
            inotify::WatchFlags::OPEN | inotify::WatchFlags::ACCESS,
        )
        .unwrap();
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        listener.set_nonblocking(true).unwrap();
        Self {
            folder,
            watch,
            listener,
        }
    }

    fn bait(&self) -> PathBuf {
        self.folder.path().join("bait.mp4")
    }

    fn address(&self) -> String {
        format!("http://{}/bait.mp4", self.listener.local_addr().unwrap())
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// Makes a small good clip and returns its bytes.
    fn good(&self, name: &str, more: &[&str]) -> Vec<u8> {
        std::fs::read(clip(
            self.folder.path(),
            name,
            24,
            "24",
            &[&H264[..], more].concat(),
        ))
        .unwrap()
    }

    async fn refused(&self, name: &str, bytes: impl AsRef<[u8]>, code: &str) {
        refused(&self.write(name, bytes), code).await;
    }

    fn bait_was_opened(&self) -> bool {
        let mut buffer = [MaybeUninit::uninit(); 1_024];
        inotify::Reader::new(&self.watch, &mut buffer)
            .next()
            .is_ok()
    }

    fn assert_untouched(&self) {
        assert!(
            !self.bait_was_opened(),
            "a sample made its neighbour be opened"
        );
        assert_eq!(
            self.listener.accept().unwrap_err().kind(),
            ErrorKind::WouldBlock,
            "a sample reached the network"
        );
        // The watch must be able to notice.
        std::fs::read(self.bait()).unwrap();
        assert!(self.bait_was_opened());
    }
}

async fn reason(path: &Path) -> Refusal {
    let refusal = media::probe(&SANDBOX, path, &Limits::default())
        .await
        .unwrap_err();
    // Two sentences or more: the reason, and what to do.
    let words = refusal.to_string();
    assert!(
        words.ends_with('.') && words.matches(['.', ':', ';']).count() > 1,
        "{words}"
    );
    assert!(!refusal.may_pass_later(), "{words}");
    refusal
}

async fn refused(path: &Path, code: &str) {
    assert_eq!(reason(path).await.code(), code, "{}", path.display());
}

#[tokio::test]
async fn things_that_are_no_video() {
    let lab = Lab::new();
    let (bait, address) = (lab.bait(), lab.address());
    let bait = bait.display();
    lab.refused("empty.mp4", b"", "empty").await;
    let mut state = 1u64;
    let noise = std::iter::repeat_with(|| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 56) as u8
    });
    lab.refused(
        "noise.mp4",
        noise.take(100_000).collect::<Vec<_>>(),
        "not-a-video",
    )
    .await;
    lab.refused(
        "text.mp4",
        "Dear mentor, the shot follows tomorrow.\n",
        "something-else",
    )
    .await;
    lab.refused("filter.mp4", format!("movie={bait}\n"), "something-else")
        .await;
    lab.refused(
        "page.mp4",
        "<!DOCTYPE html><html><body>404</body></html>",
        "something-else",
    )
    .await;
    for target in [
        "bait.mp4".to_owned(),
        address.clone(),
        format!("file://{bait}"),
    ] {
        let list =
            format!("#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\n{target}\n#EXT-X-ENDLIST\n");
        lab.refused("list.mp4", list, "playlist").await;
        lab.refused(
            "concat.mp4",
            format!("ffconcat version 1.0\nfile '{target}'\n"),
            "playlist",
        )
        .await;
        let manifest = format!("<?xml version='1.0'?><MPD><BaseURL>{target}</BaseURL></MPD>");
        lab.refused("manifest.mp4", manifest, "playlist").await;
        let drawing = format!(
            "<?xml version='1.0'?><!DOCTYPE svg [<!ENTITY bait SYSTEM '{target}'>]>\
             <svg xmlns='http://www.w3.org/2000/svg'><image href='{target}'/><text>&bait;</text></svg>"
        );
        lab.refused("drawing.mp4", drawing, "something-else").await;
    }
    lab.refused(
        "zip.mp4",
        [b"PK\x03\x04", &lab.good("inner.mp4", &[])[..]].concat(),
        "something-else",
    )
    .await;
    lab.assert_untouched();
}

#[tokio::test]
async fn pictures_and_sound() {
    let lab = Lab::new();
    let folder = lab.folder.path();
    for name in ["still.png", "still.jpg", "still.bmp", "still.tiff"] {
        refused(
            &clip(folder, name, 1, "24", &["-frames:v", "1"]),
            "something-else",
        )
        .await;
    }
    refused(&clip(folder, "moving.gif", 5, "24", &[]), "something-else").await;
    refused(
        &clip(folder, "moving.apng", 5, "24", &["-f", "apng"]),
        "something-else",
    )
    .await;
    refused(
        &clip(folder, "moving.webp", 5, "24", &["-c:v", "libwebp_anim"]),
        "something-else",
    )
    .await;
    refused(&clip(folder, "stream.flv", 5, "24", &[]), "something-else").await;
    refused(
        &clip(folder, "raw.y4m", 5, "24", &["-pix_fmt", "yuv420p"]),
        "not-a-video",
    )
    .await;
    let sound = |name: &str| {
        let path = folder.join(name);
        ffmpeg(&["-f", "lavfi", "-i", "sine=d=1", path.to_str().unwrap()]);
        path
    };
    for name in ["sound.m4a", "sound.wav", "sound.mp3", "sound.mka"] {
        refused(&sound(name), "audio-only").await;
    }
    let covered = folder.join("covered.m4a");
    let (song, cover) = (folder.join("sound.m4a"), folder.join("still.jpg"));
    let inputs = ["-i", song.to_str().unwrap(), "-i", cover.to_str().unwrap()];
    let store = [
        "-map",
        "0",
        "-map",
        "1",
        "-c",
        "copy",
        "-disposition:v:0",
        "attached_pic",
        covered.to_str().unwrap(),
    ];
    ffmpeg(&[&inputs[..], &store].concat());
    refused(&covered, "no-picture").await;
    let words = lab.write("words.srt", "1\n00:00:00,000 --> 00:00:01,000\nhello\n");
    let subtitles = folder.join("words.mkv");
    ffmpeg(&["-i", words.to_str().unwrap(), subtitles.to_str().unwrap()]);
    refused(&subtitles, "no-picture").await;
    lab.assert_untouched();
}

#[tokio::test]
async fn what_was_cut_or_damaged() {
    let lab = Lab::new();
    let sixty = |bytes: &[u8]| bytes[..bytes.len() * 6 / 10].to_vec();
    let plain = lab.good("plain.mp4", &[]);
    lab.refused("cut.mp4", sixty(&plain), "truncated").await;
    lab.refused(
        "no-index.mp4",
        edit(&plain, &[b"moov"], &|body| body.clear()),
        "no-picture",
    )
    .await;
    let fast = lab.good("fast.mp4", &["-movflags", "+faststart"]);
    lab.refused("cut-fast.mp4", sixty(&fast), "truncated").await;
    lab.refused("cut.mkv", sixty(&lab.good("whole.mkv", &[])), "truncated")
        .await;
    lab.refused("cut.avi", sixty(&lab.good("whole.avi", &[])), "truncated")
        .await;
    // The samples are gone though every box is whole.
    lab.refused(
        "hollow.mp4",
        edit(&fast, &[b"mdat"], &|body| body.truncate(16)),
        "truncated",
    )
    .await;
    let unknown = edit(
        &plain,
        &[b"moov", b"trak", b"mdia", b"minf", b"stbl", b"stsd"],
        &|body| {
            body[12..16].copy_from_slice(b"zzzz");
        },
    );
    lab.refused("codec.mp4", unknown, "unreadable").await;
    let header_only = lab.good("header.mp4", &["-movflags", "+empty_moov+frag_keyframe"]);
    let end = header_only
        .windows(4)
        .position(|kind| kind == b"moof")
        .unwrap()
        - 4;
    lab.refused("header.mp4", &header_only[..end], "unreadable")
        .await;
    lab.assert_untouched();
}

#[tokio::test]
async fn claims_that_are_not_true() {
    let lab = Lab::new();
    let plain = lab.good("plain.mp4", &[]);
    let table: [&[u8; 4]; 5] = [b"moov", b"trak", b"mdia", b"minf", b"stbl"];
    let of_table = |kind| [&table[..], &[kind]].concat();
    // A thousand million frames, of which 24 are there.
    let counted = edit(&plain, &of_table(b"stsz"), &|body| {
        body[8..12].copy_from_slice(&1_000_000_000u32.to_be_bytes())
    });
    refused_or_exact(&lab.write("many.mp4", counted)).await;
    let timed = edit(&plain, &of_table(b"stts"), &|body| {
        body[8..12].copy_from_slice(&1_000_000_000u32.to_be_bytes())
    });
    refused_or_exact(&lab.write("many-times.mp4", timed)).await;
    // Two million seconds in the headers, one in the samples: the samples count.
    let long = edit(&plain, &[b"moov", b"mvhd"], &|body| {
        body[16..20].copy_from_slice(&2_000_000_000u32.to_be_bytes())
    });
    let long = edit(&long, &[b"moov", b"trak", b"mdia", b"mdhd"], &|body| {
        body[16..20].fill(0x7f)
    });
    let path = lab.write("long.mp4", long);
    assert_eq!(prepared(&path).await.1.table.frames(), 24);
    // Two million seconds in the samples.
    let slow = edit(&plain, &of_table(b"stts"), &|body| {
        body[12..16].copy_from_slice(&1_000_000_000u32.to_be_bytes())
    });
    let slow = edit(&slow, &[b"moov", b"trak", b"edts"], &|body| body.clear());
    lab.refused("slow.mp4", slow, "too-long").await;
    let deep = (0..50_000).fold(Vec::new(), |inner: Vec<u8>, _| {
        if inner.len() < 200_000 {
            boxed(b"udta", &inner)
        } else {
            inner
        }
    });
    lab.refused(
        "deep.mp4",
        [boxed(b"ftyp", b"isom"), boxed(b"moov", &deep)].concat(),
        "unreadable",
    )
    .await;
    lab.assert_untouched();
}

/// A file whose counts lie is either refused as damaged or prepared with the frames it has.
async fn refused_or_exact(path: &Path) {
    match media::probe(&SANDBOX, path, &Limits::default()).await {
        Ok(_) => assert_eq!(
            prepared(path).await.1.table.frames(),
            24,
            "{}",
            path.display()
        ),
        Err(refusal) => assert!(
            ["unreadable", "truncated"].contains(&refusal.code()),
            "{refusal}"
        ),
    }
}

#[tokio::test]
async fn too_much_of_it() {
    let lab = Lab::new();
    let folder = lab.folder.path();
    let plain = |name: &str, frames: u32, rate: u32| {
        let path = folder.join(name);
        let source = format!("color=s=32x18:r={rate},trim=end_frame={frames}");
        ffmpeg(&[
            "-f",
            "lavfi",
            "-i",
            &source,
            "-c:v",
            "mjpeg",
            "-q:v",
            "20",
            path.to_str().unwrap(),
        ]);
        path
    };
    let at_limit = plain("full.mov", 3_600, 60);
    let probe = media::probe(&SANDBOX, &at_limit, &Limits::default())
        .await
        .unwrap();
    assert_eq!(probe.packets, 3_600);
    refused(&plain("frames.mov", 3_601, 100), "too-many-frames").await;
    refused(&plain("seconds.mov", 61, 1), "too-long").await;
    let large = [
        "-vf",
        "scale=8000:5200:flags=neighbor",
        "-c:v",
        "mjpeg",
        "-q:v",
        "31",
        "-pix_fmt",
        "yuvj420p",
    ];
    refused(
        &clip(folder, "pixels.mov", 1, "24", &large),
        "too-many-pixels",
    )
    .await;
    // A small picture whose own headers claim another size; the larger one is beyond what ffmpeg can count.
    let small = std::fs::read(clip(
        folder,
        "small.mov",
        1,
        "24",
        &["-c:v", "png", "-pix_fmt", "rgb24"],
    ))
    .unwrap();
    let header = small.windows(4).position(|kind| kind == b"IHDR").unwrap() + 4;
    for (width, height, code) in [
        (16_000u16, 16_000u16, "too-many-pixels"),
        (65_000, 30_000, "unreadable"),
    ] {
        let size = [width.to_be_bytes(), height.to_be_bytes()].concat();
        let mut claimed = edit(
            &small,
            &[b"moov", b"trak", b"mdia", b"minf", b"stbl", b"stsd"],
            &|body| {
                body[40..44].copy_from_slice(&size);
            },
        );
        claimed[header..header + 8]
            .copy_from_slice(&[&[0, 0], &size[..2], &[0, 0], &size[2..]].concat());
        lab.refused("claim.mov", claimed, code).await;
    }
    let few_bytes = Limits {
        bytes: 1_000,
        ..Limits::default()
    };
    let refusal = media::probe(&SANDBOX, &at_limit, &few_bytes)
        .await
        .unwrap_err();
    assert_eq!(refusal.code(), "too-large");
    lab.assert_untouched();
}

#[tokio::test]
async fn media_kept_elsewhere() {
    let lab = Lab::new();
    let plain = lab.good("plain.mov", &[]);
    let references = [b"moov", b"trak", b"mdia", b"minf", b"dinf", b"dref"];
    let with = |kind: &[u8; 4], place: &[u8]| {
        edit(&plain, &references, &|body| {
            body.truncate(8);
            body.extend(boxed(kind, &[&[0, 0, 0, 0], place].concat()));
        })
    };
    lab.refused(
        "address.mov",
        with(b"url ", format!("{}\0", lab.address()).as_bytes()),
        "media-elsewhere",
    )
    .await;
    let neighbour = format!("file://{}\0", lab.bait().display());
    lab.refused(
        "neighbour.mov",
        with(b"url ", neighbour.as_bytes()),
        "media-elsewhere",
    )
    .await;
    // An alias record as ffmpeg reads it: the path is tag 2 behind 150 fixed bytes.
    let path = lab.bait().display().to_string();
    let tag = [
        &2u16.to_be_bytes()[..],
        &(path.len() as u16).to_be_bytes(),
        path.as_bytes(),
    ]
    .concat();
    lab.refused(
        "alias.mov",
        with(b"alis", &[&[0; 150], &tag[..], &[0; 8]].concat()),
        "media-elsewhere",
    )
    .await;
    lab.assert_untouched();
}

#[tokio::test]
async fn odd_places_and_names() {
    let lab = Lab::new();
    let folder = lab.folder.path();
    refused(folder, "not-a-file").await;
    refused(&folder.join("missing.mp4"), "not-a-file").await;
    let link = folder.join("link.mp4");
    std::os::unix::fs::symlink(lab.bait(), &link).unwrap();
    refused(&link, "not-a-file").await;
    let pipe = folder.join("pipe.mp4");
    rustix::fs::mkfifoat(rustix::fs::CWD, &pipe, rustix::fs::Mode::RWXU).unwrap();
    refused(&pipe, "not-a-file").await;
    let good = lab.good("good.mp4", &[]);
    let names = [
        "$(touch ran).mp4",
        "a;touch ran;'\"`touch ran`.mp4",
        "-i bait.mp4",
        "frame%03d.mp4",
        "concat:bait.mp4|x",
        "line\nbreak é.mp4",
    ];
    for name in names {
        let path = lab.write(name, &good);
        assert_eq!(prepared(&path).await.1.table.frames(), 24, "{name}");
    }
    // The same without namespaces, where the program sees the real name.
    let bare = Sandbox::detect().without_namespaces();
    for name in names {
        let probe = media::probe(&bare, &folder.join(name), &Limits::default())
            .await
            .unwrap();
        assert_eq!(probe.packets, 24, "{name}");
    }
    assert!(!folder.join("ran").exists() && !Path::new("ran").exists());
    lab.assert_untouched();
}

#[tokio::test]
async fn strange_but_sound_files_prepare() {
    let lab = Lab::new();
    let good = lab.good("good.mp4", &[]);
    let expected: Vec<Option<u32>> = (0..24).map(Some).collect();
    let both = lab.write("both.mp4", [&good[..], b"PK\x05\x06", &[0; 18]].concat());
    assert_eq!(
        numbers(&prepared(&both).await.1.copy.path, ""),
        expected,
        "a video that is a ZIP archive as well"
    );
    // The picture changes its size half way.
    let folder = lab.folder.path();
    let raw = [
        "-c:v",
        "libx264",
        "-preset",
        "ultrafast",
        "-pix_fmt",
        "yuv420p",
        "-f",
        "h264",
    ];
    let large = std::fs::read(clip(folder, "large.h264", 24, "24", &raw)).unwrap();
    let small = std::fs::read(clip(
        folder,
        "small.h264",
        24,
        "24",
        &[&["-vf", "scale=160:90"], &raw[..]].concat(),
    ))
    .unwrap();
    let joined = lab.write("joined.h264", [large, small].concat());
    let changing = folder.join("changing.mp4");
    ffmpeg(&[
        "-r",
        "24",
        "-i",
        joined.to_str().unwrap(),
        "-c",
        "copy",
        changing.to_str().unwrap(),
    ]);
    let twice = [&expected[..], &expected].concat();
    let (_, made) = prepared(&changing).await;
    assert_eq!(numbers(&made.copy.path, ""), twice);
    lab.assert_untouched();
}
