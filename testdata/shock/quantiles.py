"""One-sided normal tolerance factors and Clopper-Pearson limits by scipy.stats, as JSON."""
import json
import math
import sys

import numpy
from scipy import stats

numpy.seterr(all="ignore")  # its search for a quantile divides by zero on the way

factors = []
for n in (2, 3, 5, 8, 13, 30, 77, 150, 300):
    for content in (0.6, 0.9, 0.95, 0.99):
        for confidence in (0.5, 0.9, 0.95):
            root = math.sqrt(n)
            factors.append([n, content, confidence, stats.nct.ppf(confidence, n - 1, root * stats.norm.ppf(content)) / root])

shares = []
for n in (1, 2, 7, 19, 58, 60, 200, 1000):
    for k in sorted({0, 1, n // 20, n // 3, n - 1, n}):
        for confidence in (0.9, 0.95, 0.99):
            tail = (1 - confidence) / 2
            low = stats.beta.ppf(tail, k, n - k + 1) if k > 0 else 0.0
            high = stats.beta.ppf(1 - tail, k + 1, n - k) if k < n else 1.0
            shares.append([k, n, confidence, low, high])

json.dump({"Factors": factors, "Shares": shares}, sys.stdout)
