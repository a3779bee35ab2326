#!/usr/bin/python3
"""Reference integration of a kinetic pull with scipy.integrate.solve_ivp.

Written from the equations of motion, not from the Go code. Standard input: a
JSON list of cases {m1, m2, v, k, c, points, loss, drive, hold}. The line pulls
with f(x) = k x + c x^3 on first loading or, where points [[x, f], ...] are
given, with a PCHIP curve through the origin and them, straight on beyond them
as steep as its end or its last piece, whichever is steeper. When let out from
the loading energy W0 it pulls with f(x) (W(x)/W0)^(loss/(1-loss)). Standard output: for each case the
first peak {peak, at, stretch, moves} and the motion at ten times up to `until`:
the line slack, the line taken up again before that, or 4 s.

Needs the Debian package python3-scipy.
"""

import json
import sys

from scipy.integrate import solve_ivp
from scipy.interpolate import PchipInterpolator


def line_of(case):
    """The force of first loading and its energy, as functions of the stretch."""
    if not case.get("points"):
        k, c = case["k"], case["c"]
        return lambda x: k * x + c * x**3, lambda x: k * x * x / 2 + c * x**4 / 4
    points = [[0.0, 0.0]] + case["points"]
    curve = PchipInterpolator([p[0] for p in points], [p[1] for p in points])
    work = curve.antiderivative()
    (x0, f0), (x1, f1) = points[-2:]
    slope = max(float(curve.derivative()(x1)), (f1 - f0) / (x1 - x0))

    def loading(x):
        return float(curve(x)) if x <= x1 else f1 + slope * (x - x1)

    def energy(x):
        d = max(x - x1, 0.0)
        return float(work(min(x, x1))) + d * (f1 + slope * d / 2)

    return loading, energy


def work_out(case):
    m1, m2, drive, hold = case["m1"], case["m2"], case["drive"], case["hold"]
    s = case["loss"] / (1 - case["loss"])
    loading, energy = line_of(case)
    out_from = None  # loading energy from which the line is being let out

    def force(y):
        x = max(y[0] - y[2], 0.0)
        f = loading(x)
        if out_from is not None and s > 0:
            f *= (energy(x) / out_from) ** s
        return f

    def slopes(moving):
        def f(_, y):
            pull = force(y)
            a2 = (pull - hold) / m2 if moving else 0.0
            return [y[1], (drive - pull) / m1, y[3], a2]
        return f

    def event(g, direction):
        def f(_, y):
            return g(y)
        f.terminal, f.direction = True, direction
        return f

    turn_out = event(lambda y: y[1] - y[3], -1)
    turn_in = event(lambda y: y[1] - y[3], 1)
    start = event(lambda y: force(y) - hold, 1)
    stop = event(lambda y: y[3], -1)
    slack = event(lambda y: y[0] - y[2], -1)

    t, y, moving, limit = 0.0, [0.0, case["v"], 0.0, 0.0], hold == 0, 4.0
    pieces, peak = [], None
    while t < limit:
        rising = out_from is None
        events = [turn_out if rising else turn_in, stop if moving else start]
        if not rising:
            events.append(slack)
        r = solve_ivp(slopes(moving), (t, limit), y, method="DOP853", rtol=1e-11, atol=1e-12,
                      events=events, dense_output=True)
        law = (moving, out_from)
        pieces.append((t, r.t[-1], r.sol, law))
        t, y = r.t[-1], list(r.y[:, -1])
        if r.status == 0:
            break
        which = next(i for i, hit in enumerate(r.t_events) if len(hit))
        if which == 2 or (which == 0 and not rising):
            break
        if which == 0:
            x = y[0] - y[2]
            peak = {"peak": loading(x), "at": t, "stretch": x, "moves": bool(y[2] > 0)}
            out_from = energy(x)
        elif moving:
            moving, y[3] = False, 0.0
        else:
            moving = True
    until = t
    motion = []
    for n in range(1, 11):
        at = until * n / 10
        sol, law = next((p[2], p[3]) for p in pieces if at <= p[1] * (1 + 1e-12))
        z = sol(min(at, pieces[-1][1]))
        out_from = law[1]
        motion.append({"force": force(z), "puller": z[0], "stuck": z[2]})
    return {"first": peak, "until": until, "motion": motion}


json.dump([work_out(c) for c in json.load(sys.stdin)], sys.stdout)
