import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, mkdtempSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const FOLDER = fileURLToPath(new URL('../node_modules/.cache/clips', import.meta.url));
let ffmpeg: Buffer | undefined;

/**
 * The path of the clip that ffmpeg makes of these arguments, a file of that name. It stays where it is, so that
 * ffmpeg runs once for it and not at every run of the tests; another ffmpeg makes another. Not to be changed.
 */
export function kept(args: string[], name: string): string {
  ffmpeg ??= execFileSync('ffmpeg', ['-version']);
  const hash = createHash('sha256').update(ffmpeg).update(args.join('\0')).digest('hex').slice(0, 16);
  const folder = join(FOLDER, hash);
  const path = join(folder, name);
  if (existsSync(path)) return path;
  mkdirSync(folder, { recursive: true });
  const making = mkdtempSync(join(FOLDER, 'new-'));
  const made = join(making, name);
  execFileSync('ffmpeg', ['-v', 'error', '-nostdin', '-y', ...args, made]);
  // In one step: another test may read it meanwhile.
  renameSync(made, path);
  rmSync(making, { recursive: true });
  return path;
}
