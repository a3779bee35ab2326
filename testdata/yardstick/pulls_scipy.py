"""What "tautlog pulls --json TRACE.csv" is measured against: the same job as a
person would write it with pandas and scipy, in one script.

    /usr/bin/python3 pulls_scipy.py TRACE.csv|TRACE.npy [GATE]

Reads the columns t_s and force_N, or the same two columns as numpy keeps them,
filters with the SAE J211-1 / ISO 6487 class
60 filter forward and back, finds where the load rises above the quiet line,
joins what belongs together, and measures each pull. Prints JSON with the keys
of tautlog. It does not look for gaps, stick-slip or holds, and gives no
interval of the peak. With a GATE in newtons it counts the load cycles of the
whole trace by the rainflow rule of ASTM E1049-85, the reversals found with
numpy. Debian packages: python3-pandas, python3-scipy.
"""
import json
import sys

import numpy as np
import pandas as pd
from scipy.signal import filtfilt, find_peaks


def cfc(channel_class, step):
    """The published coefficients of two poles, run in both directions."""
    wd = 2 * np.pi * channel_class * 2.0775
    wa = np.tan(wd * step / 2)
    a0 = wa**2 / (1 + np.sqrt(2) * wa + wa**2)
    b1 = -2 * (wa**2 - 1) / (1 + np.sqrt(2) * wa + wa**2)
    b2 = (-1 + np.sqrt(2) * wa - wa**2) / (1 + np.sqrt(2) * wa + wa**2)
    return [a0, 2 * a0, a0], [1, -b1, -b2]


def pulls(t, f):
    step = float(np.median(np.diff(t[:10001])))
    b, a = cfc(60, step)
    smooth = filtfilt(b, a, f)
    few = f[::100]  # of a long record a sample is enough, and quicker
    zero = np.median(few)
    noise = 1.4826 * np.median(np.abs(few - zero))
    floor = max(6 * noise, 0.005 * (f.max() - zero))
    taut = np.flatnonzero(smooth - zero > floor)
    if len(taut) == 0:
        return step, []
    cuts = np.flatnonzero(np.diff(taut) > 2 / step)
    starts = taut[np.r_[0, cuts + 1]]
    ends = taut[np.r_[cuts, len(taut) - 1]]
    return step, [measure(t, f - zero, smooth - zero, i, j + 1, step) for i, j in zip(starts, ends) if j > i]


def measure(t, f, smooth, i, j, step):
    part, fine = f[i:j], smooth[i:j]
    top = int(np.argmax(part))
    peak = float(part[top])
    low = int(np.argmax(fine >= 0.1 * peak))
    high = int(np.argmax(fine >= 0.9 * peak))
    rise = max((high - low) * step, step)
    tops, _ = find_peaks(fine, prominence=0.1 * peak)
    hertz = damping = None
    if len(tops) > 1:
        hertz = float(1 / (np.diff(tops).mean() * step))
        ratio = fine[tops[0]] / fine[tops[1]]
        decrement = float(np.log(ratio)) if ratio > 0 else 0.0
        damping = decrement / float(np.hypot(2 * np.pi, decrement))
    return {
        "start_s": float(t[i] - t[0]), "end_s": float(t[j - 1] - t[0]), "peak_N": peak, "peak_at_s": float(t[i + top] - t[0]),
        "rise_time_s": rise, "rise_rate_N_per_s": 0.8 * peak / rise, "max_rise_rate_N_per_s": float(np.gradient(fine, step).max()) if j - i > 1 else 0.0,
        "impulse_to_peak_N_s": float(np.trapezoid(part[: top + 1], dx=step)) if hasattr(np, "trapezoid") else float(np.trapz(part[: top + 1], dx=step)),
        "impulse_N_s": float(np.trapezoid(part, dx=step)) if hasattr(np, "trapezoid") else float(np.trapz(part, dx=step)),
        "above_half_s": float(np.count_nonzero(part > peak / 2) * step), "rebound_hz": hertz, "damping_ratio": damping,
    }


def rainflow(f, gate):
    f = f[np.r_[True, np.diff(f) != 0]]
    up = np.diff(f) > 0
    turns = f[np.r_[0, np.flatnonzero(up[1:] != up[:-1]) + 1, len(f) - 1]]
    cycles, stack = [], []

    def count(a, b, n):
        if abs(b - a) >= gate:
            cycles.append({"range_N": abs(b - a), "mean_N": (a + b) / 2, "count": n})

    for v in turns.tolist():
        stack.append(v)
        while len(stack) >= 3 and abs(v - stack[-2]) >= abs(stack[-2] - stack[-3]):
            if len(stack) == 3:
                count(stack[0], stack[1], 0.5)
                del stack[0]
            else:
                count(stack[-3], stack[-2], 1)
                del stack[-3:-1]
    for a, b in zip(stack, stack[1:]):
        count(a, b, 0.5)
    return cycles


def main():
    if sys.argv[1].endswith(".npy"):
        t, f = np.load(sys.argv[1])
    else:
        data = pd.read_csv(sys.argv[1])
        t, f = data["t_s"].to_numpy(), data["force_N"].to_numpy()
    step, found = pulls(t, f)
    told = {"trace": {"samples": len(t), "duration_s": float(t[-1] - t[0]), "rate_hz": 1 / step}, "pulls": found}
    if len(sys.argv) > 2:
        told["cycles"] = rainflow(f, float(sys.argv[2]))
    json.dump(told, sys.stdout, indent=2)
    print()


if __name__ == "__main__":
    main()
