import type { FrameMap, Span } from '$lib/api';

/** Below this a frame of the map is a guess. */
export const SURE_FROM = 0.5;

/** Where each frame of today was in an earlier revision. */
export class BackMap {
  readonly #old: Int32Array;

  constructor(readonly map: FrameMap) {
    this.#old = invert(map);
  }

  /** The earlier frame to lay beside frame i of today. */
  toOld(i: number): number {
    return this.#old[Math.min(this.#old.length - 1, Math.max(0, i))] ?? 0;
  }

  /** Whether the frames of this span are only guessed. */
  unsure(span: Span): boolean {
    const [from, to] = [this.toOld(span.start), this.toOld(span.end)];
    const confidences = this.map.confidence.slice(Math.min(from, to), Math.max(from, to) + 1);
    return confidences.some((c) => c < SURE_FROM);
  }
}

/** For each new frame the old one that maps nearest to it; between two mapped frames the nearer holds. */
function invert({ to_new, new_frames }: FrameMap): Int32Array {
  const pairs = to_new.flatMap((to, old) => (to === null ? [] : [{ old, to }]));
  const out = new Int32Array(Math.max(1, new_frames));
  let k = 0;
  for (let i = 0; i < new_frames; i++) {
    while (k + 1 < pairs.length && Math.abs(pairs[k + 1].to - i) <= Math.abs(pairs[k].to - i)) k++;
    out[i] = pairs[k]?.old ?? 0;
  }
  return out;
}
