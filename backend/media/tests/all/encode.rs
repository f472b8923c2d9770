//! Drawn frames become a video file with exactly those frames.
//!
//! Outside reference: ffprobe (of the FFmpeg project) for the count and rate.

use crate::clips::{SANDBOX, ffprobe, numbers, prepared};
use media::{EncodeError, RawVideo, Size, encode_raw};

const SIZE: Size = Size {
    width: 320,
    height: 180,
};
const VIDEO: RawVideo = RawVideo {
    size: SIZE,
    rate_num: 24_000,
    rate_den: 1_001,
};

/// A grey frame that carries its number as the bar code of `clips`.
fn drawn(number: u32) -> Vec<u8> {
    let level = |x: u32, y: u32| match (x / 10, y / 10) {
        (bit @ 0..12, row @ 0..2) => u8::from((number >> bit & 1 == 1) == (row == 0)) * 255,
        _ => 128,
    };
    let pixels = (0..SIZE.height).flat_map(|y| (0..SIZE.width).map(move |x| (x, y)));
    pixels.flat_map(|(x, y)| [level(x, y); 3]).collect()
}

#[tokio::test]
async fn every_drawn_frame_is_in_the_file_and_prepares() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("drawn.mp4");
    assert_eq!(
        encode_raw(&SANDBOX, &path, VIDEO, (0..40).map(drawn))
            .await
            .unwrap(),
        40
    );
    let expected: Vec<Option<u32>> = (0..40).map(Some).collect();
    assert_eq!(numbers(&path, ""), expected);
    let said = ffprobe(
        &path,
        "stream=nb_read_packets,r_frame_rate,pix_fmt",
        &["-count_packets"],
    );
    assert_eq!(said["streams"][0]["nb_read_packets"], "40");
    assert_eq!(said["streams"][0]["r_frame_rate"], "24000/1001");
    assert_eq!(said["streams"][0]["pix_fmt"], "yuv420p");
    let (_, made) = prepared(&path).await;
    assert_eq!(numbers(&made.copy.path, ""), expected);
}

#[tokio::test]
async fn the_same_frames_give_the_same_file() {
    let folder = tempfile::tempdir().unwrap();
    let [one, two] = ["one.mp4", "two.mp4"].map(|name| folder.path().join(name));
    for path in [&one, &two] {
        encode_raw(&SANDBOX, path, VIDEO, (0..24).map(drawn))
            .await
            .unwrap();
    }
    assert_eq!(std::fs::read(one).unwrap(), std::fs::read(two).unwrap());
}

#[tokio::test]
async fn what_cannot_be_written_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.mp4");
    let odd = RawVideo {
        size: Size { width: 321, ..SIZE },
        ..VIDEO
    };
    let error = encode_raw(&SANDBOX, &path, odd, (0..2).map(drawn))
        .await
        .unwrap_err();
    assert!(
        matches!(error, EncodeError::Shape { width: 321, .. }),
        "{error}"
    );
    let short = (0..3).map(|i| if i == 2 { vec![0; 5] } else { drawn(i) });
    let error = encode_raw(&SANDBOX, &path, VIDEO, short).await.unwrap_err();
    assert!(
        matches!(
            error,
            EncodeError::FrameBytes {
                frame: 2,
                got: 5,
                ..
            }
        ),
        "{error}"
    );
    let error = encode_raw(&SANDBOX, &path, VIDEO, std::iter::empty())
        .await
        .unwrap_err();
    assert!(matches!(error, EncodeError::NoFrames), "{error}");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}
