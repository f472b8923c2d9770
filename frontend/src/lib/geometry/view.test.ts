import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { scenePoint, screenPoint, rectBetween } from './points';
import { fitted, held, panned, shownSize, toScene, toScreen, unitMatrix, zoomedAt, type View } from './view';

const size = fc.integer({ min: 40, max: 4000 });
const views = fc
  .record({
    w: size,
    h: size,
    pw: size,
    ph: size,
    zoom: fc.double({ min: 1, max: 32, noNaN: true }),
    mirrored: fc.boolean(),
  })
  .chain(({ w, h, pw, ph, zoom, mirrored }) =>
    fc
      .record({ panX: fc.integer({ min: -3000, max: 3000 }), panY: fc.integer({ min: -3000, max: 3000 }) })
      .map((pan): View => held({ ...fitted(w, h, pw, ph), zoom, mirrored, ...pan })),
  );
const unit = fc.double({ min: 0, max: 1, noNaN: true });

describe('view', () => {
  it('leads from the picture to the canvas and back', () => {
    fc.assert(
      fc.property(views, unit, unit, (view, x, y) => {
        const back = toScene(view, toScreen(view, scenePoint(x, y)));
        expect(back.x).toBeCloseTo(x, 6);
        expect(back.y).toBeCloseTo(y, 6);
      }),
    );
  });

  it('agrees with the matrix the picture is painted with', () => {
    fc.assert(
      fc.property(views, unit, unit, (view, x, y) => {
        const [a, b, c, d, e, f] = unitMatrix(view);
        const p = toScreen(view, scenePoint(x, y));
        expect(a * x + c * y + e).toBeCloseTo(p.x, 6);
        expect(b * x + d * y + f).toBeCloseTo(p.y, 6);
      }),
    );
  });

  it('keeps the place under the pointer while zooming in on the picture', () => {
    const view = fitted(800, 450, 1280, 720);
    const at = screenPoint(300, 200);
    const before = toScene(view, at);
    const after = toScene(zoomedAt(view, at, 3), at);
    expect(after.x).toBeCloseTo(before.x, 9);
    expect(after.y).toBeCloseTo(before.y, 9);
  });

  it('never loses the picture', () => {
    fc.assert(
      fc.property(
        views,
        fc.integer({ min: -9999, max: 9999 }),
        fc.integer({ min: -9999, max: 9999 }),
        (view, dx, dy) => {
          const moved = panned(view, dx, dy);
          const { width, height } = shownSize(moved);
          expect(moved.width / 2 + moved.panX + width / 2).toBeGreaterThan(0);
          expect(moved.width / 2 + moved.panX - width / 2).toBeLessThan(moved.width);
          expect(moved.height / 2 + moved.panY + height / 2).toBeGreaterThan(0);
          expect(moved.height / 2 + moved.panY - height / 2).toBeLessThan(moved.height);
        },
      ),
    );
  });

  it('centres a fitted picture and keeps its ratio', () => {
    const { width, height } = shownSize(fitted(800, 800, 1920, 1080));
    expect(width).toBe(800);
    expect(height).toBe(450);
    expect(toScreen(fitted(800, 800, 1920, 1080), scenePoint(0.5, 0.5))).toEqual({ x: 400, y: 400 });
  });

  it('shows the left of the picture on the right when mirrored', () => {
    const view = { ...fitted(100, 100, 100, 100), mirrored: true };
    expect(toScreen(view, scenePoint(0, 0)).x).toBe(100);
  });
});

describe('rectBetween', () => {
  it('is the same whichever corner comes first, and stays on the picture', () => {
    const rect = { x: 0.2, y: 0, w: 0.5, h: 0.4 };
    for (const r of [
      rectBetween(scenePoint(0.2, -3), scenePoint(0.7, 0.4)),
      rectBetween(scenePoint(0.7, 0.4), scenePoint(0.2, -3)),
    ]) {
      expect(r.x).toBeCloseTo(rect.x);
      expect(r.y).toBe(0);
      expect(r.w).toBeCloseTo(rect.w);
      expect(r.h).toBeCloseTo(rect.h);
    }
  });
});
