#!/usr/bin/env python3
"""Reference values for the frame map's parts, written beside this file as motion_maps.json.

usage: motion_maps.py [--check]    --check: fail if the file is not what the packages of requirements.txt compute now
Every input is worked out from the same small generator in the tests of the crate `motion`.
"""
import json, os, sys
import cv2, numpy as np
from dtw import dtw
from skimage.metrics import structural_similarity

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), 'motion_maps.json')


def numbers(seed, count):
    """Numbers in [0, 1): a linear congruential generator (Knuth's MMIX constants), upper 24 bits."""
    out, state = [], seed
    for _ in range(count):
        state = (state * 6364136223846793005 + 1442695040888963407) % 2 ** 64
        out.append((state >> 40) / 2 ** 24)
    return np.array(out)


def blobs(shift_x, shift_y):
    y, x = np.mgrid[0:64, 0:128].astype(float)
    x, y, out = x - shift_x, y - shift_y, np.zeros((64, 128))
    for k, v in enumerate(numbers(11, 40).reshape(20, 2)):
        out += (1 + k % 3) * np.exp(-((x - 14 - 100 * v[0]) ** 2 + (y - 8 - 48 * v[1]) ** 2) / (2 * (1.5 + k % 4) ** 2))
    return out


def values():
    tables = []
    for seed, rows, columns in ((1, 7, 9), (2, 12, 5), (3, 20, 20), (4, 1, 6)):
        costs = numbers(seed, rows * columns).reshape(rows, columns)
        tables.append({'seed': seed, 'rows': rows, 'columns': columns, 'cost': float(dtw(costs, step_pattern='symmetric2').distance)})
    pictures = []
    for seed, width, height, noise in ((5, 32, 24, .1), (6, 64, 36, .5), (7, 7, 7, .3)):
        a = np.floor(255 * numbers(seed, width * height)).reshape(height, width)
        b = np.clip(a + np.floor(255 * noise * (numbers(seed + 100, width * height).reshape(height, width) - .5)), 0, 255)
        pictures.append({'seed': seed, 'width': width, 'height': height, 'noise': noise, 'ssim': float(structural_similarity(a, b, data_range=255))})
    across, down = (.5 * (1 - np.cos(2 * np.pi * np.arange(n) / (n - 1))) for n in (128, 64))
    shifts = []
    for x, y in ((3, 2), (-6, 4), (2.5, -1.5), (10, 0)):
        (dx, dy), _ = cv2.phaseCorrelate(blobs(0, 0), blobs(x, y), down[:, None] * across[None, :])
        shifts.append({'x': x, 'y': y, 'found_x': dx, 'found_y': dy})
    return {'warping': tables, 'ssim': pictures, 'phase': shifts}


def close(a, b):
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(close(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(close, a, b))
    return abs(a - b) <= 1e-9 * max(1, abs(a))


if __name__ == '__main__':
    now = values()
    if '--check' in sys.argv:
        sys.exit(0 if close(now, json.load(open(HERE))) else 'motion_maps.json is stale: run motion_maps.py')
    with open(HERE, 'w') as fh:
        json.dump(now, fh, indent=1)
        fh.write('\n')
