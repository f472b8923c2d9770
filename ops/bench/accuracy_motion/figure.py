"""Base motions: recorded ones, projected, and those of a posed character of our own. y down, x right; standing height about 1.6."""
import numpy as np

from params import PARAMS as C
import recorded

J = ['hip', 'chest', 'neck', 'head',
     'shoulder.right', 'elbow.right', 'wrist.right', 'hand.right', 'shoulder.left', 'elbow.left', 'wrist.left', 'hand.left',
     'thigh.right', 'knee.right', 'ankle.right', 'toe.right', 'thigh.left', 'knee.left', 'ankle.left', 'toe.left']
I = {n: i for i, n in enumerate(J)}
def loop(X, times, b=5):
    """Chains a cyclic clip, root travel carried on, b frames cross-faded."""
    seq = X.copy()
    for _ in range(times - 1):
        off = seq[-1, 0] - X[0, 0]
        off[1] = 0
        Y = X + off
        w = (np.arange(1, b + 1) / (b + 1))
        w = (w * w * (3 - 2 * w))[:, None, None]
        seq = np.concatenate([seq[:-b], seq[-b:] * (1 - w) + Y[:b] * w, Y[b:]])
    return seq


def mocap(name, rng):
    X = recorded.clips()[name].astype(float)
    if name in ('walk', 'run'):
        X = loop(X, 3)
    yaw = rng.uniform(*C['yaw']) * rng.choice([-1, 1])
    if name in ('walk', 'run'):
        yaw = rng.uniform(-.35, .35) + (np.pi if rng.random() < .5 else 0)
    c, s = np.cos(yaw), np.sin(yaw)
    x = X[..., 0] * c + X[..., 2] * s
    z = -X[..., 0] * s + X[..., 2] * c
    tilt = rng.uniform(0, .12)
    y = X[..., 1] * np.cos(tilt) - z * np.sin(tilt)
    P = np.stack([x, -y], -1)
    return P, z, 1.55  # depth: larger is nearer to the camera


def ease(u):
    u = np.clip(u, 0, 1)
    return u ** 3 * (10 - 15 * u + 6 * u * u)


def posed(rng, T):
    """Our own posed character: keys, eases, offsets between parts, moving holds, steps. Picture plane, height about 1.6."""
    ch = {}
    keys = [int(rng.integers(4, 9))]
    while keys[-1] < T - 22:
        keys.append(keys[-1] + int(rng.integers(*C['key_gap'])))
    order = {'hipx': 0, 'hipy': 0, 'spine': 2, 'neck': 3, 'shR': 3, 'elR': 5, 'haR': 7, 'shL': 4, 'elL': 6, 'haL': 8}
    amp = {'hipx': .07, 'hipy': .045, 'spine': .18, 'neck': .25, 'shR': .95, 'elR': .8, 'haR': .4, 'shL': .95, 'elL': .8, 'haL': .4}
    base = {'hipx': 0, 'hipy': .03, 'spine': 0, 'neck': 0, 'shR': -.45, 'elR': -.5, 'haR': -.1, 'shL': .45, 'elL': .5, 'haL': .1}
    t = np.arange(T, dtype=float)
    jit = rng.uniform(.6, 1.4, len(keys))
    for n, o in order.items():
        v = np.full(T, base[n])
        cur = base[n]
        for k, key in enumerate(keys):
            tgt = base[n] + amp[n] * rng.uniform(-1, 1) * (.4 if n == 'hipy' else 1)
            d = rng.uniform(*C['move_len']) * jit[k]
            u = (t - key - o * rng.uniform(.7, 1.2)) / d
            over = rng.uniform(0, .08) * (tgt - cur)
            v = v + (tgt - cur) * ease(u) + over * np.sin(np.pi * np.clip((u - .75) / .9, 0, 1)) ** 2
            cur = tgt
        v = v + amp[n] * .02 * np.sin(2 * np.pi * t / rng.uniform(40, 70) + rng.uniform(0, 6))
        ch[n] = v
    P = np.zeros((T, 20, 2))
    feet = {'right': np.full(T, -.12), 'left': np.full(T, .12)}
    lift = {'right': np.zeros(T), 'left': np.zeros(T)}
    contacts = {'right': np.ones(T, bool), 'left': np.ones(T, bool)}
    f = int(rng.integers(8, 16))
    while f < T - 16:
        s = ['right', 'left'][int(rng.integers(2))]
        d = int(rng.integers(9, 14))
        u = np.clip((t - f) / d, 0, 1)
        feet[s] = feet[s] + rng.uniform(-.16, .16) * ease(u)
        lift[s] = lift[s] + rng.uniform(.06, .12) * np.where((u > 0) & (u < 1), (np.sin(np.pi * u ** .85)) ** 2, 0)
        contacts[s][f + 1:f + d] = False
        f += d + int(rng.integers(8, 20))
    mid = (feet['right'] + feet['left']) / 2
    k = np.hanning(15)
    mid = np.convolve(np.pad(mid, 7, mode='edge'), k / k.sum(), 'valid')
    hip = np.stack([mid + ch['hipx'], 0.855 - ch['hipy'] - .02 * np.abs(feet['right'] - feet['left'])], -1)
    up = np.stack([np.sin(ch['spine']), np.cos(ch['spine'])], -1)
    P[:, 0] = hip
    P[:, 1] = hip + up * .24
    P[:, 2] = hip + up * .46
    na = ch['spine'] * .5 + ch['neck']
    P[:, 3] = P[:, 2] + np.stack([np.sin(na), np.cos(na)], -1) * .175
    side = np.stack([np.cos(ch['spine']), -np.sin(ch['spine'])], -1)
    for s, g, q in (('right', -1, 'R'), ('left', 1, 'L')):
        S = P[:, 2] + side * .15 * g - up * .02
        a1 = ch['sh' + q] + ch['spine'] * .5
        a2 = a1 + ch['el' + q]
        a3 = a2 + ch['ha' + q]
        d1, d2, d3 = (np.stack([np.sin(a), -np.cos(a)], -1) for a in (a1, a2, a3))
        P[:, I[f'shoulder.{s}']] = S
        P[:, I[f'elbow.{s}']] = S + d1 * .28
        P[:, I[f'wrist.{s}']] = S + d1 * .28 + d2 * .26
        P[:, I[f'hand.{s}']] = S + d1 * .28 + d2 * .26 + d3 * .10
        th = hip + side * .085 * g - up * .02
        an = np.stack([feet[s], .07 + lift[s]], -1)
        v = an - th
        L = np.linalg.norm(v, axis=-1)
        a = .40
        h = np.sqrt(np.clip(a * a - (L / 2) ** 2, 1e-6, None))
        perp = np.stack([v[:, 1], -v[:, 0]], -1) / L[:, None]
        P[:, I[f'thigh.{s}']] = th
        P[:, I[f'knee.{s}']] = th + v / 2 + perp * h[:, None] * -g
        P[:, I[f'ankle.{s}']] = an
        P[:, I[f'toe.{s}']] = an + np.array([.12 * g, -.045])
    P[..., 1] *= -1
    depth = np.zeros((T, 20))
    near = rng.choice([-1, 1])
    for s, g in (('right', 1), ('left', -1)):
        for j in ('shoulder', 'elbow', 'wrist', 'hand'):
            depth[:, I[f'{j}.{s}']] = .2 if rng.random() < .8 else .2 * g * near
        for j in ('thigh', 'knee', 'ankle', 'toe'):
            depth[:, I[f'{j}.{s}']] = -.05 * g * near
    return P, depth, 1.55, contacts


def contacts_of(P, H):
    """Planted feet of a projected mocap clip: toe near the lowest level and slow, runs of at least 4 frames."""
    out = {}
    for s in ('right', 'left'):
        toe, ank = P[:, I[f'toe.{s}']], P[:, I[f'ankle.{s}']]
        floor = np.percentile(np.concatenate([P[:, I['toe.right'], 1], P[:, I['toe.left'], 1]]), 92)
        v = np.linalg.norm(np.gradient(toe, axis=0), axis=-1)
        c = (floor - toe[:, 1] < .045 * H) & (v < .007 * H)
        c = runs_only(c, 4)
        out[s] = c
    return out


def runs_only(c, n):
    c = c.copy()
    i = 0
    while i < len(c):
        k = i
        while k < len(c) and c[k] == c[i]:
            k += 1
        if c[i] and k - i < n:
            c[i:k] = False
        i = k
    return c
