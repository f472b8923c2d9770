"""Reference values for the measures of motion, computed without the program.

usage: motion_measures.py [--check]     writes motion_measures.json beside this file, or compares with it
Packages are pinned in requirements.txt. Sources: minimum jerk movement (Flash and Hogan 1985), spectral arc length (Balasubramanian
et al. 2015), log dimensionless jerk (Balasubramanian et al. 2012), two-thirds power law (Lacquaniti et al. 1983), Hampel identifier
(package hampel), foot skate (Zhang et al. 2018), lag (scipy.signal.correlate). Formulas are written down from memory of the sources.
"""
import json, os, sys
import numpy as np
from hampel import hampel
from scipy.signal import correlate

HERE = os.path.dirname(os.path.abspath(__file__))


def minimum_jerk(n):
    u = np.linspace(0, 1, n)
    return 10 * u**3 - 15 * u**4 + 6 * u**5


def sparc(v, rate, pad=4, cutoff=10.0, least=0.05):
    n = int(2 ** (np.ceil(np.log2(len(v))) + pad))
    f = np.arange(0, rate, rate / n)
    m = np.abs(np.fft.fft(v, n))
    m = m / m.max()
    m, f = m[f <= cutoff], f[f <= cutoff]
    keep = np.nonzero(m >= least)[0]
    m, f = m[keep[0] : keep[-1] + 1], f[keep[0] : keep[-1] + 1]
    return -np.sum(np.hypot(np.diff(f) / (f[-1] - f[0]), np.diff(m)))


def ldlj(v, rate):
    dt = 1 / rate
    jerk = np.diff(v, 2) / dt**2
    return -np.log((len(v) * dt) ** 3 / v.max() ** 2 * np.sum(jerk**2) * dt)


def smooth():
    t = np.arange(-1, 1, 0.01)
    u = np.linspace(0, 1, 101)
    reach = 30 * u**2 - 60 * u**3 + 30 * u**4
    rows = dict(gauss=np.exp(-5 * t**2), reach=reach, twice=np.concatenate([reach, reach]))
    return {k: dict(speeds=v.tolist(), sparc=sparc(v, 100), ldlj=ldlj(v, 100)) for k, v in rows.items()}


def two_thirds(a=2.0, b=1.0, w=2 * np.pi, rate=240):
    t = np.arange(0, 1, 1 / rate)
    x, y = a * np.cos(w * t), b * np.sin(w * t)
    return dict(points=np.stack([x, y], 1).tolist(), rate=rate, slope=1 / 3, gain=(a * b * w**3) ** (1 / 3))


def wild():
    row = [1, 1.1, 0.9, 1, 1.05, 9, 1, 0.95, 1.1, 1, 1.02, -4, 1, 0.98, 1.03]
    rng = np.random.default_rng(11)
    long = rng.normal(size=200)
    long[rng.integers(5, 195, 12)] += 9
    of = lambda v: dict(values=list(v), wild=[int(i) for i in hampel(np.asarray(v, float), window_size=7, n_sigma=3.0).outlier_indices])
    return [of(row), of(long.tolist())]


def skate(limit=2.5):
    h = np.array([0, 0.5, 1, 2, 2.5, 3])
    v = np.array([1, 0.8, 0.6, 0.4, 0.3, 0.2])
    return dict(heights=h.tolist(), speeds=v.tolist(), limit=limit, value=float(np.sum((v * (2 - 2 ** (h / limit)))[h <= limit])))


def lags():
    rng = np.random.default_rng(3)
    a = np.convolve(rng.normal(size=80), np.hanning(9), "same")
    b = np.concatenate([np.zeros(5), a[:-5]])
    t = np.arange(96)
    s = lambda d: np.exp(-(((t - 48 - d) / 14) ** 2)) * np.sin((t - d) / 7)
    out = []
    for p, q in ((a, b), (s(0), s(3.4)), (s(2.0), s(0))):
        x, y = p - p.mean(), q - q.mean()
        c = correlate(y, x)
        k = int(np.argmax(c))
        bow = c[k - 1] - 2 * c[k] + c[k + 1]
        out.append(dict(a=p.tolist(), b=q.tolist(), lag=float(k - (len(p) - 1) + 0.5 * (c[k - 1] - c[k + 1]) / bow)))
    return out


def main():
    path = os.path.join(HERE, "motion_measures.json")
    gaps = np.diff(minimum_jerk(25))
    jerk = dict(places=minimum_jerk(25).tolist(), peak_to_mean=float(gaps.max() / gaps.mean()), continuous=1.875)
    new = dict(minimum_jerk=jerk, smoothness=smooth(), two_thirds=two_thirds(), hampel=wild(), foot_skate=skate(), lag=lags())
    if "--check" in sys.argv:

        def close(a, b):
            if isinstance(a, dict):
                return set(a) == set(b) and all(close(a[k], b[k]) for k in a)
            if isinstance(a, list):
                return len(a) == len(b) and all(close(x, y) for x, y in zip(a, b))
            return abs(a - b) < 1e-9

        if not close(json.load(open(path)), json.loads(json.dumps(new))):
            sys.exit("motion_measures.json is not what this script computes: run it without --check")
        return
    with open(path, "w") as out:
        json.dump(new, out, separators=(",", ":"))
        out.write("\n")


main()
