"""Reference values on a fine frequency grid: SciPy's chirp-z transform of each window of the
records' first pair, averaged by hand, between 0.05 and 3 Hz.

Run with Debian's interpreter: /usr/bin/python3 zoom.py
It reads records.csv and writes zoom.json beside itself; the versions are in it.
"""
import json
import pathlib

import numpy as np
import scipy
from scipy import signal

here = pathlib.Path(__file__).parent
fs, window, step, nfft = 50.0, 256, 128, 8192
x, y = np.loadtxt(here / "records.csv", delimiter=",", skiprows=1, usecols=(0, 1)).T
first = int(np.ceil(0.05 / fs * nfft))
last = int(np.floor(3 / fs * nfft))
points = last - first + 1
w = signal.get_window("hann", window)  # periodic
zoom = signal.CZT(window, points, w=np.exp(-2j * np.pi / nfft), a=np.exp(2j * np.pi * first / nfft))
cross = np.zeros(points, complex)
auto = np.zeros(points)
count = 0
for start in range(0, len(x) - window + 1, step):
    xs = zoom(signal.detrend(x[start:start + window]) * w)
    ys = zoom(signal.detrend(y[start:start + window]) * w)
    cross += np.conj(xs) * ys
    auto += np.abs(xs) ** 2
    count += 1
scale = 2 / (fs * np.sum(w**2) * count)


def num(v):
    return [float(f"{q:.17g}") for q in v]


json.dump(dict(made_with=f"NumPy {np.__version__}, SciPy {scipy.__version__}", window=window, step=step, fft=nfft, first=first,
               auto=num(auto * scale), cross_re=num(cross.real * scale), cross_im=num(cross.imag * scale)),
          open(here / "zoom.json", "w"))
