//! Writes a sheet of a revision's frames as a PPM, to look at:
//! `contact_sheet OUT.ppm SHOT REVISION [every] [first] [columns]`. Without a shot it lists them.
#![expect(clippy::print_stdout, reason = "a program for people")]

use std::io::Write;

use seed::clip::Clip;
use seed::plan::Scenario;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().collect();
    let number = |i: usize, or: usize| args.get(i).and_then(|s| s.parse().ok()).unwrap_or(or);
    let school = Scenario::full();
    let (Some(path), Some(key)) = (args.get(1), args.get(2)) else {
        for s in &school.shots {
            println!("{}\t{}\t{} revisions", s.key, s.title, s.revisions.len());
        }
        return Ok(());
    };
    let shot = school
        .shots
        .iter()
        .find(|s| s.key == key)
        .ok_or_else(|| format!("no shot {key}"))?;
    let clip = Clip::new(shot, number(3, 1).saturating_sub(1))?;
    let (every, first, columns) = (number(4, 8).max(1), number(5, 0), number(6, 4).max(1));
    let shown: Vec<usize> = (first..clip.frames())
        .step_by(every)
        .take(columns * 5)
        .collect();
    let rows = shown.len().div_ceil(columns);
    let (w, h) = (clip.width(), clip.height());
    let mut sheet = vec![0u8; w * columns * h * rows * 3];
    let mut frame = vec![0u8; w * h * 3];
    for (n, &f) in shown.iter().enumerate() {
        clip.draw(f, &mut frame);
        let (cx, cy) = (n % columns, n / columns);
        for y in 0..h {
            let to = ((cy * h + y) * w * columns + cx * w) * 3;
            sheet[to..to + w * 3].copy_from_slice(&frame[y * w * 3..(y + 1) * w * 3]);
        }
    }
    let mut file = std::fs::File::create(path)?;
    write!(file, "P6\n{} {}\n255\n", w * columns, h * rows)?;
    file.write_all(&sheet)?;
    println!("{path}\t{} of {} frames", shown.len(), clip.frames());
    Ok(())
}
