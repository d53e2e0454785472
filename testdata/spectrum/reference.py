"""Reference values for the spectrum tests: SciPy's csd, welch and coherence, and a
two-input solution by NumPy, on three small records.

Run with Debian's interpreter: /usr/bin/python3 reference.py
It rewrites records.csv and reference.json beside itself. Both state nothing that depends
on the machine; the versions are in reference.json.
"""
import json
import pathlib

import numpy as np
import scipy
from scipy import signal

here = pathlib.Path(__file__).parent
fs = 50.0
n = 1200
rng = np.random.default_rng(20261124)
t = np.arange(n) / fs

# 1: white noise through a lag and a delay, with drift and noise on the output.
x1 = rng.standard_normal(n)
y1 = np.zeros(n)
for k in range(1, n):
    y1[k] = 0.9 * y1[k - 1] + 0.1 * (x1[k - 4] if k >= 4 else 0.0)
y1 += 0.02 * rng.standard_normal(n) + 0.3 + 0.05 * t
# 2: a slow sweep in position with a little noise, so that no bin is rounding alone; the
# answer is its derivative.
x2 = np.sin(2 * np.pi * (0.1 * t + 0.5 * (4 - 0.1) / t[-1] * t**2)) + 0.01 * rng.standard_normal(n)
y2 = np.gradient(x2, 1 / fs) + 0.1 * rng.standard_normal(n)
# 3: two inputs that act at once and are related to each other.
a3 = signal.lfilter([1], [1, -0.8], rng.standard_normal(n))
b3 = 0.5 * a3 + signal.lfilter([1], [1, -0.5], rng.standard_normal(n))
y3 = signal.lfilter([0.2], [1, -0.7], a3) - signal.lfilter([0.5], [1, -0.2], b3) + 0.3 * rng.standard_normal(n)

cols = np.round(np.column_stack([x1, y1, x2, y2, a3, b3, y3]), 6)
np.savetxt(here / "records.csv", cols, delimiter=",", fmt="%.6f", header="x1,y1,x2,y2,a3,b3,y3", comments="")
x1, y1, x2, y2, a3, b3, y3 = cols.T

cases = []


def num(v):
    return [float(f"{q:.17g}") for q in v]


def case(name, x, y, nperseg, noverlap, nfft, detrend):
    kw = dict(fs=fs, window="hann", nperseg=nperseg, noverlap=noverlap, nfft=nfft, detrend=detrend)
    f, pxy = signal.csd(x, y, **kw)
    _, pxx = signal.welch(x, **kw)
    _, pyy = signal.welch(y, **kw)
    _, c = signal.coherence(x, y, **kw)
    cases.append(dict(name=name, window=nperseg, step=nperseg - noverlap, fft=nfft, detrend=detrend or "none",
                      frequency_hz=num(f), auto_x=num(pxx), auto_y=num(pyy),
                      cross_re=num(pxy.real), cross_im=num(pxy.imag), coherence=num(c)))


case("x1,y1", x1, y1, 256, 128, 256, "linear")
case("x2,y2", x2, y2, 200, 150, 256, "constant")
case("a3,y3", a3, y3, 128, 102, 512, "linear")

# The two-input solution and partial and multiple coherence, by linear algebra.
kw = dict(fs=fs, window="hann", nperseg=128, noverlap=64, nfft=128, detrend="linear")
P = {(i, j): signal.csd(u, v, **kw)[1] for i, u in enumerate((a3, b3, y3)) for j, v in enumerate((a3, b3, y3))}
H, partial, multiple = [], [], []
for k in range(65):
    S = np.array([[P[i, j][k] for j in range(3)] for i in range(3)])
    h = np.linalg.solve(S[:2, :2], S[:2, 2])
    H.append(h)
    multiple.append(float((np.conj(S[:2, 2]) @ h).real / S[2, 2].real))
    Z = np.linalg.inv(S)
    partial.append([float(abs(Z[i, 2]) ** 2 / (Z[i, i] * Z[2, 2]).real) for i in (0, 1)])
H = np.array(H)
two = dict(window=128, step=64, re=[num(H[:, i].real) for i in (0, 1)], im=[num(H[:, i].imag) for i in (0, 1)],
           partial=[num(np.array(partial)[:, i]) for i in (0, 1)], multiple=num(multiple))

json.dump(dict(numpy=np.__version__, scipy=scipy.__version__, rate_hz=fs, cases=cases, two_inputs=two),
          open(here / "reference.json", "w"), indent=0)
