# Reads {"b": [...], "a": [...], "x": [...], "pad": n} and writes
# scipy.signal.filtfilt of it, ends continued by point mirroring.
import json
import sys

from scipy.signal import filtfilt

q = json.load(sys.stdin)
json.dump(filtfilt(q["b"], q["a"], q["x"], padtype="odd", padlen=q["pad"]).tolist(), sys.stdout)
