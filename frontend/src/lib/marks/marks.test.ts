import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Kind, Urgency } from '$lib/api';
import { markParts, markPath, type MarkSpec } from './shape';
import { markStandings, standingWords, type MarkStanding } from './standing';

const kinds: Kind[] = ['fix', 'consider', 'keep', 'question'];
const standings: MarkStanding[] = ['noted', 'still', 'unmentioned', 'eased', 'cleared', 'back', 'set-aside', 'late'];
const box = { x: 0, y: 0, w: 22, h: 16 };
const parts = (spec: Partial<MarkSpec>) => markParts({ kind: 'fix', standing: 'noted', ...spec }, box);
const hot = (spec: Partial<MarkSpec>) => parts(spec).some((p) => p.fill === 'hot' || p.stroke === 'hot');

describe('markStandings', () => {
  it('calls what is noted again while open still there', () => {
    expect(markStandings([null, 'noted', 'noted', 'unmentioned', 'noted'])).toEqual([
      null,
      'noted',
      'still',
      'unmentioned',
      'still',
    ]);
  });
  it('leaves every other standing as it is', () => {
    expect(markStandings(['noted', 'eased', 'cleared', 'back', 'set-aside'])).toEqual([
      'noted',
      'eased',
      'cleared',
      'back',
      'set-aside',
    ]);
  });
  it('never starts with still', () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(null, 'noted' as const, 'eased' as const)), (history) => {
        expect(markStandings(history).find((s) => s !== null)).not.toBe('still');
      }),
    );
  });
});

describe('markParts', () => {
  it('keeps vermilion for what is still there or came back', () => {
    for (const kind of kinds)
      for (const standing of standings)
        expect(hot({ kind, standing })).toBe(kind !== 'keep' && (standing === 'still' || standing === 'back'));
  });

  it('draws another picture for every standing of a block and a lozenge', () => {
    for (const kind of ['fix', 'consider'] as const) {
      const drawn = standings.map((standing) => JSON.stringify(parts({ kind, standing })));
      expect(new Set(drawn).size).toBe(standings.length);
    }
  });

  it('draws another outline for every kind', () => {
    expect(new Set(kinds.map((kind) => markPath(kind, 0, 0, 22, 16))).size).toBe(4);
  });

  it('dashes only where the frame map is unsure', () => {
    for (const kind of kinds)
      for (const standing of standings) {
        expect(parts({ kind, standing }).some((p) => p.dashed)).toBe(false);
        const dotted = standing === 'unmentioned' || standing === 'late';
        expect(parts({ kind, standing, unsure: true }).some((p) => p.dashed)).toBe(!dotted);
      }
  });

  it('thickens the left edge with urgency', () => {
    const edge = (urgency: Urgency) => Math.max(...parts({ urgency }).map((p) => p.strokeWidth));
    expect(edge('must')).toBeGreaterThan(edge('should'));
    expect(edge('should')).toBeGreaterThan(edge('if-time'));
  });

  it('never puts a broken number into a path, whatever the box', () => {
    const side = fc.double({ min: 1, max: 4000, noNaN: true });
    fc.assert(
      fc.property(
        fc.constantFrom(...kinds),
        fc.constantFrom(...standings),
        fc.record({ x: side, y: side, w: side, h: side }),
        fc.boolean(),
        (kind, standing, area, unsure) => {
          for (const part of markParts({ kind, standing, unsure, urgency: 'must' }, area))
            expect(part.d).toMatch(/^[MLHVACZa0-9 .-]+$/);
        },
      ),
    );
  });
});

it('speaks of praise that holds, not of a fault that stays', () => {
  expect(standingWords('still', 'keep')).toBe('holds');
  expect(standingWords('still', 'fix')).toBe('still there');
});
