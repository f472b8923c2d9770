"""Clips with exact truth.

usage: make.py --seed S --out DIR --n N [--kinds a,b] [--no-video]
Each case is a folder with clean.mp4, fault.mp4, eased.mp4 (the same fault, weaker) and truth.json; README.md has its format.
"""
import argparse, json, os
import numpy as np
from figure import J, mocap, posed, contacts_of
from faults import KINDS, plan, apply
from params import PARAMS as C


def base(rng):
    if rng.random() < C['mocap_share']:
        w = np.array(C['clip_weight'], float)
        name = str(rng.choice(C['clips'], p=w / w.sum()))
        P, D, tall = mocap(name, rng)
        return P, D, tall, None, 'mocap:' + name
    P, D, tall, cont = posed(rng, int(rng.integers(*C['frames'])))
    return P, D, tall, cont, 'posed'


def fit(P, tall, rng, W, Hh, room):
    """Pixels: the whole path inside the picture; the same scale for all forms."""
    lo, hi = P.reshape(-1, 2).min(0), P.reshape(-1, 2).max(0)
    k = min(rng.uniform(*C['fill']) * Hh / tall, (Hh * .92) / (hi[1] - lo[1] + .25), (W * .94) / (hi[0] - lo[0] + .3))
    off = np.array([W / 2 - k * (lo[0] + hi[0]) / 2, Hh * .93 - k * (hi[1] + .06)])
    return P * k + off, k * tall


def case(seed, kind):
    """Tries bases until the kind finds a place."""
    for a in range(60):
        rng = np.random.default_rng([C['salt'], seed, a, KINDS.index(kind)])
        P, D, tall, cont, src = base(rng)
        P, H = fit(P, tall, rng, C['width'], C['height'], .1)
        cont = cont or contacts_of(P, H)
        pl = plan(kind, P, D, H, cont, rng)
        if pl:
            return rng, P, D, H, cont, src, pl
    return None


def forms(P, D, H, cont, pl):
    out = {}
    for name, s in (('clean', 0.0), ('fault', pl['strength']), ('eased', pl['low'])):
        Q, ct, m = apply(pl, P, H, cont, s)
        DD = D if len(Q) == len(D) else D[np.clip(np.round(np.linspace(0, len(D) - 1, len(Q))).astype(int), 0, len(D) - 1)]
        if 'hold' in pl:
            t = np.minimum(np.arange(len(Q)), pl['f'])
            t = np.where(np.arange(len(Q)) > pl['f'] + pl['hold'], np.arange(len(Q)) - pl['hold'], t)
            DD = D[np.clip(t, 0, len(D) - 1)]
        out[name] = (Q, DD, ct, m)
    return out


def fault_record(pl, m, form):
    if form == 'clean' or pl['kind'] == 'none':
        return []
    a, b = pl.get('start'), pl.get('end')
    if pl['kind'] == 'linear-stop':
        a, b = pl['f'] - 1, pl['f'] + 5
    if pl['kind'] == 'slow-settle':
        a, b = pl['f'], pl['f'] + 7 + int(round(m))
    if pl['kind'] == 'one-block':
        a, b = pl['f'] + pl['hold'] - 1, pl['f'] + pl['hold'] + 6
    return [dict(kind='pop' if pl['kind'] == 'hitch' else pl['kind'], variant=pl['kind'], part=pl['part'], other=pl.get('other'), start=int(a), end=int(b), strength=float(m))]


def write(seed, kind, out, video=True):
    got = case(seed, kind)
    if not got:
        return None
    rng, P, D, H, cont, src, pl = got
    look = None
    if video:
        from render import Look
        look = Look(rng, C['width'], C['height'])
    fs = forms(P, D, H, cont, pl)
    n = max(len(f[0]) for f in fs.values())
    cam = np.zeros(n)
    if rng.random() < C['pan']:
        cam = rng.uniform(20, 70) * rng.choice([-1, 1]) * (1 - np.cos(np.linspace(0, np.pi, n))) / 2
    folder = os.path.join(out, f'{seed:05d}-{kind}')
    os.makedirs(folder, exist_ok=True)
    truth = dict(fps=24, width=C['width'], height=C['height'], height_px=H, source=src, kind=pl['kind'], look=look and dict(style=str(look.style), blur=bool(look.blur), crf=look.crf, noise=look.noise), forms={})
    for name, (Q, DD, ct, m) in fs.items():
        c = cam[:len(Q)]
        S = Q - np.stack([c, 0 * c], -1)[:, None]
        occ = look.render(S, DD, H, c, os.path.join(folder, name + '.mp4'), seed) if video else np.zeros((len(Q), len(J)), bool)
        truth['forms'][name] = dict(file=name + '.mp4', frames=len(Q), joints={j: [[round(float(x), 2), round(float(y), 2), bool(o)] for (x, y), o in zip(S[:, i], occ[:, i])] for i, j in enumerate(J)},
                                    camera=[[round(float(-v), 3), 0.0] for v in c],
                                    contacts={f'ankle.{s}': [bool(v) for v in ct[s]] for s in ct}, faults=fault_record(pl, m, name))
    json.dump(truth, open(os.path.join(folder, 'truth.json'), 'w'))
    return folder


if __name__ == '__main__':
    ap = argparse.ArgumentParser()
    ap.add_argument('--seed', type=int, default=1)
    ap.add_argument('--out', required=True)
    ap.add_argument('--n', type=int, default=14)
    ap.add_argument('--kinds', default='')
    ap.add_argument('--no-video', action='store_true')
    a = ap.parse_args()
    kinds = a.kinds.split(',') if a.kinds else KINDS
    for i in range(a.n):
        print(write(a.seed * 1000 + i, kinds[i % len(kinds)], a.out, not a.no_video), flush=True)
