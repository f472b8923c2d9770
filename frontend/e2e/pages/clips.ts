import { barcodeFilter, CODE_WIDTH, BITS } from '../frametrue/barcode';
import { kept } from '../kept';

/** Every clip of these tests is this large. */
export const CLIP_SIZE = { width: 640, height: 360 };

export interface ClipOptions {
  frames: number;
  /** Noise that no codec makes small, so that the file takes its time on the line. */
  noise?: boolean;
}

/** A clip at 24 frames a second whose frames carry their own number; the path of a file of that name. */
export function clip(name: string, { frames, noise = false }: ClipOptions): string {
  const { width, height } = CLIP_SIZE;
  const picture = `testsrc2=s=${width}x${height}:r=24`;
  const grain = noise ? ['noise=alls=60:allf=t'] : [];
  const filters = [...grain, barcodeFilter((width * CODE_WIDTH) / BITS)].join(',');
  const encode = ['-c:v', 'libx264', '-preset', 'ultrafast', '-crf', noise ? '10' : '18', '-pix_fmt', 'yuv420p'];
  const input = ['-f', 'lavfi', '-i', picture, '-vf', filters, '-frames:v', String(frames)];
  return kept([...input, ...encode], name);
}
