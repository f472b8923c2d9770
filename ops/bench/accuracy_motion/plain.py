"""A simple baseline for every measure: one number from the trace in a line or two, without noise, fit or context."""
import numpy as np


def places(request, part):
    xy = lambda p: np.array([q[:2] for q in request['traces'][p]]) / request['height_px']
    return xy('chest' if part == 'body' else part) - xy('camera')


def value(request, at):
    kind, part, a, b = at['measure'], at['part'], at['start'], at['end']
    x = places(request, part)
    w = x[max(a - 1, 0):b + 2]
    gaps = np.linalg.norm(np.diff(x, axis=0), axis=1)[max(a - 2, 0):b + 2]
    if kind in ('pop', 'linear-stop', 'uneven-spacing'):
        return np.abs(np.diff(gaps)).max()
    if kind == 'slow-settle':
        return float(np.sum(gaps < .3 * gaps.max()))
    if kind == 'straight-path':
        return np.linalg.norm(w[-1] - w[0]) / np.linalg.norm(np.diff(w, axis=0), axis=1).sum()
    if kind == 'in-step':
        o = places(request, part.replace('left', '#').replace('right', 'left').replace('#', 'right'))[max(a - 1, 0):b + 2]
        return abs(np.corrcoef(np.diff(w, axis=0).ravel(), np.diff(o, axis=0).ravel())[0, 1])
    if kind == 'one-block':
        starts = [int(np.argmax(np.linalg.norm(places(request, p)[a:b + 8] - places(request, p)[a], axis=1) > .01)) for p in ('hip', 'neck', 'head', 'wrist.left', 'wrist.right')]
        return -float(np.std(starts))
    if kind in ('pinned', 'still-hips'):
        return -w.std(0).sum()
    if kind == 'foot-slide':
        return np.ptp(w[:, 0])
    if kind == 'stomp':
        return np.diff(w[:, 1]).max()
    if kind == 'high-step':
        return np.ptp(w[:, 1])
    up, down = {'knee': ('thigh', 'ankle'), 'elbow': ('shoulder', 'wrist')}[part.split('.')[0]]
    side = part.split('.')[1]
    u, v = x - places(request, f'{up}.{side}'), places(request, f'{down}.{side}') - x
    bend = np.degrees(np.abs(np.arctan2(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0], (u * v).sum(1))))
    return np.abs(np.diff(bend[max(a - 2, 0):b + 3])).max()
