//! A clip read as numbers gives every frame once, in order.
//!
//! Outside reference: the bar code ffmpeg drew into each frame.

use std::future::pending;
use std::ops::ControlFlow;

use crate::clips::{SANDBOX, clip};
use media::{Layout, Limits, PrepareError, Refusal, Size, Wanted, frames, probe};

const SIZE: Size = Size {
    width: 320,
    height: 180,
};

/// The number in the upper row of the bar code, from the first byte of each pixel.
fn number(frame: &[u8], bytes_per_pixel: usize) -> u32 {
    (0..12)
        .map(|bit| {
            let pixel = 5 * SIZE.width as usize + bit * 10 + 5;
            u32::from(frame[pixel * bytes_per_pixel] > 128) << bit
        })
        .sum()
}

#[tokio::test]
async fn every_frame_comes_once_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let args = ["-c:v", "libx264", "-pix_fmt", "yuv420p"];
    let path = clip(folder.path(), "numbered.mp4", 40, "24", &args);
    let limits = Limits::default();
    let facts = probe(&SANDBOX, &path, &limits).await.unwrap();
    for (layout, bytes_per_pixel) in [(Layout::Planar420, 1), (Layout::Rgb24, 3)] {
        let wanted = Wanted { size: SIZE, layout };
        let mut seen = vec![];
        let keep = |frame: &[u8]| {
            assert_eq!(frame.len(), wanted.frame_bytes());
            seen.push(number(frame, bytes_per_pixel));
            ControlFlow::Continue(())
        };
        let count = frames(&SANDBOX, &path, &facts, &limits, wanted, keep, pending()).await;
        assert_eq!(count.unwrap(), 40);
        assert_eq!(seen, (0..40).collect::<Vec<u32>>());
    }
}

#[tokio::test]
async fn a_reader_may_stop_and_a_limit_holds() {
    let folder = tempfile::tempdir().unwrap();
    let args = ["-c:v", "libx264", "-pix_fmt", "yuv420p"];
    let path = clip(folder.path(), "numbered.mp4", 40, "24", &args);
    let limits = Limits::default();
    let facts = probe(&SANDBOX, &path, &limits).await.unwrap();
    let wanted = Wanted {
        size: SIZE,
        layout: Layout::Planar420,
    };
    let once = |_: &[u8]| ControlFlow::Break(());
    let read = frames(&SANDBOX, &path, &facts, &limits, wanted, once, pending()).await;
    assert_eq!(read.unwrap(), 1);
    let few = Limits {
        frames: 9,
        ..limits
    };
    let all = |_: &[u8]| ControlFlow::Continue(());
    let refused = frames(&SANDBOX, &path, &facts, &few, wanted, all, pending()).await;
    assert!(matches!(
        refused,
        Err(PrepareError::ForGood(Refusal::TooManyFrames { limit: 9 }))
    ));
}
