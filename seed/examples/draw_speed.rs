//! Prints what drawing costs: `name<TAB>value<TAB>unit` lines.
#![expect(clippy::print_stdout, reason = "a program for people")]

use std::time::Instant;

use seed::clip::Clip;
use seed::plan::Scenario;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let start = Instant::now();
    let school = Scenario::full();
    println!("scenario\t{:.1}\tms", start.elapsed().as_secs_f64() * 1e3);
    let mut buffer = Vec::new();
    let mut worst = 0.0f64;
    for shot in &school.shots {
        let start = Instant::now();
        let clip = Clip::new(shot, shot.revisions.len() - 1)?;
        let set = start.elapsed().as_secs_f64() * 1e3;
        buffer.resize(clip.width() * clip.height() * 3, 0);
        let mut times: Vec<f64> = (0..clip.frames())
            .map(|f| {
                let start = Instant::now();
                clip.draw(f, &mut buffer);
                start.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        times.sort_by(f64::total_cmp);
        let median = times[times.len() / 2];
        worst = worst.max(median);
        println!("{} set\t{set:.1}\tms", shot.key);
        println!("{} frame best\t{:.2}\tms", shot.key, times[0]);
        println!("{} frame p50\t{median:.2}\tms", shot.key);
        println!(
            "{} frame p99\t{:.2}\tms",
            shot.key,
            times[times.len() * 99 / 100]
        );
    }
    println!("worst frame p50\t{worst:.2}\tms");
    Ok(())
}
