"""Real human motion: joints in metres, y up, 24 frames a second.

Source: the text clips `pybullet_data/data/motions/humanoid3d_*.txt` of the Python package `pybullet` 3.2.7 (zlib licence). The package
names no recording; that they derive from public research motion capture is from memory. Each frame there is 44 numbers: duration, root
position, root quaternion (w x y z), then joint rotations; positions come from the skeleton the clips were made for and are resampled
with a cubic spline. "Clean" means without an inserted fault: the recordings can hold artefacts of their own.
"""
import functools, glob, json, os, sysconfig
import numpy as np
from scipy.interpolate import CubicSpline

ORDER = ['hip', 'chest', 'neck', 'head'] + [f'{j}.{s}' for s in ('right', 'left') for j in ('shoulder', 'elbow', 'wrist', 'hand')]
ORDER += [f'{j}.{s}' for s in ('right', 'left') for j in ('thigh', 'knee', 'ankle', 'toe')]



def qrot(q, v):
    w, u = q[..., :1], q[..., 1:]
    t = 2 * np.cross(u, v)
    return v + w * t + np.cross(u, t)


def qmul(a, b):
    w = a[..., :1] * b[..., :1] - (a[..., 1:] * b[..., 1:]).sum(-1, keepdims=True)
    v = a[..., :1] * b[..., 1:] + b[..., :1] * a[..., 1:] + np.cross(a[..., 1:], b[..., 1:])
    return np.concatenate([w, v], -1)


def hinge(a):
    return np.stack([np.cos(a / 2), 0 * a, 0 * a, np.sin(a / 2)], -1)


def kinematics(F):
    P = {}
    p, q = F[:, 1:4], F[:, 4:8]
    P['hip'], at = p, qrot
    cp = p + qrot(q, np.array([0, .236151, 0.]) + 0 * p)
    cq = qmul(q, F[:, 8:12])
    P['chest'] = cp
    npos = cp + qrot(cq, np.array([0, .223894, 0.]) + 0 * p)
    nq = qmul(cq, F[:, 12:16])
    P['neck'], P['head'] = npos, npos + qrot(nq, np.array([0, .175, 0.]) + 0 * p)
    for side, z, leg, arm in (('right', 1, 16, 25), ('left', -1, 30, 39)):
        tp = p + qrot(q, np.array([0, 0, .084887 * z]) + 0 * p)
        tq = qmul(q, F[:, leg:leg + 4])
        kp = tp + qrot(tq, np.array([0, -.421546, 0.]) + 0 * p)
        kq = qmul(tq, hinge(F[:, leg + 4]))
        ap = kp + qrot(kq, np.array([0, -.40987, 0.]) + 0 * p)
        aq = qmul(kq, F[:, leg + 5:leg + 9])
        P[f'thigh.{side}'], P[f'knee.{side}'], P[f'ankle.{side}'] = tp, kp, ap
        P[f'toe.{side}'] = ap + qrot(aq, np.array([.13, -.04, 0.]) + 0 * p)
        sp = cp + qrot(cq, np.array([-.02405, .2435, .18311 * z]) + 0 * p)
        sq = qmul(cq, F[:, arm:arm + 4])
        ep = sp + qrot(sq, np.array([0, -.274788, 0.]) + 0 * p)
        eq = qmul(sq, hinge(F[:, arm + 4]))
        P[f'shoulder.{side}'], P[f'elbow.{side}'] = sp, ep
        P[f'wrist.{side}'] = ep + qrot(eq, np.array([0, -.258947, 0.]) + 0 * p)
        P[f'hand.{side}'] = ep + qrot(eq, np.array([0, -.36, 0.]) + 0 * p)
    return np.stack([P[j] for j in ORDER], 1)


def load(path, fps=24.0):
    F = np.array(json.load(open(path))['Frames'])
    X = kinematics(F)
    t = np.concatenate([[0], np.cumsum(F[:-1, 0])])
    u = np.arange(0, t[-1] + 1e-9, 1 / fps)
    return CubicSpline(t, X, axis=0)(u).astype(np.float32)


@functools.cache
def clips():
    """All clips by name."""
    folder = os.path.join(sysconfig.get_paths()['purelib'], 'pybullet_data', 'data', 'motions')
    files = sorted(glob.glob(os.path.join(folder, 'humanoid3d_*.txt')))
    if not files:
        raise SystemExit(f'no motions in {folder}: install ops/bench/requirements.txt')
    return {os.path.basename(f)[len('humanoid3d_'):-len('.txt')]: load(f) for f in files}
