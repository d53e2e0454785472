"""Reference values for the difference of two groups of hops, written to random_effects.json.

SciPy 1.10.1, NumPy 1.24.2. The variance between hops is found by SciPy's Brent search on
Paule and Mandel's equation, the means by NumPy's weighted average, the chance by SciPy's t.
"""
import json
import numpy as np
import scipy
from scipy import optimize, stats

cases = {
    "spread far beyond the hops' own errors": ([10.0, 14.0, 11.5], [0.3, 0.5, 0.2], [18.0, 21.0, 16.5], [0.4, 0.3, 0.6]),
    "no spread": ([1.00, 1.02, 0.99], [0.05, 0.04, 0.06], [1.20, 1.19, 1.22], [0.05, 0.07, 0.04]),
    "one hop against two": ([3.1], [0.2], [4.0, 5.2], [0.2, 0.3]),
    "unequal errors": ([-2.0, -1.0, 0.5, -1.2], [0.1, 0.8, 1.5, 0.3], [-0.5, 0.7], [0.2, 0.2]),
}


def squares(tau2, y, s):
    w = 1 / (np.asarray(s) ** 2 + tau2)
    mean = np.average(y, weights=w)
    return np.sum(w * (np.asarray(y) - mean) ** 2)


out = []
for name, (ya, sa, yb, sb) in cases.items():
    df = len(ya) + len(yb) - 2
    f = lambda tau2: squares(tau2, ya, sa) + squares(tau2, yb, sb) - df
    tau2 = optimize.brentq(f, 0, 1e6, xtol=1e-15, rtol=1e-14) if f(0) > 0 else 0.0
    extra = max(tau2, np.sort(np.array(sa + sb) ** 2)[(len(sa + sb) - 1) // 2])
    va, vb = np.array(sa) ** 2, np.array(sb) ** 2
    wa, wb = 1 / (va + extra), 1 / (vb + extra)
    d = np.average(yb, weights=wb) - np.average(ya, weights=wa)
    q = (squares(extra, ya, sa) + squares(extra, yb, sb)) / df
    se = np.sqrt(sum(max(q / w.sum(), np.sum(w**2 * v) / w.sum() ** 2) for w, v in ((wa, va), (wb, vb))))
    df = max(1.0, sum(w.sum() ** 2 / np.sum(w**2) for w in (wa, wb)) - 2)
    out.append({"name": name, "ya": ya, "sa": sa, "yb": yb, "sb": sb, "tau2": tau2, "d": d, "se": se, "df": df,
                "half": se * stats.t.ppf(0.975, df), "chance": 2 * stats.t.sf(abs(d) / se, df)})
json.dump({"scipy": scipy.__version__, "numpy": np.__version__, "cases": out}, open("random_effects.json", "w"), indent=1)
