"""What somebody would script: read a log, compute six cross spectra, print one line each.

    spectra.py FILE

pandas 1.5.3, SciPy 1.10.1, NumPy 1.24.2.
"""

import sys

import numpy as np
import pandas as pd
from scipy import signal

log = pd.read_csv(sys.argv[1])
rate_hz = 1 / np.median(np.diff(log["time_s"]))
pairs = [
    ("stick_lat_pct", "roll_deg"),
    ("stick_lat_pct", "roll_rate_deg_s"),
    ("stick_lon_pct", "pitch_deg"),
    ("stick_lon_pct", "pitch_rate_deg_s"),
    ("stick_lat_pct", "pitch_deg"),
    ("stick_lon_pct", "roll_deg"),
]
for a, b in pairs:
    f, pxy = signal.csd(log[a], log[b], fs=rate_hz, window="hann", nperseg=4096, noverlap=2048, detrend="linear")
    k = np.argmax(np.abs(pxy))
    print(f"{a} to {b}: largest at {2 * np.pi * f[k]:.3f} rad/s, phase {np.degrees(np.angle(pxy[k])):.1f} deg")
