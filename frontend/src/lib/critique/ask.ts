import type { Ask } from '$lib/api';

export const ASKS: readonly {
  what: Ask['what'];
  name: string;
  amount: number;
  step: number;
  min: number;
  max: number;
}[] = [
  { what: 'add-frames', name: 'more frames', amount: 1, step: 1, min: 1, max: 240 },
  { what: 'remove-frames', name: 'fewer frames', amount: 1, step: 1, min: 1, max: 240 },
  { what: 'offset', name: 'frames apart', amount: 2, step: 1, min: 1, max: 48 },
  { what: 'hold', name: 'frames held', amount: 8, step: 1, min: 1, max: 480 },
  { what: 'scale', name: 'times as large', amount: 0.5, step: 0.1, min: 0.1, max: 4 },
];

const frames = (n: number): string => (n === 1 ? '1 frame' : `${n} frames`);

/** An ask as it is read: "1 more frame", "hold for 8 frames", "half as large". */
export function askWords({ what, amount }: Ask): string {
  if (what === 'add-frames') return amount === 1 ? '1 more frame' : `${amount} more frames`;
  if (what === 'remove-frames') return amount === 1 ? '1 frame fewer' : `${amount} frames fewer`;
  if (what === 'offset') return `${frames(amount)} apart`;
  if (what === 'hold') return `hold for ${frames(amount)}`;
  if (amount === 0.5) return 'half as large';
  return amount === 2 ? 'twice as large' : `${amount} times as large`;
}
