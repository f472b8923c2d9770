"""The clean recorded clips of a folder as requests of `refrain measure`, one a line. usage: clean.py CLIPS"""
import json, sys
import numpy as np
from score import cases, request

rng = np.random.default_rng(5)
for truth in cases(sys.argv[1]):
    if truth['source'].startswith('mocap'):
        print(json.dumps(request(truth, 'clean', rng, .15)))
