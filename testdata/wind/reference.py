"""Reference values for analysis/wind, computed outside the project.

Run with NumPy 1.24.2 and SciPy 1.10.1: writes wind.csv (a made-up record: mean, slow
wave, first-order turbulence, 4 Hz, four minutes) and reference.csv (its statistics).
"""
import numpy as np
import scipy
from scipy import integrate, signal, stats

rng = np.random.default_rng(20310719)
n, dt = 960, 0.25
t = np.arange(n) * dt
a = np.exp(-dt / 4.0)
noise = rng.standard_normal((2, n))
u = signal.lfilter([np.sqrt(1 - a * a)], [1, -a], noise, axis=1)
north = np.round(-(4.0 + 0.8 * u[0] + 0.5 * np.sin(2 * np.pi * t / 60)), 3)
east = np.round(-(-1.0 + 0.6 * u[1]), 3)
heading = np.round(330 + 30 * np.sin(2 * np.pi * t / 100), 2)
np.savetxt("wind.csv", np.column_stack([t, north, east, heading]), fmt=["%.2f", "%.3f", "%.3f", "%.2f"],
           delimiter=",", header="time_s,wind_north_m_s,wind_east_m_s,heading_deg", comments="")

speed = np.hypot(north, east)
direction = np.arctan2(-east, -north)
run = np.convolve(speed, np.ones(12) / 12, mode="valid")
s, c = np.sin(direction).mean(), np.cos(direction).mean()
eps = np.sqrt(1 - (s * s + c * c))
psi = np.radians(heading)
rows = [
    ("mean_m_s", speed.mean()),
    ("sd_m_s", speed.std(ddof=1)),
    ("gust3s_m_s", run.max()),
    ("lull3s_m_s", run.min()),
    ("direction_rad", stats.circmean(direction)),
    ("direction_sd_rad", stats.circstd(direction)),
    ("direction_sd_yamartino_rad", np.arcsin(eps) * (1 + (2 / np.sqrt(3) - 1) * eps**3)),
    ("head_m_s", (speed * np.cos(direction - psi)).mean()),
    ("cross_m_s", (speed * np.sin(direction - psi)).mean()),
    # Dryden, MIL-F-8785C 3.7: one-sided spectra in rad/m integrate to the variance.
    ("dryden_u_variance", integrate.quad(lambda w: 2 * 30 / np.pi / (1 + (30 * w) ** 2), 0, np.inf)[0]),
    ("dryden_w_variance", integrate.quad(lambda w: 30 / np.pi * (1 + 3 * (30 * w) ** 2) / (1 + (30 * w) ** 2) ** 2, 0, np.inf)[0]),
]
with open("reference.csv", "w") as f:
    f.write(f"# numpy {np.__version__}, scipy {scipy.__version__}\nname,value\n")
    for name, value in rows:
        f.write(f"{name},{value:.15g}\n")
