//! The figure's shadow on floor and wall, drawn small and soft, then laid over the set.

use super::camera::{HEIGHT, Spot, WIDTH};

/// Picture pixels a mask pixel covers along a side.
const CELL: usize = 4;
const W: usize = WIDTH / CELL;
const H: usize = HEIGHT / CELL;

/// How dark each cell is, 0..1.
pub struct Mask {
    cells: Vec<f32>,
}

impl Mask {
    /// No shadow.
    pub fn new() -> Self {
        Self {
            cells: vec![0.0; W * H],
        }
    }

    /// A soft limb of shadow; radii and `soft` in picture pixels. The darkest of overlapping limbs counts.
    pub fn limb(&mut self, a: Spot, b: Spot, ra: f32, rb: f32, soft: f32, dark: f32) {
        let k = 1.0 / CELL as f32;
        let (ax, ay, bx, by) = (a.x * k, a.y * k, b.x * k, b.y * k);
        let (ra, rb, soft) = (ra * k, rb * k, soft * k);
        let reach = ra.max(rb) + soft;
        let clip = |v: f32, top: usize| (v.max(0.0) as usize).min(top);
        let (vx, vy) = (bx - ax, by - ay);
        let len2 = (vx * vx + vy * vy).max(1e-6);
        for y in clip(ay.min(by) - reach, H)..clip(ay.max(by) + reach + 1.0, H) {
            for x in clip(ax.min(bx) - reach, W)..clip(ax.max(bx) + reach + 1.0, W) {
                let (px, py) = (x as f32 + 0.5 - ax, y as f32 + 0.5 - ay);
                let t = ((px * vx + py * vy) / len2).clamp(0.0, 1.0);
                let d = (px - vx * t).hypot(py - vy * t) - (ra + (rb - ra) * t);
                let s = dark * crate::math::smooth(0.5 - d / soft.max(0.1));
                let c = &mut self.cells[y * W + x];
                *c = c.max(s);
            }
        }
    }

    /// A flat ellipse of shadow that adds to what is there.
    pub fn pool(&mut self, at: Spot, rx: f32, ry: f32, dark: f32) {
        let k = 1.0 / CELL as f32;
        let (cx, cy, rx, ry) = (at.x * k, at.y * k, rx * k, ry * k);
        let clip = |v: f32, top: usize| (v.max(0.0) as usize).min(top);
        for y in clip(cy - ry * 2.0, H)..clip(cy + ry * 2.0 + 1.0, H) {
            for x in clip(cx - rx * 2.0, W)..clip(cx + rx * 2.0 + 1.0, W) {
                let (u, v) = ((x as f32 + 0.5 - cx) / rx, (y as f32 + 0.5 - cy) / ry);
                let c = &mut self.cells[y * W + x];
                *c += (1.0 - *c) * dark * (-1.4 * (u * u + v * v)).exp();
            }
        }
    }

    /// Darkens the pixels that receive shadow (`takes` 255 fully, 0 not).
    pub fn lay(&self, rgb: &mut [u8], takes: &[u8]) {
        for y in 0..HEIGHT {
            let fy = ((y as f32 + 0.5) / CELL as f32 - 0.5).clamp(0.0, (H - 1) as f32);
            let (y0, uy) = (fy as usize, fy.fract());
            let y1 = (y0 + 1).min(H - 1);
            let (r0, r1) = (
                &self.cells[y0 * W..(y0 + 1) * W],
                &self.cells[y1 * W..(y1 + 1) * W],
            );
            if r0.iter().chain(r1).all(|&c| c == 0.0) {
                continue;
            }
            for x in 0..WIDTH {
                let i = y * WIDTH + x;
                if takes[i] == 0 {
                    continue;
                }
                let fx = ((x as f32 + 0.5) / CELL as f32 - 0.5).clamp(0.0, (W - 1) as f32);
                let (x0, ux) = (fx as usize, fx.fract());
                let x1 = (x0 + 1).min(W - 1);
                let top = r0[x0] + (r0[x1] - r0[x0]) * ux;
                let foot = r1[x0] + (r1[x1] - r1[x0]) * ux;
                let s = (top + (foot - top) * uy) * f32::from(takes[i]) / 255.0;
                if s <= 0.004 {
                    continue;
                }
                for p in &mut rgb[i * 3..i * 3 + 3] {
                    *p = (f32::from(*p) * (1.0 - s)) as u8;
                }
            }
        }
    }
}
