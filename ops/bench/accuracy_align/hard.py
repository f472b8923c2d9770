#!/usr/bin/env python3
"""hard.py --seed S --out DIR: one fresh pair of each family that make.py does not draw."""
import argparse, os, zlib
import families

HARD = ['mirror_light', 'loop_trim', 'travel', 'moving_camera', 'insert_relit', 'subtle', 'redesign', 'polish', 'poses60', 'shake', 'combo_hard', 'real_plain',
        'real_crop', 'extend']
ap = argparse.ArgumentParser()
ap.add_argument('--seed', type=int, required=True)
ap.add_argument('--out', required=True)
o = ap.parse_args()
for k, family in enumerate(HARD):
    if families.real_clip() is not None or not family.startswith('real'):
        seed = zlib.crc32(f'{o.seed}/{k}/{family}'.encode())
        families.make_pair(family, seed, os.path.join(o.out, f'{k:03d}-{family}'))
