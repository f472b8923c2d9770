import { describe, expect, it } from 'vitest';
import { nextWanted, type Wants } from './order';
import { FrameWindow, windowCapacity } from './window';

class Frame {
  closed = false;
  close(): void {
    this.closed = true;
  }
}

describe('FrameWindow', () => {
  it('lets the frame farthest from the head go, and closes it', () => {
    const window = new FrameWindow<Frame>(3);
    const frames = Array.from({ length: 5 }, () => new Frame());
    window.head = 3;
    [0, 2, 3, 4].forEach((i) => window.put(i, frames[i]));
    expect(frames.map((f) => f.closed)).toEqual([true, false, false, false, false]);
    expect([0, 2, 3, 4].map((i) => window.has(i))).toEqual([false, true, true, true]);
  });

  it('keeps what has just come, even when it is the farthest', () => {
    const window = new FrameWindow<Frame>(2);
    window.put(1, new Frame());
    window.put(2, new Frame());
    window.put(90, new Frame());
    expect(window.has(90)).toBe(true);
    expect(window.size).toBe(2);
  });

  it('closes all it holds', () => {
    const window = new FrameWindow<Frame>(4);
    const frames = [new Frame(), new Frame()];
    frames.forEach((f, i) => window.put(i, f));
    window.clear();
    expect(frames.every((f) => f.closed)).toBe(true);
    expect(window.size).toBe(0);
  });
});

describe('windowCapacity', () => {
  it('follows the budget, but never falls under two groups', () => {
    expect(windowCapacity(256 << 20, 1280, 720, 12)).toBe(194);
    expect(windowCapacity(1 << 20, 1920, 1080, 12)).toBe(30);
    expect(windowCapacity(0, 0, 0, 1)).toBe(8);
  });
});

describe('nextWanted', () => {
  const wants = (over: Partial<Wants> = {}, kept: number[] = []): Wants => ({
    demands: [],
    head: 50,
    direction: 1,
    count: 100,
    capacity: 30,
    filling: -1,
    quiet: false,
    missing: (i) => !kept.includes(i),
    ...over,
  });

  it('serves the newest demand first', () => {
    expect(nextWanted(wants({ demands: [7, 90] }))).toBe(90);
    expect(nextWanted(wants({ demands: [7, 90] }, [90]))).toBe(7);
  });

  it('serves demands, and nothing else, while it is quiet', () => {
    expect(nextWanted(wants({ demands: [7], quiet: true }))).toBe(7);
    expect(nextWanted(wants({ quiet: true }))).toBe(-1);
  });

  it('fills ahead in the direction of travel, then behind', () => {
    expect(nextWanted(wants())).toBe(51);
    expect(nextWanted(wants({ direction: -1 }))).toBe(49);
    const ahead = Array.from({ length: 12 }, (_, d) => 51 + d);
    expect(nextWanted(wants({}, ahead))).toBe(49);
  });

  it('goes no farther than the window and the shot reach', () => {
    const all = Array.from({ length: 100 }, (_, i) => i);
    expect(
      nextWanted(
        wants(
          {},
          all.filter((i) => i !== 70),
        ),
      ),
    ).toBe(-1);
    expect(nextWanted(wants({ head: 99 }, all.slice(80)))).toBe(-1);
    expect(nextWanted(wants({ head: 99 }, all.slice(90, 99)))).toBe(89);
  });
});
