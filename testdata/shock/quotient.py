"""Monte Carlo by JCGM 101:2008: a peak over the weight of a mass.

Reads a list of cases: how far the likeliest peak lies above the peak that is
given, half widths of its 95 % interval below and above that (each a share of the
peak), and the mass: "normal" with half the width of its 95 % interval, or
"limits" with how far below the stated mass it may be (each a share of it); and
the interval that is stated for the factor, over the factor. Writes what part of
the draws lies below and above the stated interval, and its width over that of
the interval between the 2.5 % and 97.5 % quantiles of the draws.
"""
import json
import sys

import numpy as np

N = 400_000
r = np.random.default_rng(20261130)


def two_sided(low, high):
    """A normal of another width on either side, the density without a step."""
    left = r.random(N) < low / (low + high)
    z = np.abs(r.standard_normal(N)) / 1.959964
    return np.where(left, -z * low, z * high)


out = []
for c in json.load(sys.stdin):
    peak = 1 + c["shift"] + two_sided(c["low"], c["high"])
    if c["kind"] == "normal":
        mass = 1 + c["mass"] / 1.959964 * r.standard_normal(N)
    else:
        mass = 1 - c["mass"] * r.random(N)
    f = peak / mass
    a, b = np.quantile(f, [0.025, 0.975])
    out.append([float(np.mean(f < c["from"])), float(np.mean(f > c["to"])), (c["to"] - c["from"]) / (b - a)])
json.dump(out, sys.stdout)
