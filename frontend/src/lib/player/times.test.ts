import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { endOf, frameAt, frameTimes } from './times';

describe('frameTimes', () => {
  it('turns integers of the source clock into milliseconds from the first frame', () => {
    const times = frameTimes([1001, 2002, 3003], { num: 1, den: 24000 }, 1001);
    expect([...times.starts]).toEqual([0, (1001 * 1000) / 24000, (2002 * 1000) / 24000]);
    expect(times.endMs).toBeCloseTo((3003 * 1000) / 24000, 9);
  });

  it('gives the last frame the median step when its own length is unknown', () => {
    expect(frameTimes([0, 10, 20, 60], { num: 1, den: 1000 }).endMs).toBe(70);
    expect(frameTimes([5], { num: 1, den: 1000 }).endMs).toBeCloseTo(1000 / 24);
  });
});

describe('frameAt', () => {
  it('finds the frame that is on screen, on any table', () => {
    const tables = fc.array(fc.integer({ min: 0, max: 90 }), { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(tables, fc.double({ min: -10, max: 6000, noNaN: true }), (steps, ms) => {
        let at = 0;
        const times = frameTimes(
          steps.map((s) => (at += s)),
          { num: 1, den: 1000 },
          40,
        );
        const i = frameAt(times, ms);
        if (ms >= 0) expect(times.starts[i]).toBeLessThanOrEqual(ms);
        if (ms >= 0 && i + 1 < steps.length) expect(endOf(times, i)).toBeGreaterThan(ms);
        if (ms < 0) expect(i).toBe(0);
      }),
    );
  });
});
