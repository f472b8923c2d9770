import type { SheetMark } from './model';

/** The next mark above or below: by row, then by column. Without a selection, from the frame now shown. */
export function neighbour(
  marks: readonly SheetMark[],
  selected: string | null,
  frame: number,
  step: 1 | -1,
): SheetMark | undefined {
  const ordered = [...marks].sort(
    (a, b) => a.span.start - b.span.start || a.column - b.column || (a.id < b.id ? -1 : 1),
  );
  const at = ordered.findIndex((mark) => mark.id === selected);
  if (at >= 0) return ordered[at + step];
  return step > 0
    ? ordered.find((mark) => mark.span.start >= frame)
    : ordered.findLast((mark) => mark.span.start <= frame);
}
