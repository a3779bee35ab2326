# Reads {"b": [...], "a": [...], "x": [...], "pad": n, "zero": z, "height": h}
# and writes the largest readings and the largest filtered values of the
# taut moments that scipy.signal finds: peaks at least h above zero, five
# seconds apart at 1000 readings a second.
import json
import sys

import numpy as np
from scipy.signal import filtfilt, find_peaks

q = json.load(sys.stdin)
x = np.array(q["x"]) - q["zero"]
y = filtfilt(q["b"], q["a"], x, padtype="odd", padlen=q["pad"])
at, _ = find_peaks(x, height=q["height"], distance=5000)
json.dump({
    "at": at.tolist(),
    "peak": x[at].tolist(),
    "filtered": [float(y[max(0, i - 2000):i + 2000].max()) for i in at],
    "slope": [float(np.diff(y[max(0, i - 2000):i + 2000]).max() * 1000) for i in at],
}, sys.stdout)
