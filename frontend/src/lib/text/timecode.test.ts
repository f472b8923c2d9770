import { describe, expect, it } from 'vitest';
import { timecode, type Rate } from './timecode';

const film: Rate = { num: 24, den: 1 };
const slowedFilm: Rate = { num: 24_000, den: 1001 };
const ntsc: Rate = { num: 30_000, den: 1001 };
const doubleNtsc: Rate = { num: 60_000, den: 1001 };

/**
 * The counter of SMPTE ST 12-1, stepped frame by frame: the first `dropped` numbers of each minute are left out, except
 * in minutes divisible by ten. Returns the frames counted until `hours` are full, and how many of them are wrong.
 */
function count(
  hours: number,
  nominal: number,
  dropped: number,
  wrong: (frame: number, address: number[]) => boolean,
): [number, number] {
  let [h, m, s, f] = [0, 0, 0, 0];
  let failures = 0;
  let frame = 0;
  do {
    if (wrong(frame, [h, m, s, f])) failures++;
    frame++;
    if (++f === nominal) [f, s] = [0, s + 1];
    if (s === 60) [s, m] = [0, m + 1];
    if (m === 60) [m, h] = [0, h + 1];
    if (f === 0 && s === 0 && m % 10 !== 0) f = dropped;
  } while (h < hours);
  return [frame, failures];
}

const TWO = Array.from({ length: 100 }, (_, n) => String(n).padStart(2, '0'));
const text = ([h, m, s, f]: number[], separator: string): string =>
  `${TWO[h]}:${TWO[m]}:${TWO[s]}${separator}${TWO[f]}`;

/** Back from an address to its frame: all numbers of the day so far, less those left out (ST 12-1, annex on conversion). */
function frameOf(address: string, nominal: number, dropped: number): number {
  const at = (place: number) => Number(address.slice(place, place + 2));
  const minutes = at(0) * 60 + at(3);
  return (minutes * 60 + at(6)) * nominal + at(9) - dropped * (minutes - Math.floor(minutes / 10));
}

describe('timecode (SMPTE ST 12-1)', () => {
  it('has 17,982 frames in ten minutes of drop-frame counting', () => {
    expect(timecode(17_981, ntsc)).toBe('00:09:59;29');
    expect(timecode(17_982, ntsc)).toBe('00:10:00;00');
    expect(timecode(35_964, doubleNtsc)).toBe('00:10:00;00');
  });

  it('leaves numbers 0 and 1 out at the minute, and keeps them at the tenth', () => {
    expect([1799, 1800, 1801].map((i) => timecode(i, ntsc))).toEqual(['00:00:59;29', '00:01:00;02', '00:01:00;03']);
    expect([3599, 3600].map((i) => timecode(i, doubleNtsc))).toEqual(['00:00:59;59', '00:01:00;04']);
  });

  it.each<[string, number, Rate, number, number, number]>([
    ['a day at 29.97', 24, ntsc, 30, 2, 2_589_408],
    ['two hours at 59.94', 2, doubleNtsc, 60, 4, 431_568],
    ['two hours at 24', 2, film, 24, 0, 172_800],
    ['two hours at 23.976', 2, slowedFilm, 24, 0, 172_800],
  ])('counts every frame of %s there and back', (_name, hours, rate, nominal, dropped, frames) => {
    const separator = dropped > 0 ? ';' : ':';
    const counted = count(hours, nominal, dropped, (frame, address) => {
      const said = timecode(frame, rate);
      return said !== text(address, separator) || frameOf(said, nominal, dropped) !== frame;
    });
    expect(counted).toEqual([frames, 0]);
  });

  it('begins anew after a day', () => {
    expect(timecode(2_589_407, ntsc)).toBe('23:59:59;29');
    expect(timecode(2_589_408, ntsc)).toBe('00:00:00;00');
  });

  it('keeps up with the clock: a day of it is off by less than a tenth of a second', () => {
    const realMs = (2_589_408 * 1000 * ntsc.den) / ntsc.num;
    expect(Math.abs(realMs - 86_400_000)).toBeLessThan(100);
  });
});
