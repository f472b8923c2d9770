import { execFile } from 'node:child_process';
import { copyFileSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { kept } from '../kept';
import { barcodeFilter } from './barcode';

const run = promisify(execFile);
const COPY_RATE = 24;
const TICKS = 1000;

/** A clip whose frames carry their own number, as a source, its review copy and its frame table. */
export interface Clip {
  name: string;
  /** Path of the review copy. */
  copy: string;
  frames: number;
  size: { width: number; height: number };
  copyRate: number;
  table: { pts: number[]; num: number; den: number; lastDuration: number };
}

export interface Recipe {
  name: string;
  rate: string;
  frames: number;
  /** 640x360 when absent. */
  size?: { width: number; height: number };
  /** Frames from one key frame to the next; 12 when absent. */
  keyEvery?: number;
  /** Rewrites the timestamps of the source; constant rate when absent. */
  retime?: string;
}

/** The rates film and television use (SMPTE ST 12-1 names their counting), and one that varies from frame to frame. */
export const RECIPES: Recipe[] = [
  { name: '23.976', rate: '24000/1001', frames: 120 },
  { name: '24', rate: '24', frames: 240 },
  { name: '25', rate: '25', frames: 125 },
  { name: '29.97', rate: '30000/1001', frames: 150 },
  { name: '30', rate: '30', frames: 150 },
  { name: '50', rate: '50', frames: 250 },
  { name: '59.94', rate: '60000/1001', frames: 600 },
  { name: '60', rate: '60', frames: 300 },
  { name: 'variable', rate: '24', frames: 240, retime: 'settb=1/90000,setpts=N*3750+1400*sin(N*1.7)+1400' },
];

/** Makes the review copy in `folder`, and the table, which ffprobe reads from the source. */
export async function makeClip(recipe: Recipe, folder: string): Promise<Clip> {
  const copy = join(folder, `${recipe.name}.mp4`);
  const size = recipe.size ?? { width: 640, height: 360 };
  const picture = `testsrc2=size=${size.width}x${size.height}:rate=${recipe.rate}`;
  const filters = [barcodeFilter((size.width * 3) / 8 / 12), recipe.retime].filter(Boolean).join(',');
  const timing = recipe.retime ? ['-fps_mode', 'passthrough', '-enc_time_base', '1/90000'] : [];
  const encode = ['-c:v', 'libx264', '-preset', 'ultrafast', '-crf', '18', '-pix_fmt', 'yuv420p'];
  const limit = ['-frames:v', String(recipe.frames)];
  const source = kept(['-f', 'lavfi', '-i', picture, '-vf', filters, ...limit, ...timing, ...encode], 'source.mkv');
  copyFileSync(reviewCopy(source, size, recipe.keyEvery ?? 12), copy);
  const table = await frameTable(source);
  if (table.pts.length !== recipe.frames) throw new Error(`${recipe.name}: ${table.pts.length} frames in the table`);
  return { name: recipe.name, copy, frames: recipe.frames, size, copyRate: COPY_RATE, table };
}

/** The path of a copy made for stepping: frame i at i/24 s, a key frame every so many, no B-frames. */
function reviewCopy(source: string, size: { width: number; height: number }, keyEvery: number): string {
  const base = COPY_RATE * TICKS;
  const filters = `settb=1/${base},setpts=N*${TICKS},scale=${size.width}:${size.height}:out_color_matrix=bt709:out_range=tv,format=yuv420p`;
  const timing = ['-fps_mode', 'passthrough', '-enc_time_base', `1/${base}`, '-video_track_timescale', String(base)];
  const groups = ['-g', String(keyEvery), '-keyint_min', String(keyEvery), '-sc_threshold', '0', '-bf', '0'];
  const encode = ['-c:v', 'libx264', '-preset', 'veryfast', '-crf', '18', '-movflags', '+faststart'];
  return kept(['-i', source, '-map', '0:v:0', '-vf', filters, ...timing, ...encode, ...groups], 'copy.mp4');
}

async function frameTable(source: string): Promise<Clip['table']> {
  const select = ['-v', 'error', '-select_streams', 'v:0', '-show_frames', '-show_streams'];
  const entries = ['-show_entries', 'frame=best_effort_timestamp:stream=time_base', '-of', 'json'];
  const { stdout } = await run('ffprobe', [...select, ...entries, source], { maxBuffer: 1 << 26 });
  const probe = JSON.parse(stdout) as { frames: { best_effort_timestamp: number }[]; streams: { time_base: string }[] };
  const [num, den] = probe.streams[0].time_base.split('/').map(Number);
  const pts = probe.frames.map((frame) => Number(frame.best_effort_timestamp));
  const lastDuration = Math.round((pts[pts.length - 1] - pts[0]) / (pts.length - 1));
  return { pts, num, den, lastDuration };
}
