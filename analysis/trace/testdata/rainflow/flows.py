"""Load cycles counted by letting rain run down pagoda roofs, the picture that
rainflow counting has its name from, and by letting a reservoir run out. Written
for these tests and unlike the code under test in method: no stack of reversals,
but one flow, or one leak, after another over the whole history, in time that
grows with its square.

Reads [[history], ...] as JSON, writes [{"rain": [[range, mean, count], ...],
"reservoir": ...}, ...], sorted.

Rain (ASTM E1049-85, section 5.4.3 and 5.4.4 give the same table): a flow begins
at every reversal. One from a valley runs over the rising roofs and drops from
each peak onto the next higher one. It ends where a valley comes that is lower
than its own, where it meets a flow that began earlier, or at the end. One from a
peak is the mirror image. Each is half a cycle.

Reservoir (BS 5400-10, appendix B; from memory): the history is turned so that it
begins and ends at its largest value, and is seen as a basin full of water. It is
let out at the lowest trough, then at the lowest of those still full, and so on.
Each time the height that ran out is one cycle.
"""
import json
import sys
from collections import defaultdict


def reversals(x):
    flat = [v for i, v in enumerate(x) if i == 0 or v != x[i - 1]]
    return [v for i, v in enumerate(flat) if i in (0, len(flat) - 1) or (v - flat[i - 1]) * (flat[i + 1] - v) < 0]


def add(table, a, b, count):
    if a != b:
        table[(abs(a - b), (a + b) / 2)] += count


def flow(x, i, wet):
    """Where the flow that begins at valley i ends; wet[j] is how far down the
    roof from j to j + 1 is already wet."""
    reached = x[i]
    for j in range(i, len(x) - 1, 2):
        if x[j] < x[i]:
            break
        if x[j + 1] <= reached:
            continue
        met = wet.get(j)
        wet[j] = reached
        if met is not None:
            return met
        reached = x[j + 1]
    return reached


def rain(x):
    table = defaultdict(float)
    if len(x) < 2:
        return table
    down = [-v for v in x]
    rising, falling = {}, {}
    for i in range(len(x) - 1):
        if x[i + 1] > x[i]:
            add(table, x[i], flow(x, i, rising), 0.5)
        else:
            add(table, x[i], -flow(down, i, falling), 0.5)
    return table


def leak(x, level, table):
    """Lets out the water that stands over x at level, which none of x rises above."""
    if not x:
        return
    low = min(range(len(x)), key=lambda i: x[i])
    if x[low] >= level:
        return
    add(table, level, x[low], 1)
    for side in (x[low + 1:], x[:low][::-1]):
        rim, pool = x[low], []
        for v in side:  # what stands behind a rim, seen from the leak, stays
            if v > rim:
                leak(pool, rim, table)
                rim, pool = v, []
            else:
                pool.append(v)
        leak(pool, min(rim, level), table)


def reservoir(x):
    table = defaultdict(float)
    if len(x) < 2:
        return table
    top = x.index(max(x))
    turned = x[top:] + x[:top]
    leak(turned[1:], turned[0], table)
    return table


sys.setrecursionlimit(100000)
out = []
for history in json.load(sys.stdin):
    x = reversals(history)
    out.append({k: sorted([*key, n] for key, n in f(x).items()) for k, f in (("rain", rain), ("reservoir", reservoir))})
json.dump(out, sys.stdout)
