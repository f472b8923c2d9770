//! Follows many parts of one clip at once, for `ops/bench/accuracy_track`.
//! usage: track_many WIDTH HEIGHT REQUESTS < frames (RGB, at 640 along the longer side)
//! REQUESTS is a JSON file: a list of lists of clicks {frame, x, y}. Writes {"seconds": .., "traces": [..]} as JSON.

use std::error::Error;
use std::io::{self, Read};
use std::ops::ControlFlow;
use std::time::Instant;

use motion::track::{Click, Clip, TraceOptions, trace};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [width, height, requests] = &arguments[..] else {
        return Err("usage: track_many WIDTH HEIGHT REQUESTS < frames".into());
    };
    let requests: Vec<Vec<Click>> = serde_json::from_str(&std::fs::read_to_string(requests)?)?;
    let mut clip = Clip::new(width.parse()?, height.parse()?, 640);
    let (w, h) = clip.work_size();
    let mut rgb = vec![0; w * h * 3];
    let mut pushing = 0.0;
    while io::stdin().lock().read_exact(&mut rgb).is_ok() {
        let start = Instant::now();
        clip.push_rgb(&rgb)?;
        pushing += start.elapsed().as_secs_f64();
    }
    let start = Instant::now();
    let go_on = &mut |_| ControlFlow::Continue(());
    let traces = trace(&clip, &requests, &TraceOptions::default(), go_on)?;
    let answer = serde_json::json!({
        "seconds": start.elapsed().as_secs_f64() + pushing,
        "frames": clip.len(),
        "traces": traces,
    });
    serde_json::to_writer(io::stdout().lock(), &answer)?;
    Ok(())
}
