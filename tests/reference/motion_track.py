"""Reference values for following points, computed by other programs from pictures made by formula.

usage: motion_track.py [--check]     writes motion_track.json beside this file, or compares with it
Packages are pinned in requirements.txt. OpenCV: calcOpticalFlowPyrLK, matchTemplate, cvtColor; SciPy: natural cubic spline.
"""
import json, os, sys
import cv2
import numpy as np
from scipy.interpolate import CubicSpline

HERE = os.path.dirname(os.path.abspath(__file__))
SHIFTS = [(3.4, -2.7), (-0.6, 1.3), (17.25, 9.5)]


def wave(x, y, kind):
    """The picture without end: smooth waves of several lengths; the same formula stands in the tests."""
    if kind == 0:
        v = 40 * np.sin(x / 5 + 0.7 * np.sin(y / 9)) + 35 * np.cos(y / 6 - x / 13) + 30 * np.sin((x + 2 * y) / 31)
    else:
        v = 60 * np.sin(x / 3.1) * np.cos(y / 3.7) + 45 * np.sin(x / 17 + y / 23) + 12 * np.cos(x * y / 900)
    return v + 127.5


def picture(kind, dx=0.0, dy=0.0, w=320, h=240):
    y, x = np.mgrid[0:h, 0:w].astype(float)
    return np.clip(np.floor(wave(x - dx, y - dy, kind) + 0.5), 0, 255).astype(np.uint8)


def points():
    return [(40 + 24.3 * i, 36 + 23.7 * j) for j in range(8) for i in range(10)]


def lk():
    out = []
    for kind in (0, 1):
        for dx, dy in SHIFTS:
            for window in (17, 21):
                p = np.float32(points()).reshape(-1, 1, 2)
                criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.01)
                q, ok, _ = cv2.calcOpticalFlowPyrLK(picture(kind), picture(kind, dx, dy), p, None, winSize=(window, window), maxLevel=3, criteria=criteria)
                rows = [[round(float(x), 4), round(float(y), 4), int(s)] for (x, y), s in zip(q.reshape(-1, 2), ok.ravel())]
                out.append(dict(kind=kind, shift=[dx, dy], window=window, found=rows))
    return out


def ncc():
    full = np.dstack([picture(0, w=64, h=48), picture(1, w=64, h=48), picture(0, 5.5, 3.25, 64, 48)])
    patch = full[12:33, 20:41].copy()
    patch = np.clip(patch.astype(float) * 0.8 + 20, 0, 255).round().astype(np.uint8)
    grey = cv2.matchTemplate(full[..., 0].copy(), patch[..., 0].copy(), cv2.TM_CCOEFF_NORMED)
    colour = cv2.matchTemplate(full, patch, cv2.TM_CCOEFF_NORMED)
    return {name: [[round(float(v), 6) for v in row[::3]] for row in m[::3]] for name, m in (("grey", grey), ("colour", colour))}


def spline():
    rng = np.random.default_rng(4)
    t = np.cumsum(rng.integers(1, 9, 7)).astype(float)
    p = rng.uniform(0, 600, (7, 2)).round(2)
    at = np.linspace(t[0], t[-1], 23)
    got = CubicSpline(t, p, bc_type="natural")(at)
    return dict(times=t.tolist(), points=p.tolist(), at=at.tolist(), got=got.round(8).tolist())


def lab():
    rng = np.random.default_rng(5)
    rgb = rng.integers(0, 256, (12, 3))
    got = cv2.cvtColor((rgb[None] / 255).astype(np.float32), cv2.COLOR_RGB2Lab)[0]
    return [dict(rgb=c.tolist(), lab=[round(float(v), 3) for v in g]) for c, g in zip(rgb, got)]


def main():
    path = os.path.join(HERE, "motion_track.json")
    new = dict(opencv=cv2.__version__, lk=lk(), ncc=ncc(), spline=spline(), lab=lab())
    if "--check" in sys.argv:
        old = json.load(open(path))

        def close(a, b):
            if isinstance(a, dict):
                return set(a) == set(b) and all(close(a[k], b[k]) for k in a)
            if isinstance(a, list):
                return len(a) == len(b) and all(close(x, y) for x, y in zip(a, b))
            return abs(a - b) < 1e-3 if isinstance(a, (int, float)) else True

        if not close(old, new):
            sys.exit("motion_track.json is not what this script computes: run it without --check")
        return
    json.dump(new, open(path, "w"), separators=(",", ":"))
    open(path, "a").write("\n")


main()
