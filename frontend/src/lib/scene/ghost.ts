/** Brightness of a picture, one value 0..255 a pixel. */
export interface Grey {
  width: number;
  height: number;
  values: Uint8ClampedArray;
}

/** How a ghost is broken up: earlier frames are dashed, later ones dotted, so that neither needs its colour. */
export type GhostPattern = 'dashed' | 'dotted';

/** Rec. 709 luma weights (ITU-R BT.709-6, 3.2). */
export function greyOf(image: ImageData): Grey {
  const { width, height, data } = image;
  const values = new Uint8ClampedArray(width * height);
  for (let i = 0, p = 0; i < values.length; i++, p += 4)
    values[i] = 0.2126 * data[p] + 0.7152 * data[p + 1] + 0.0722 * data[p + 2];
  return { width, height, values };
}

/** Steepness at each pixel: the larger of the central differences across and down. */
function edges({ width, height, values }: Grey): Uint8ClampedArray {
  const out = new Uint8ClampedArray(values.length);
  for (let y = 1; y < height - 1; y++)
    for (let x = 1; x < width - 1; x++) {
      const i = y * width + x;
      const across = Math.abs(values[i + 1] - values[i - 1]);
      const down = Math.abs(values[i + width] - values[i - width]);
      out[i] = Math.max(across, down);
    }
  return out;
}

/** An edge counts when it is this much steeper than the picture now shown is at the same place. */
const STEEPER = 26;
const DASH_PX = 7;
const DASH_GAP_PX = 4;
const DOT_PERIOD_PX = 4;

const kept = (pattern: GhostPattern, x: number, y: number): boolean =>
  pattern === 'dashed' ? (x + y) % (DASH_PX + DASH_GAP_PX) < DASH_PX : x % DOT_PERIOD_PX < 2 && y % DOT_PERIOD_PX < 2;

/**
 * The outlines of a neighbouring frame where they are not the outlines of the frame now shown: what stands still
 * leaves no ghost. Opacity 0..255 a pixel.
 */
export function ghostOutline(now: Grey, neighbour: Grey, pattern: GhostPattern): Uint8ClampedArray {
  const here = edges(now);
  const there = edges(neighbour);
  const { width } = now;
  const alpha = new Uint8ClampedArray(there.length);
  for (let i = 0; i < there.length; i++) {
    const steeper = there[i] - here[i];
    if (steeper < STEEPER) continue;
    const x = i % width;
    if (kept(pattern, x, (i - x) / width)) alpha[i] = Math.min(255, 120 + steeper * 2);
  }
  return alpha;
}
