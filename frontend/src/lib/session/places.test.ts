import { describe, expect, it } from 'vitest';
import { homeOf, placesOf, safeReturn } from './places';

describe('places', () => {
  it('lists a page once for a person of several roles', () => {
    expect(placesOf(['mentor', 'office', 'student']).map((p) => p.name)).toEqual([
      'Desk',
      'Roster',
      'Archive',
      'Words',
      'My shots',
      'My refrain',
      'Office',
    ]);
  });
  it('starts everyone somewhere', () => {
    expect(homeOf(['student'])).toBe('/shots');
    expect(homeOf(['office', 'mentor'])).toBe('/desk');
    expect(homeOf([])).toBe('/you');
  });
});

describe('safeReturn', () => {
  it('follows paths of this site only (CWE-601, open redirect)', () => {
    expect(safeReturn('/desk?x=1')).toBe('/desk?x=1');
    for (const to of ['//else.test', '/\\else.test', 'https://else.test/', 'javascript:alert(1)', '', null])
      expect(safeReturn(to)).toBeNull();
  });
});
