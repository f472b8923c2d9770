import { copyFileSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { barcodeFilter, CODE_WIDTH, BITS } from '../frametrue/barcode';
import { kept } from '../kept';

/** Every clip of these tests is this large. */
export const CLIP_SIZE = { width: 640, height: 360 };

export interface ClipOptions {
  frames: number;
  /** Noise that no codec makes small, so that the file takes its time on the line. */
  noise?: boolean;
}

/** A folder of clips made by ffmpeg, gone with `remove`. */
export class Clips {
  readonly folder = mkdtempSync(join(tmpdir(), 'refrain-clips-'));

  /** A clip at 24 frames a second whose frames carry their own number; its path. */
  make(name: string, { frames, noise = false }: ClipOptions): string {
    const { width, height } = CLIP_SIZE;
    const path = join(this.folder, name);
    const picture = `testsrc2=s=${width}x${height}:r=24`;
    const grain = noise ? ['noise=alls=60:allf=t'] : [];
    const filters = [...grain, barcodeFilter((width * CODE_WIDTH) / BITS)].join(',');
    const encode = ['-c:v', 'libx264', '-preset', 'ultrafast', '-crf', noise ? '10' : '18', '-pix_fmt', 'yuv420p'];
    const input = ['-f', 'lavfi', '-i', picture, '-vf', filters, '-frames:v', String(frames)];
    copyFileSync(kept([...input, ...encode], 'mp4'), path);
    return path;
  }

  remove(): void {
    rmSync(this.folder, { recursive: true });
  }
}
