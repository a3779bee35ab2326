#!/usr/bin/python3
"""Makes highest_speed.json: how fast the puller may be for a given peak.

The peak at a speed is that of scipy.integrate.solve_ivp on the equations of
motion (../scipy/two_body.py), not of any formula; the speed is found with
scipy.optimize.brentq. Run in this directory:

    /usr/bin/python3 highest_speed.py > highest_speed.json

Needs the Debian package python3-scipy.
"""

import contextlib
import io
import json
import sys

from scipy.optimize import brentq

sys.stdin = io.StringIO("[]")
with contextlib.redirect_stdout(io.StringIO()), open("../scipy/two_body.py") as f:
    exec(compile(f.read(), "two_body.py", "exec"))


def peak(case, v):
    full = dict(case, v=v, c=0.0, loss=0.0, drive=0.0)
    return work_out(full)["first"]["peak"]


cases = [
    {"m1": 2800, "m2": 3200, "k": 60e3, "hold": 12e3},
    {"m1": 2800, "m2": 3200, "k": 60e3, "hold": 30e3},
    {"m1": 2800, "m2": 2800, "k": 35e3, "hold": 8e3},
    {"m1": 4400, "m2": 2800, "k": 90e3, "hold": 20e3},
    {"m1": 3100, "m2": 7500, "k": 45e3, "hold": 60e3},
]
rows = []
for case in cases:
    for limit in (25e3, 40e3):
        v = brentq(lambda v: peak(case, v) - limit, 0.05, 11.0, xtol=1e-10)
        rows.append(dict(case, limit=limit, speed=v))
json.dump({"made_by": "highest_speed.py", "rows": rows}, sys.stdout, indent=1)
