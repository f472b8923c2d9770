#!/usr/bin/env python3
"""The named references of ops/bench/motion for maps: the same table through dtw-python and dtaidistance, the same pictures through scikit-image.

usage: motion_maps.py TABLE.f64 ROWS COLUMNS OLD.yuv NEW.yuv     prints name<TAB>value<TAB>unit
"""
import sys, time
import numpy as np
from dtaidistance import dtw as dta, dtw_ndim
from dtw import dtw
from skimage.metrics import structural_similarity

table, rows, columns, old, new = sys.argv[1:]
costs = np.fromfile(table).reshape(int(rows), int(columns))


def cpu(work, times=1):
    start = time.process_time()
    for _ in range(times):
        out = work()
    return (time.process_time() - start) / times, out


seconds, found = cpu(lambda: dtw(costs, step_pattern='symmetric2', distance_only=True))
print(f'dtw_python\t{seconds:.5f}\ts of one core\ndtw_python_cost\t{found.distance:.6f}\tlevels')
# Its C code takes series: two of the same lengths, of one number a frame.
a, b = costs.mean(1), costs.mean(0)
seconds, _ = cpu(lambda: dta.distance_fast(a, b), 200)
print(f'dtaidistance_c\t{seconds:.6f}\ts of one core')
light = lambda path, i: np.fromfile(path, np.uint8, 256 * 144, offset=i * 256 * 144 * 3 // 2).reshape(144, 256)
# The frames themselves, as 32 x 18 numbers each: it works out each cell's cost as it goes.
small = lambda path, n: np.stack([light(path, i).reshape(18, 8, 32, 8).mean((1, 3)).ravel() for i in range(n)]).astype(float)
frames = small(new, int(rows)), small(old, int(columns))
seconds, _ = cpu(lambda: dtw_ndim.distance_fast(*frames), 5)
print(f'dtaidistance_c_frames\t{seconds:.5f}\ts of one core')
pairs = [(light(old, i), light(new, i)) for i in range(20)]
seconds, _ = cpu(lambda: [structural_similarity(x, y, data_range=255) for x, y in pairs])
print(f'scikit_image_ssim\t{seconds / len(pairs):.6f}\ts of one core')
