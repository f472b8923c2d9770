//! How long a map takes, beside what others need for the same: run by `ops/bench/motion`.
//!
//! usage: map_speed OLD.yuv NEW.yuv [TABLE.f64]    working pictures (256 x 144, planar 4:2:0) one after the other; the third
//! file gets a table of costs, for a foreign dynamic programme to be timed on
#![expect(clippy::print_stdout, reason = "a program for people")]

use std::error::Error;
use std::fs;
use std::io::Write;
use std::ops::ControlFlow;
use std::time::Instant;

use motion::align::{AlignOptions, align};
use motion::frame_map::warping::{distances, warp};
use motion::reel::{PICTURE_BYTES, Reel};
use motion::ssim::ssim;

const WARPINGS: u32 = 500;
const TABLES: u32 = 50;

/// Numbers a frame is compared by: its light at 32 x 18.
const THUMBNAIL: usize = 32 * 18;

fn reel(path: &str) -> Result<Reel, Box<dyn Error>> {
    let bytes = fs::read(path)?;
    let mut reel = Reel::for_frames(bytes.len() / PICTURE_BYTES);
    for picture in bytes.chunks_exact(PICTURE_BYTES) {
        reel.push(picture)?;
    }
    Ok(reel)
}

/// Seconds this thread has worked, whatever else the machine does (`/proc/thread-self/schedstat`).
fn worked() -> f64 {
    let said = fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let nanoseconds = said.split_whitespace().next().and_then(|n| n.parse().ok());
    nanoseconds.unwrap_or(0.0) / 1e9
}

/// The most memory the program has held, in MiB.
fn peak_mib() -> f64 {
    let said = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = said.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kib = line.and_then(|l| l.split_whitespace().next()?.parse::<f64>().ok());
    kib.unwrap_or(0.0) / 1024.0
}

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [old, new, rest @ ..] = args.as_slice() else {
        return Err("two files of working pictures are needed".into());
    };
    let (old, new) = (reel(old)?, reel(new)?);
    let (start, wall) = (worked(), Instant::now());
    let mut mapped = 0.0;
    align(&old, &new, &AlignOptions::default(), &mut |share| {
        if share <= 0.7 {
            mapped = worked();
        }
        ControlFlow::Continue(())
    })?;
    let size = format!("{}x{}", old.len(), new.len());
    println!("map_{size}\t{:.3}\ts of one core", mapped - start);
    println!("changes_{size}\t{:.3}\ts of one core", worked() - mapped);
    println!("align_wall_{size}\t{:.3}\ts", wall.elapsed().as_secs_f64());
    println!("peak_memory\t{:.0}\tMiB", peak_mib());
    if let Some(path) = rest.first() {
        let small: Vec<Vec<f32>> = [&old, &new].iter().map(|r| thumbnails(r)).collect();
        // The kernel counts in slices of milliseconds: one run would tell nothing.
        let (start, mut costs) = (worked(), vec![]);
        for _ in 0..TABLES {
            costs = distances(&small[1], &small[0], THUMBNAIL).ok_or("no frames")?;
            warp(&costs, new.len(), old.len()).ok_or("no frames")?;
        }
        let each = (worked() - start) / f64::from(TABLES);
        println!("warping_frames\t{each:.6}\ts of one core");
        let (start, mut cost) = (worked(), 0.0);
        for _ in 0..WARPINGS {
            cost = warp(&costs, new.len(), old.len()).ok_or("no frames")?.0;
        }
        let each = (worked() - start) / f64::from(WARPINGS);
        println!("warping\t{each:.6}\ts of one core");
        println!("warping_cost\t{cost:.6}\tlevels");
        let mut file = fs::File::create(path)?;
        for cost in &costs {
            file.write_all(&cost.to_le_bytes())?;
        }
        let start = worked();
        let pairs = old.len().min(new.len()).min(50);
        let alike: f64 = (0..pairs)
            .filter_map(|i| ssim(&old.light(i), &new.light(i), 255.0))
            .sum();
        println!(
            "ssim\t{:.6}\ts of one core",
            (worked() - start) / pairs as f64
        );
        println!("ssim_mean\t{:.4}\t", alike / pairs as f64);
    }
    Ok(())
}

/// Each frame's [`THUMBNAIL`].
fn thumbnails(reel: &Reel) -> Vec<f32> {
    (0..reel.len())
        .flat_map(|i| reel.light(i).shrunk(8).data().to_vec())
        .collect()
}
