import { describe, expect, it } from 'vitest';
import { count, dayOf, daysAgo, daysBetween, longDay, promiseWords, shortDay, shortTime } from './dates';
import { framesWords, partWords, spanWords } from './frames';

describe('days', () => {
  // ISO 8601: 2026-12-08 is a Tuesday (also `date -d 2026-12-08 +%A`).
  it('writes a day in words', () => {
    expect(longDay('2026-12-08', '2026-11-25')).toBe('Tuesday 8 December');
    expect(shortDay('2026-12-08', '2026-11-25')).toBe('8 Dec');
  });
  it('adds the year when it is another', () => {
    expect(shortDay('2025-08-12', '2026-11-25')).toBe('12 Aug 2025');
    expect(longDay('2027-01-02', '2026-11-25')).toBe('Saturday 2 January 2027');
  });
  it('takes the day in the zone of the school', () => {
    expect(dayOf('2026-11-25T23:30:00Z', 'Europe/Helsinki')).toBe('2026-11-26');
    expect(dayOf('2026-11-25T03:30:00Z', 'America/Lima')).toBe('2026-11-24');
  });
  it('counts days over a change of the clock and a leap day', () => {
    expect(daysBetween('2026-10-24', '2026-10-26')).toBe(2);
    expect(daysBetween('2028-02-28', '2028-03-01')).toBe(2);
    expect(daysBetween('2026-12-08', '2026-11-25')).toBe(-13);
  });
  it('says how long ago, and how a promise stands', () => {
    expect(daysAgo('2026-10-15', '2026-11-25')).toBe('41 days ago');
    expect(daysAgo('2026-11-24', '2026-11-25')).toBe('yesterday');
    expect([2, 1, 0, -1, -3].map(promiseWords)).toEqual([
      '2 days late',
      '1 day late',
      'due today',
      '1 day left',
      '3 days left',
    ]);
  });
  it('writes a time in the zone of the school', () => {
    expect(shortTime('2026-12-08T12:03:00Z', 'Europe/Helsinki', '2026-12-09')).toBe('8 Dec, 14:03');
  });
});

it('counts from the first frame of the shot', () => {
  expect(spanWords({ start: 57, end: 62 }, 1)).toBe('58–63');
  expect(spanWords({ start: 60, end: 60 }, 1001)).toBe('1061');
  expect(framesWords({ start: 57, end: 62 }, 1)).toBe('frames 58–63');
  expect(framesWords({ start: 60, end: 60 }, 1001)).toBe('frame 1061');
});

it('names parts with their side', () => {
  expect(partWords({ part: 'wrist', side: 'left' })).toBe('left wrist');
  expect(partWords({ part: 'camera', side: null })).toBe('camera');
  expect(['arm', 'foot', 'eyes'].map((part) => partWords({ part, side: 'both' }))).toEqual([
    'both arms',
    'both feet',
    'both eyes',
  ]);
});

it('counts things', () => {
  expect([count(0, 'note'), count(1, 'note'), count(2, 'note')]).toEqual(['no notes', '1 note', '2 notes']);
});
