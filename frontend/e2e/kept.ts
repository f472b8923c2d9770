import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const FOLDER = fileURLToPath(new URL('../node_modules/.cache/clips', import.meta.url));
let ffmpeg: Buffer | undefined;

/**
 * The path of the clip that ffmpeg makes of these arguments, a file with that ending. It stays where it is, so that
 * ffmpeg runs once for it and not at every run of the tests; another ffmpeg makes another. Not to be changed.
 */
export function kept(args: string[], ending: string): string {
  ffmpeg ??= execFileSync('ffmpeg', ['-version']);
  const name = createHash('sha256').update(ffmpeg).update(args.join('\0')).digest('hex').slice(0, 16);
  const path = join(FOLDER, `${name}.${ending}`);
  if (existsSync(path)) return path;
  mkdirSync(FOLDER, { recursive: true });
  const folder = mkdtempSync(join(FOLDER, 'new-'));
  const made = join(folder, `clip.${ending}`);
  execFileSync('ffmpeg', ['-v', 'error', '-nostdin', '-y', ...args, made]);
  // In one step: another test may read it meanwhile.
  renameSync(made, path);
  rmSync(folder, { recursive: true });
  return path;
}
