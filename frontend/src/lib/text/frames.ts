import type { PartRef, Span, Stage } from '$lib/api';

/** The number a frame is shown by: its index counted from the shot's own first frame. */
export function frameNumber(index: number, firstFrame: number): number {
  return index + firstFrame;
}

/** "61", or "58–63". */
export function spanWords(span: Span, firstFrame: number): string {
  const start = frameNumber(span.start, firstFrame);
  const end = frameNumber(span.end, firstFrame);
  return start === end ? String(start) : `${start}–${end}`;
}

/** "frame 61", or "frames 58–63". */
export function framesWords(span: Span, firstFrame: number): string {
  return `${span.start === span.end ? 'frame' : 'frames'} ${spanWords(span, firstFrame)}`;
}

/** Parts that do not take an s, or have one already. */
const PLURALS: Record<string, string> = {
  foot: 'feet',
  fingers: 'fingers',
  eyes: 'eyes',
  brows: 'brows',
  ears: 'ears',
};

/** "left wrist", "both arms", "camera". */
export function partWords({ part, side }: PartRef): string {
  const name = part.replaceAll('-', ' ').replaceAll('_', ' ');
  if (side === null) return name;
  return side === 'both' ? `both ${PLURALS[name] ?? `${name}s`}` : `${side} ${name}`;
}

const stages: Record<Stage, string> = {
  layout: 'layout',
  blocking: 'blocking',
  'blocking-plus': 'blocking plus',
  spline: 'spline',
  polish: 'polish',
};

/** A stage in words. */
export function stageWords(stage: Stage): string {
  return stages[stage];
}
