import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { SoundClock } from './sound';

const audio = (over = {}) => ({
  currentTime: 0,
  paused: false,
  ended: false,
  readyState: 4,
  play: () => Promise.resolve(),
  ...over,
});

describe('SoundClock', () => {
  beforeEach(() => void vi.useFakeTimers({ toFake: ['performance'] }));
  afterEach(() => void vi.useRealTimers());

  it('runs on the page while nothing is heard', () => {
    const clock = new SoundClock(audio({ paused: true }), 0);
    vi.advanceTimersByTime(500);
    expect(clock.elapsed()).toBeCloseTo(500);
  });

  it('jumps to the sound when it is far off, and never runs backwards', () => {
    const element = audio();
    const clock = new SoundClock(element, 1000);
    vi.advanceTimersByTime(100);
    element.currentTime = 1.5;
    expect(clock.elapsed()).toBeCloseTo(500);
    element.currentTime = 1.2;
    expect(clock.elapsed()).toBeCloseTo(500);
  });

  it('leans on the sound when it is near', () => {
    const element = audio();
    const clock = new SoundClock(element, 0);
    for (let ms = 10; ms <= 2000; ms += 10) {
      vi.advanceTimersByTime(10);
      element.currentTime = (ms * 0.98) / 1000;
      clock.elapsed();
    }
    expect(Math.abs(clock.elapsed() - 1960)).toBeLessThan(5);
  });

  it('goes on counting over the rounds of a loop', () => {
    const element = audio();
    const clock = new SoundClock(element, 1000);
    vi.advanceTimersByTime(400);
    element.currentTime = 1.4;
    expect(clock.elapsed()).toBeCloseTo(400);
    clock.lap(1000);
    expect(element.currentTime).toBe(1);
    vi.advanceTimersByTime(100);
    element.currentTime = 1.1;
    expect(clock.elapsed()).toBeCloseTo(500);
  });
});
