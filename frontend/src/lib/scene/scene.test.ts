import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Stroke } from '$lib/api';
import { fitted, scenePoint } from '../geometry';
import { panes } from './compare';
import { ghostOutline, greyOf, type Grey } from './ghost';
import { History } from './history';
import { alongPath, ticks, withDot } from './spacing';
import { grained, outline, strokesAt } from './stroke';
import { DotTool, PenTool, RegionTool, type Pencil, type Touch } from './tools';

const stroke = (over: Partial<Stroke> = {}): Stroke => ({
  id: 'a',
  frame: 3,
  hold_to: 3,
  note_id: null,
  color: '#7fb2e5',
  size: 0.01,
  pen: true,
  points: [],
  ...over,
});
const pencil: Pencil = {
  id: () => 'new',
  frame: () => 7,
  holdTo: () => 9,
  noteId: () => 'n',
  color: () => '#112233',
  size: () => 0.008,
};
const touch = (x: number, y: number, pressure = 0.5): Touch => ({ at: scenePoint(x, y), pressure, pen: true });

describe('strokes', () => {
  it('are seen on their frame, or on every frame they are held over', () => {
    const held = stroke({ id: 'b', frame: 2, hold_to: 5 });
    expect([1, 2, 3, 5, 6].map((f) => strokesAt([stroke(), held], f).length)).toEqual([0, 1, 2, 1, 0]);
  });

  it('are as wide as their size, across and up, on a picture of any shape', () => {
    const size = 0.05;
    for (const aspect of [16 / 9, 9 / 16]) {
      const line = (points: Stroke['points']) => outline(stroke({ size, points, pen: true }), aspect);
      const across = line(Array.from({ length: 40 }, (_, k) => [0.1 + 0.02 * k, 0.5, 1]));
      const ys = across.map(([, y]) => y);
      const up = line(Array.from({ length: 40 }, (_, k) => [0.5, 0.1 + 0.02 * k, 1]));
      const xs = up.map(([x]) => x);
      const [tall, wide] = [Math.max(...ys) - Math.min(...ys), Math.max(...xs) - Math.min(...xs)];
      expect(tall).toBeCloseTo(wide, 2);
      expect(tall).toBeGreaterThan(size * 0.9);
    }
  });

  it('keep positions to 1/65535 of the picture', () => {
    fc.assert(
      fc.property(fc.double({ min: -2, max: 3, noNaN: true }), (v) => {
        const kept = grained(v);
        expect(kept).toBeGreaterThanOrEqual(0);
        expect(kept).toBeLessThanOrEqual(1);
        expect(Math.abs(kept * 65535 - Math.round(kept * 65535))).toBeLessThan(1e-6);
        if (v >= 0 && v <= 1) expect(Math.abs(kept - v)).toBeLessThanOrEqual(0.5 / 65535 + 1e-12);
      }),
    );
  });
});

describe('tools', () => {
  it('make a stroke of a gesture, with the pencil as it was when it began', () => {
    const tool = new PenTool(pencil);
    tool.down(touch(0.1, 0.2, 0.3));
    tool.move([touch(0.2, 0.3), touch(0.3, 0.4, 1)]);
    const command = tool.up();
    expect(command).toMatchObject({
      do: 'stroke',
      stroke: { id: 'new', frame: 7, hold_to: 9, note_id: 'n', pen: true },
    });
    expect(command?.do === 'stroke' && command.stroke.points.length).toBe(3);
    expect(tool.up()).toBeNull();
  });

  it('leave nothing behind when the gesture is broken off', () => {
    for (const tool of [new PenTool(pencil), new RegionTool(), new DotTool()]) {
      tool.down(touch(0.1, 0.1));
      tool.move([touch(0.6, 0.6)]);
      tool.cancel();
      expect(tool.preview.stroke ?? tool.preview.region).toBeUndefined();
      expect(tool.up()).toBeNull();
    }
  });

  it('take a region dragged in any direction, but not a slip of the hand', () => {
    const tool = new RegionTool();
    tool.down(touch(0.6, 0.6));
    tool.move([touch(0.2, 0.5)]);
    expect(tool.up()).toMatchObject({ do: 'region', region: { x: 0.2, y: 0.5 } });
    tool.down(touch(0.6, 0.6));
    tool.move([touch(0.602, 0.6)]);
    expect(tool.up()).toBeNull();
  });

  it('place a dot where the pointer is let go, on the picture', () => {
    const tool = new DotTool();
    tool.down(touch(0.6, 0.6));
    tool.move([touch(1.4, 0.5)]);
    expect(tool.up()).toEqual({ do: 'dot', at: { x: 1, y: 0.5 } });
  });
});

describe('dots', () => {
  const trace = { id: 't', part: null, color: '#fff', dots: [{ frame: 5, x: 0.5, y: 0.5 }] };

  it('lie in the order of frames, one a frame', () => {
    const moved = withDot(withDot(trace, { frame: 4, x: 0.1, y: 0.1 }), { frame: 5, x: 0.9, y: 0.5 });
    expect(moved.dots).toEqual([
      { frame: 4, x: 0.1, y: 0.1 },
      { frame: 5, x: 0.9, y: 0.5 },
    ]);
  });

  it('have ticks across the path', () => {
    const level = [0, 1, 2].map((k) => ({ frame: k, x: 0.2 * k, y: 0.5 }));
    for (const tick of ticks(level, 16 / 9)) {
      expect(Math.abs(tick.acrossX)).toBeCloseTo(0);
      expect(Math.abs(tick.acrossY)).toBeCloseTo(1);
    }
  });

  it('show by their places how far each step goes', () => {
    const dots = [0, 1, 3, 6].map((x, k) => ({ frame: k, x: x / 10, y: 0 }));
    expect(alongPath(dots, 2).map((d) => Math.round(d.at * 6))).toEqual([0, 1, 3, 6]);
    expect(alongPath([dots[0], { ...dots[0], frame: 1 }], 2).map((d) => d.at)).toEqual([0, 0]);
  });
});

describe('ghosts', () => {
  const block = (from: number, to: number): Grey => ({
    width: 40,
    height: 40,
    values: Uint8ClampedArray.from({ length: 1600 }, (_, i) => (i % 40 >= from && i % 40 < to ? 220 : 40)),
  });

  it('show nothing of what stands still', () => {
    expect(ghostOutline(block(10, 20), block(10, 20), 'dashed').every((a) => a === 0)).toBe(true);
  });

  it('outline what has moved, broken up one way for earlier and another for later frames', () => {
    const [dashed, dotted] = (['dashed', 'dotted'] as const).map((p) => ghostOutline(block(10, 20), block(25, 35), p));
    for (const alpha of [dashed, dotted]) {
      const columns = new Set(
        Array.from(alpha.keys())
          .filter((i) => alpha[i])
          .map((i) => i % 40),
      );
      expect([...columns].every((x) => x >= 24 && x <= 35)).toBe(true);
      expect(columns.size).toBeGreaterThan(0);
    }
    expect(dashed.filter(Boolean).length).not.toBe(dotted.filter(Boolean).length);
  });

  // ITU-R BT.709-6, item 3.2: luma weights 0.2126, 0.7152, 0.0722.
  it('weigh colours as luma does', () => {
    const image = { width: 1, height: 1, data: Uint8ClampedArray.from([100, 50, 200, 255]) } as unknown as ImageData;
    expect(greyOf(image).values[0]).toBe(Math.round(21.26 + 35.76 + 14.44));
  });
});

describe('panes', () => {
  it('lie side by side or one above the other without touching, and on each other in a wipe', () => {
    const view = fitted(808, 408, 1280, 720);
    const [left, right] = panes(view, 'beside');
    expect(left.left + left.view.width).toBeLessThan(right.left);
    const [upper, lower] = panes(view, 'stacked');
    expect(upper.top + upper.view.height).toBeLessThan(lower.top);
    const [a, b] = panes(view, 'wipe');
    expect(a).toEqual(b);
  });
});

describe('History', () => {
  it('takes back the newest first, and says when there is nothing', () => {
    const done: string[] = ['a', 'b'];
    const history = new History();
    for (const name of ['a', 'b']) history.did({ name, undo: () => void done.splice(done.indexOf(name), 1) });
    expect(history.undo()).toBe('b');
    expect(done).toEqual(['a']);
    expect(history.undo()).toBe('a');
    expect(history.undo()).toBeNull();
  });
});
