"""What the response analysis computes before its models, written with SciPy: the spectra of
sticks, attitudes and rates with three window lengths, every pair once, and from them the
responses of both axes to both sticks with partial coherence.

    spectra.py FILE

pandas 1.5.3, SciPy 1.10.1, NumPy 1.24.2.
"""

import sys

import numpy as np
import pandas as pd
from scipy import signal

log = pd.read_csv(sys.argv[1])
rate_hz = 1 / np.median(np.diff(log["time_s"]))
names = ["stick_lat_pct", "stick_lon_pct", "roll_deg", "pitch_deg", "roll_rate_deg_s", "pitch_rate_deg_s"]
omega = np.geomspace(0.3, 20, 120)
for window_s in (32, 16, 8):
    n = int(window_s * rate_hz)
    s = {}
    for i, a in enumerate(names):
        for j in range(i, len(names)):
            f, p = signal.csd(log[a], log[names[j]], fs=rate_hz, window="hann", nperseg=n, noverlap=n // 2, detrend="linear")
            p = np.interp(omega, 2 * np.pi * f, p.real) + 1j * np.interp(omega, 2 * np.pi * f, p.imag)
            s[i, j], s[j, i] = p, np.conj(p)
    inputs = np.array([[s[i, j] for j in (0, 1)] for i in (0, 1)]).transpose(2, 0, 1)
    for out in range(2, len(names)):
        h = np.linalg.solve(inputs, np.array([s[0, out], s[1, out]]).T[..., None])[..., 0]
        whole = np.array([[s[i, j] for j in (0, 1, out)] for i in (0, 1, out)]).transpose(2, 0, 1)
        z = np.linalg.inv(whole)
        partial = np.abs(z[:, :2, 2]) ** 2 / (z[:, [0, 1], [0, 1]].real * z[:, 2, 2].real[:, None])
        k = np.argmax(partial.max(axis=1))
        print(f"{window_s} s, {names[out]}: coherence {partial[k].max():.3f} at {omega[k]:.2f} rad/s, gain {np.abs(h[k]).max():.3f}")
