# Reads {"x": [...], "q": [...]} and writes scipy.signal.resample_poly of x for each q: the
# filter that scipy.signal.decimate(x, q, ftype="fir", zero_phase=True) takes,
# but with ends continued by point mirroring.
import json
import sys

import numpy as np
from scipy.signal import firwin, resample_poly

p = json.load(sys.stdin)
x = np.array(p["x"])


def decimate(q):
    pad = 10 * q
    y = np.r_[2 * x[0] - x[pad:0:-1], x, 2 * x[-1] - x[-2:-pad - 2:-1]]
    z = resample_poly(y, 1, q, window=firwin(20 * q + 1, 1 / q, window="hamming"))
    return z[10:10 + -(-len(x) // q)].tolist()


json.dump([decimate(q) for q in p["q"]], sys.stdout)
