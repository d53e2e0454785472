"""Cheapest cuts of records of cell means, by trying all cuts there are.

Cost of a part: n log(variance of what is new), for a first-order normal process with
correlation r that starts from its own mean and spread; penalty per part 3.5 log(N worth).
The likelihood is written out with the covariance matrix, not with sums, so that it shares
nothing with the program. Writes changes.csv: a line per record of name, r, worth, least,
cost, cuts (joined by blanks) and cells (likewise).

Run with: /usr/bin/python3 changes.py   (Python 3.11, NumPy 1.24.2)
"""
import itertools

import numpy as np


def part_cost(x, r, worth, floor):
    n = len(x)
    corr = r ** np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    inverse = np.linalg.inv(corr)
    one = np.ones(n)
    mean = one @ inverse @ x / (one @ inverse @ one)
    d = x - mean
    # corr has the determinant (1-r^2)^(n-1); what is new has the variance (1-r^2) sd^2.
    variance = d @ inverse @ d / n * (1 - r * r)
    return n * worth * np.log(max(variance, floor))


def best(x, r, worth, least, most=3):
    n = len(x)
    new = x[1:] - r * x[:-1]
    floor = max(1e-3 * new.var(), 1e-4 * (1 - r * r))
    penalty = 3.5 * np.log(n * worth)
    cost = {}
    for i in range(n):
        for j in range(i + least, n + 1):
            cost[i, j] = part_cost(x[i:j], r, worth, floor) + penalty
    found = (np.inf, None)
    for cuts in range(most + 1):
        for inner in itertools.combinations(range(least, n - least + 1), cuts):
            ends = (0,) + inner + (n,)
            if min(b - a for a, b in zip(ends, ends[1:])) < least:
                continue
            total = sum(cost[a, b] for a, b in zip(ends, ends[1:]))
            found = min(found, (total, ends))
    return found


def record(rng, r, parts):
    x = []
    for n, mean, sd in parts:
        v = rng.standard_normal()
        for _ in range(n):
            x.append(mean + sd * v)
            v = r * v + np.sqrt(1 - r * r) * rng.standard_normal()
    return np.round(np.array(x), 3)


rng = np.random.default_rng(3)
records = [
    ("mean", 0.6, 1.0, 12, record(rng, 0.6, [(30, 3, 0.5), (30, 6, 0.5)])),
    ("spread", 0.5, 0.8, 12, record(rng, 0.5, [(40, 5, 0.4), (30, 5, 1.6)])),
    ("both, twice", 0.4, 0.9, 10, record(rng, 0.4, [(24, 1, 0.2), (22, 4, 0.3), (26, 6, 1.5)])),
    ("none", 0.6, 1.0, 12, record(rng, 0.6, [(60, 4, 0.8)])),
]
with open("changes.csv", "w") as out:
    out.write("name,r,worth,least,cost,cuts,cells\n")
    for name, r, worth, least, x in records:
        cost, ends = best(x, r, worth, least)
        out.write('"%s",%g,%g,%d,%.9f,%s,%s\n' % (
            name, r, worth, least, cost, " ".join(map(str, ends)), " ".join("%g" % v for v in x)))
