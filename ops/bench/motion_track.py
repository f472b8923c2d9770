"""Following points: this program's method against OpenCV's calcOpticalFlowPyrLK on the same pictures in the same run.

usage: motion_track.py LK_SPEED [REPEATS]     prints name<TAB>value<TAB>unit
LK_SPEED is the built example `lk_speed` of the crate `motion`. Pictures come with scikit-image. Both sides build their
pyramids within the time taken; the time a point is that of a point more (eight times as many points against as many), the time
a pair of pictures the rest. Times are the best of the repeats.
"""
import subprocess, sys, time
import cv2
import numpy as np
from skimage import data

LEVELS, SHIFTS = 4, [(3.4, -2.7), (17.25, 9.5)]


def shifted(grey, dx, dy):
    m = np.float32([[1, 0, dx], [0, 1, dy]])
    return cv2.warpAffine(grey, m, grey.shape[::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT_101)


def pairs():
    for name in ("camera", "coins", "page", "brick"):
        grey = getattr(data, name)()
        for dx, dy in SHIFTS:
            yield f"{name} {dx:g} {dy:g}", grey, shifted(grey, dx, dy)


def ours(program, a, b, points, window, repeats):
    h, w = a.shape
    sent = a.tobytes() + b.tobytes() + points.astype("<f4").tobytes()
    run = subprocess.run([program, *map(str, (w, h, window, repeats))], input=sent, capture_output=True, check=True)
    lines = run.stdout.decode().split("\n")
    return float(lines[0]) * len(points), np.array([[float(v) for v in l.split()] for l in lines[1:] if l])


def theirs(a, b, points, window, repeats):
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 20, 0.01)
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        found, status, _ = cv2.calcOpticalFlowPyrLK(a, b, points, None, winSize=(window, window), maxLevel=LEVELS - 1, criteria=criteria)
        best = min(best, time.perf_counter() - start)
    return best * 1e6, (found.reshape(-1, 2), status.ravel() == 1)


MANY = 8


def slope(run, points):
    """Time a point more and time of the rest, in microseconds, and what is found of the points once."""
    few, found = run(points)
    many, _ = run(np.repeat(points, MANY, 0))
    each = (many - few) / ((MANY - 1) * len(points))
    return each, few - each * len(points), found


def main():
    program, repeats = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 30
    cv2.setNumThreads(1)
    for window in (17, 21):
        ratios = []
        for name, a, b in pairs():
            corners = cv2.goodFeaturesToTrack(a, 400, 0.01, 5).astype(np.float32)
            mine, pair, got = slope(lambda p: ours(program, a, b, p, window, repeats), corners)
            other, other_pair, (want, seen) = slope(lambda p: theirs(a, b, p, window, repeats), corners)
            both = seen & (got[:, 2] > 0)
            apart = np.hypot(*(got[both, :2] - want[both]).T)
            ratios.append(other / mine)
            print(f"lk {window}px {name}\t{mine:.2f}\tus/point")
            print(f"lk {window}px {name} opencv\t{other:.2f}\tus/point")
            print(f"lk {window}px {name} pyramids\t{pair / 1e3:.2f}\tms")
            print(f"lk {window}px {name} pyramids opencv\t{other_pair / 1e3:.2f}\tms")
            print(f"lk {window}px {name} apart median\t{np.median(apart):.5f}\tpx")
            print(f"lk {window}px {name} apart p90\t{np.percentile(apart, 90):.5f}\tpx")
        print(f"lk {window}px speed against opencv\t{np.exp(np.mean(np.log(ratios))):.2f}\tx")


main()
