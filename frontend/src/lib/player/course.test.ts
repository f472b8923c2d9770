import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Course } from './course';
import { frameTimes } from './times';
import type { Run } from './types';

const film = frameTimes(
  Array.from({ length: 48 }, (_, i) => i * 1000),
  { num: 1, den: 24000 },
  1000,
);
const run = (over: Partial<Run> = {}): Run => ({ first: 0, last: 47, direction: 1, rate: 1, loop: false, ...over });

describe('Course', () => {
  it('shows every frame for its own time, then is over', () => {
    const course = new Course(run(), film);
    expect(course.due(0)?.frame).toBe(0);
    expect(course.due(41.6)?.frame).toBe(0);
    expect(course.due(41.7)?.frame).toBe(1);
    expect(course.due(1999)?.frame).toBe(47);
    expect(course.due(2000.1)).toBeNull();
    expect(course.lengthMs).toBeCloseTo(2000);
  });

  it('gives the last frame its time as well, on a variable rate', () => {
    const times = frameTimes([0, 10, 200, 210], { num: 1, den: 1000 }, 300);
    const course = new Course(run({ last: 3 }), times);
    expect([5, 15, 199, 205, 500].map((ms) => course.due(ms)?.frame)).toEqual([0, 1, 1, 2, 3]);
    expect(course.due(511)).toBeNull();
  });

  it('plays backwards through the same times', () => {
    const times = frameTimes([0, 10, 200, 210], { num: 1, den: 1000 }, 300);
    const course = new Course(run({ last: 3, direction: -1 }), times);
    expect([0, 299, 301, 311, 499, 501].map((ms) => course.due(ms)?.frame)).toEqual([3, 3, 2, 1, 1, 0]);
    expect(course.due(511)).toBeNull();
  });

  it('takes twice as long at half the speed', () => {
    expect(new Course(run({ rate: 0.5 }), film).lengthMs).toBeCloseTo(4000);
    expect(new Course(run({ rate: 0.5 }), film).due(2001)?.frame).toBe(24);
  });

  it('loops a span without a gap and counts the rounds', () => {
    const course = new Course(run({ first: 10, last: 13, loop: true }), film);
    const step = 1000 / 24;
    expect([0, 1, 2, 3, 4, 5, 9].map((k) => course.due((k + 0.5) * step))).toEqual([
      { frame: 10, lap: 0, ordinal: 0 },
      { frame: 11, lap: 0, ordinal: 1 },
      { frame: 12, lap: 0, ordinal: 2 },
      { frame: 13, lap: 0, ordinal: 3 },
      { frame: 10, lap: 1, ordinal: 4 },
      { frame: 11, lap: 1, ordinal: 5 },
      { frame: 11, lap: 2, ordinal: 9 },
    ]);
  });

  it('begins where it is told, in either direction', () => {
    for (const direction of [1, -1] as const)
      expect(new Course(run({ from: 20, direction }), film).due(1)?.frame).toBe(20);
  });

  it('stays in the span and never goes back, whatever the table', () => {
    const steps = fc.array(fc.integer({ min: 0, max: 100 }), { minLength: 2, maxLength: 40 });
    fc.assert(
      fc.property(steps, fc.boolean(), fc.double({ min: 0.1, max: 4, noNaN: true }), (gaps, forwards, rate) => {
        let at = 0;
        const times = frameTimes(
          gaps.map((g) => (at += g)),
          { num: 1, den: 1000 },
          40,
        );
        const last = gaps.length - 1;
        const course = new Course({ first: 0, last, direction: forwards ? 1 : -1, rate, loop: true }, times);
        let before = -1;
        for (let ms = 0; ms < 3000; ms += 16) {
          const due = course.due(ms)!;
          expect(due.frame).toBeGreaterThanOrEqual(0);
          expect(due.frame).toBeLessThanOrEqual(last);
          expect(due.ordinal).toBeGreaterThanOrEqual(before);
          before = due.ordinal;
        }
      }),
      { numRuns: 50 },
    );
  });
});
