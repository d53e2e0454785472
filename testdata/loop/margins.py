"""Margins of rational loops with a delay, by ways that do not look at the phase of L at all
where that can be avoided, for analysis/stability/loop. Run with:
/usr/bin/python3 margins.py > margins.json   (needs octave-cli with the control package)

Gain margins: the factors on L, up and down, at which the closed loop gets a pole with a
positive real part, by bisection on the roots of 1 + k L with a Pade form of order 9 of the
delay. Crossover and phase margin: scipy.optimize.brentq on |L| - 1 with the exact delay, and
margin() of Octave with the same Pade form beside it.
"""

import json
import subprocess

import numpy as np
import scipy
from scipy.optimize import brentq

# numerator, denominator (highest power first), delay in s
LOOPS = {
    "integrator": ([3.0], [1.0, 0.0], 0.25),
    "integrator and lag": ([2.0, 2.0], [0.04, 0.4, 1.0, 0.0], 0.2),
    "three lags": ([40.0], np.poly([-1.0, -2.0, -5.0]).tolist(), 0.0),
    # A hover that grows by itself, held by a pilot who leads: both gain margins.
    "growing hover": (
        (1.5 * np.polymul([0.7, 1.0], [1.0, 0.03])).tolist(),
        np.polymul([0.068, 1.0], [1.0, 0.9, -0.05, 0.3]).tolist(),
        0.2,
    ),
}


def pade(tau, n=9):
    """Coefficients of the Pade form of exp(-tau s), highest power first."""
    c = [1.0]
    for k in range(1, n + 1):
        c.append(c[-1] * (n - k + 1) / (k * (2 * n - k + 1)) * tau)
    den = np.array(c[::-1])
    return den * np.array([(-1.0) ** k for k in range(n, -1, -1)]), den


def unstable(num, den, tau, k):
    n, d = np.array(num) * k, np.array(den)
    if tau > 0:
        pn, pd = pade(tau)
        n, d = np.polymul(n, pn), np.polymul(d, pd)
    return np.roots(np.polyadd(n, d)).real.max() > 0


def edge(num, den, tau, to):
    """The factor between 1 and to at which the closed loop changes, None if it does not."""
    grid = np.exp(np.linspace(0, np.log(to), 4000))
    for a, b in zip(grid, grid[1:]):
        if unstable(num, den, tau, b):
            for _ in range(60):
                m = np.sqrt(a * b)
                a, b = (a, m) if unstable(num, den, tau, m) else (m, b)
            return float(a)
    return None


def octave(num, den, tau):
    n, d = np.array(num), np.array(den)
    if tau > 0:
        pn, pd = pade(tau)
        n, d = np.polymul(n, pn), np.polymul(d, pd)
    show = lambda v: "[" + " ".join(f"{x:.17g}" for x in v) + "]"
    code = (
        f"pkg load control; [g,p,wg,wp]=margin(tf({show(n)},{show(d)}));"
        'printf("%.12g %.12g %.12g %.12g\\n", g, p, wg, wp);'
    )
    out = subprocess.run(["octave-cli", "--no-gui", "-q", "--eval", code], capture_output=True, text=True)
    return [float(x) for x in out.stdout.split()]


def main():
    out = {"versions": {
        "numpy": np.__version__, "scipy": scipy.__version__,
        "octave": subprocess.run(["octave-cli", "--version"], capture_output=True, text=True).stdout.split("\n")[0],
        "octave-control": subprocess.run(
            ["octave-cli", "--no-gui", "-q", "--eval", 'p=pkg("list","control"); printf("%s", p{1}.version)'],
            capture_output=True, text=True).stdout,
    }, "loops": []}
    for name, (num, den, tau) in LOOPS.items():
        assert not unstable(num, den, tau, 1.0), name
        f = lambda lw: np.log(abs(np.polyval(num, 1j * np.exp(lw)) / np.polyval(den, 1j * np.exp(lw))))
        grid = np.linspace(np.log(0.05), np.log(30), 5000)
        cross = [np.exp(brentq(f, a, b)) for a, b in zip(grid, grid[1:]) if f(a) * f(b) < 0]
        phases = []
        for w in cross:
            v = np.polyval(num, 1j * w) / np.polyval(den, 1j * w) * np.exp(-1j * w * tau)
            phases.append(float((np.degrees(np.angle(-v)))))
        g, p, wg, wp = octave(num, den, tau)
        out["loops"].append({
            "name": name, "num": num, "den": den, "delay_s": tau,
            "crossover_rad_s": [float(w) for w in cross], "phase_margin_deg": phases,
            "gain_up": edge(num, den, tau, 1e3), "gain_down": edge(num, den, tau, 1e-3),
            "octave_gain": g, "octave_phase_deg": p, "octave_w180_rad_s": wg, "octave_crossover_rad_s": wp,
        })
    print(json.dumps(out, indent=1))


main()
