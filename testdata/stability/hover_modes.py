#!/usr/bin/python3
"""Attitude of two hovering helicopters let go with the stick still, and their modes.

Systems of the reference list: the textbook helicopter of Franklin, Powell and
Emami-Naeini (states q, theta, u) and a light teetering rotor with a stabiliser bar
(states a, q, theta, u, bar). Modes by numpy.linalg.eigvals, histories by
scipy.linalg.expm. Written with Python 3.11, NumPy 1.24.2, SciPy 1.10.1.
"""
import json
import numpy as np
import scipy
from scipy.linalg import expm

g = 9.81


def bar(tau_b):
    R, Om, gam, m, h, I = 3.0, 55.0, 5.0, 230.0, 1.1, 160.0
    tf, ku, Ma, Xu, kb = 16 / (gam * Om), 0.3 / (Om * R), m * g * h / I, -0.03, 0.7
    return np.array([
        [-1 / tf, -1, 0, ku / tf, kb / tf],
        [Ma, 0, 0, 0, 0],
        [0, 1, 0, 0, 0],
        [-g, 0, -g, Xu, 0],
        [0, -1, 0, 0, -1 / tau_b]])


systems = [
    ("textbook", np.array([[-0.4, 0, -0.01], [1, 0, 0], [-1.4, 9.8, -0.02]]), [0, 0.05, 0], 1, 0.1, 301),
    ("bar 0.6 s", bar(0.6), [0, 0.6, 0.02, 0, 0], 2, 0.04, 200),
    ("bar 1.5 s", bar(1.5), [0, 0.6, 0.02, 0, 0], 2, 0.04, 200),
]
out = {"numpy": np.__version__, "scipy": scipy.__version__, "systems": []}
for name, A, x0, row, dt, n in systems:
    step, x, y = expm(A * dt), np.array(x0, float), []
    for _ in range(n):
        y.append(float(x[row]))
        x = step @ x
    e = sorted(np.linalg.eigvals(A), key=lambda s: (abs(s.imag), s.real))
    out["systems"].append({"name": name, "step_s": dt, "attitude": y,
                           "poles": [[float(s.real), float(s.imag)] for s in e if s.imag >= 0]})
print(json.dumps(out))
