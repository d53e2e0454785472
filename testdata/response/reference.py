"""Reference values for the response tests, by NumPy and SciPy: a long predictor by linear least
squares, the fit of a model by SciPy's least_squares, a correlation lag by a long inverse FFT.

Run with Debian's interpreter: /usr/bin/python3 reference.py
It rewrites reference.json beside itself; the versions are in it.
"""
import json
import pathlib

import numpy as np
import scipy
from scipy import optimize, signal

here = pathlib.Path(__file__).parent
rng = np.random.default_rng(20310601)
step = 0.08


def num(v):
    return [float(f"{q:.17g}") for q in v]


# 1: y from its own past and two related inputs, regressed on 12 lags of all three, the inputs
# seen one step ahead, with a constant.
n, order = 700, 12
u1 = signal.lfilter([1], [1, -0.9], rng.standard_normal(n))
u2 = signal.lfilter([1], [1, -0.7], rng.standard_normal(n)) - 0.3 * u1
y = signal.lfilter([0, 0.2, 0.1], [1, -1.6, 0.68], u1) + signal.lfilter([0, 0.1], [1, -0.8], u2)
y += signal.lfilter([0.3], [1, -0.9], rng.standard_normal(n)) + 2
u1, u2, y = np.round(u1, 6), np.round(u2, 6), np.round(y, 6)
rows, right = [], []
for t in range(order, n - 1):
    rows.append([y[t - j] for j in range(1, order + 1)] + [u1[t + 1 - j] for j in range(order + 1)]
                + [u2[t + 1 - j] for j in range(order + 1)] + [1])
    right.append(y[t])
theta, left, _, _ = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)
omega = np.array([0.5, 1, 2, 4, 8, 16])
z = np.exp(-1j * np.outer(omega * step, np.arange(order + 1)))
den = 1 - z[:, 1:] @ theta[:order]
early = np.exp(1j * omega * step)
h = [(z @ theta[order + i * (order + 1):order + (i + 1) * (order + 1)]) / den * early for i in (0, 1)]
# Relative error of |H| to first order, mean of that of gain and of phase.
sigma2 = left[0] / (len(right) - len(theta))
cov = sigma2 * np.linalg.inv(np.array(rows).T @ np.array(rows))
sd = []
for k in range(len(omega)):
    jac = np.concatenate([z[k, 1:] / den[k], z[k] / (z[k] @ theta[order:2 * order + 1]), np.zeros(order + 1), [0]])
    sd.append(np.sqrt((jac.real @ cov @ jac.real + jac.imag @ cov @ jac.imag) / 2))
predictor = dict(step_s=step, order=order, u1=num(u1), u2=num(u2), y=num(y), omega_rad_s=num(omega),
                 re=[num(v.real) for v in h], im=[num(v.imag) for v in h], sd=num(sd))

# 2: the head on the body in hover: gain, dead time, following time of the disc, stiffness, and
# two of speed, with errors on log gain and phase.
omega = np.geomspace(0.5, 18, 40)


def model(p, w):
    s = 1j * w
    gain, follow, stiff = np.exp(p[0]), np.exp(p[2]), np.exp(p[3])
    top = stiff * s * (s + p[5])
    bottom = s**2 * (s + p[5]) * (follow * s + 1) + follow * top + p[4] * (s**2 + stiff)
    return gain * np.exp(-p[1] * s) * top / bottom


truth = np.array([np.log(0.14), 0.05, np.log(0.07), np.log(30), 0.02, 0.05])
weight = 1 / (0.01 + 0.02 * rng.random(len(omega)))
h = model(truth, omega)
ln_gain = np.log(np.abs(h)) + rng.standard_normal(len(omega)) / weight
phase = np.angle(h) + rng.standard_normal(len(omega)) / weight


def residuals(p):
    h = model(p, omega)
    turn = np.angle(h) - phase
    return np.concatenate([weight * (np.log(np.abs(h)) - ln_gain), weight * (turn - 2 * np.pi * np.round(turn / (2 * np.pi)))])


fit = optimize.least_squares(residuals, truth, xtol=1e-14, ftol=1e-14, gtol=1e-14, x_scale="jac")
cov = np.linalg.inv(fit.jac.T @ fit.jac)
head = dict(omega_rad_s=num(omega), ln_gain=num(ln_gain), phase=num(phase), weight=num(weight), p=num(fit.x),
            sd=num(np.sqrt(np.diag(cov))), chi_square=float(2 * fit.cost))

# 3: the peak of the cross-correlation, from SciPy's cross spectrum by an inverse FFT padded to
# steps of 0.04 ms, less the bins that do not count: those up to the window's noise bandwidth.
m, window = 3000, 256
x = signal.lfilter(*signal.butter(3, 0.3), rng.standard_normal(m))
b, a = signal.bilinear([1], [0.25, 1], 1 / step)
v = np.round(np.roll(signal.lfilter(b, a, x), 2) + 0.02 * rng.standard_normal(m), 6)
x = np.round(x, 6)
f, pxy = signal.csd(x, v, fs=1 / step, window="hann", nperseg=window, noverlap=window // 2, detrend="linear")
pxy[2 * np.pi * f <= 1.5 * 2 * np.pi / (window * step)] = 0
fine = 2048
padded = np.zeros(window * fine // 2 + 1, complex)
padded[:len(pxy)] = pxy
r = np.fft.irfft(padded)
peak = int(np.argmax(np.where(np.arange(len(r)) * step / fine < 2, r, -np.inf)))
lag = dict(step_s=step, window=window, x=num(x), y=num(v), lag_s=peak * step / fine, resolution_s=step / fine)

json.dump(dict(numpy=np.__version__, scipy=scipy.__version__, predictor=predictor, head=head, lag=lag),
          open(here / "reference.json", "w"), indent=0)
