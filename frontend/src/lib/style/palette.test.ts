import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { contrastRatio } from './contrast';
import { grey, paper, type Palette } from './palette';

const css = readFileSync(new URL('./tokens.css', import.meta.url), 'utf8');

function tokens(selector: string): Record<string, string> {
  const start = css.indexOf(`${selector} {`);
  const block = css.slice(start, css.indexOf('}', start));
  return Object.fromEntries([...block.matchAll(/--(\w+): (#[0-9a-f]{6});/g)].map((m) => [m[1], m[2]]));
}

describe('contrast', () => {
  // WCAG 2.2, 1.4.3 and its definitions: black on white is 21:1; #767676 is the darkest-allowed grey usually quoted
  // for 4.5:1 on white, #777777 falls just below (W3C, Understanding SC 1.4.3: 4.54 and 4.48).
  it('follows the formula of WCAG 2.2', () => {
    expect(contrastRatio('#000000', '#ffffff')).toBeCloseTo(21, 5);
    expect(contrastRatio('#767676', '#ffffff')).toBeCloseTo(4.54, 2);
    expect(contrastRatio('#777777', '#ffffff')).toBeCloseTo(4.48, 2);
    expect(contrastRatio('#ffffff', '#777777')).toBe(contrastRatio('#777777', '#ffffff'));
  });
});

describe.each<[string, Palette, string]>([
  ['paper', paper, ':root'],
  ['grey', grey, "[data-ground='grey']"],
])('palette %s', (_name, palette, selector) => {
  const surfaces = [palette.ground, palette.panel];

  it('keeps text at 4.5:1 (WCAG 2.2, 1.4.3)', () => {
    for (const surface of surfaces)
      for (const text of [palette.ink, palette.dim]) expect(contrastRatio(text, surface)).toBeGreaterThanOrEqual(4.5);
  });

  it('keeps marks, fields and focus rings at 3:1 (WCAG 2.2, 1.4.11)', () => {
    for (const surface of surfaces)
      for (const mark of [palette.ink, palette.hot, palette.edge])
        expect(contrastRatio(mark, surface)).toBeGreaterThanOrEqual(3);
  });

  it('stands in the style sheet with the same values', () => {
    expect(tokens(selector)).toMatchObject({ ...palette });
  });
});

it('keeps the grey ground neutral (R = G = B; ITU-R BT.500, ISO 3664)', () => {
  for (const shade of [grey.ground, grey.panel, grey.ink, grey.dim, grey.rule, grey.edge])
    expect(new Set([shade.slice(1, 3), shade.slice(3, 5), shade.slice(5, 7)]).size).toBe(1);
});
