#!/usr/bin/python3
"""Reference values for package rotor: the equations of the package comment written down
once more in NumPy and evaluated by SciPy (eigenvalues by numpy.linalg, responses by
scipy.signal.freqresp). Run: /usr/bin/python3 model.py > model.json
"""
import json
import sys

import numpy as np
import scipy
import scipy.linalg

G = 9.80665
HEADS = [
    dict(name="bare", R=3.1, Omega=53.0, gamma=4.6, m=240.0, h=1.15, Ixx=68.0, Iyy=135.0, Xu=-0.03, Yv=-0.04,
         e=0.0, delta3=0.0, adv=90.0, throw=8.0, kb=0.0, taub=0.0, kp=1.0, ks=1.0, delay=0.05),
    dict(name="bare, 18 deg out", R=3.1, Omega=53.0, gamma=4.6, m=240.0, h=1.15, Ixx=68.0, Iyy=135.0, Xu=-0.03, Yv=-0.04,
         e=0.0, delta3=18.0, adv=90.0, throw=8.0, kb=0.0, taub=0.0, kp=1.0, ks=1.0, delay=0.0),
    dict(name="bar", R=3.2, Omega=50.0, gamma=5.2, m=260.0, h=1.2, Ixx=72.0, Iyy=150.0, Xu=-0.02, Yv=-0.03,
         e=0.0, delta3=0.0, adv=90.0, throw=7.0, kb=0.5, taub=0.7, kp=1.0, ks=0.6, delay=0.08),
    dict(name="bar, delta3, phasing", R=2.9, Omega=58.0, gamma=6.0, m=210.0, h=1.05, Ixx=60.0, Iyy=110.0, Xu=-0.05, Yv=-0.06,
         e=0.0, delta3=-12.0, adv=85.0, throw=9.0, kb=0.8, taub=1.4, kp=0.7, ks=0.3, delay=0.12),
    dict(name="through the bar only", R=3.0, Omega=55.0, gamma=5.0, m=230.0, h=1.1, Ixx=65.0, Iyy=160.0, Xu=-0.03, Yv=-0.03,
         e=0.0, delta3=0.0, adv=90.0, throw=8.0, kb=0.7, taub=0.6, kp=1.0, ks=0.0, delay=0.03),
]


def model(p):
    rad = np.pi / 180
    tau = 16 / (p["gamma"] * p["Omega"])
    ku = 0.3 / (p["Omega"] * p["R"])
    spring = p["gamma"] / 8 * np.tan(p["delta3"] * rad)
    lag = np.arctan2(p["gamma"] / 8, spring)
    gain = (p["gamma"] / 8) / np.hypot(p["gamma"] / 8, spring)
    d = p["adv"] * rad - lag
    rot = np.array([[np.cos(d), -np.sin(d)], [np.sin(d), np.cos(d)]])
    n = 10 if p["taub"] else 8
    a, b = np.zeros((n, n)), np.zeros((n, 4))
    a[0:2, 0:2] = -np.eye(2) / tau          # disc aft, right
    a[0, 2] = a[1, 3] = -1                  # pitch and roll rate
    a[0, 6], b[0, 2] = ku / tau, ku / tau   # u, head wind
    a[1, 7], b[1, 3] = -ku / tau, -ku / tau
    throw = p["throw"] * rad
    b[0:2, 0:2] = rot * gain * p["ks"] * throw / tau
    a[2, 0] = p["m"] * G * p["h"] / p["Iyy"]
    a[3, 1] = p["m"] * G * p["h"] / p["Ixx"]
    a[4, 2] = a[5, 3] = 1
    a[6, 4] = a[6, 0] = -G
    a[6, 6], b[6, 2] = p["Xu"], p["Xu"]
    a[7, 5] = a[7, 1] = G
    a[7, 7], b[7, 3] = p["Yv"], p["Yv"]
    if p["taub"]:
        a[0:2, 8:10] = rot * gain * p["kb"] / tau
        a[8:10, 8:10] = -np.eye(2) / p["taub"]
        a[8, 2] = a[9, 3] = -1
        b[8:10, 0:2] = np.eye(2) * p["kp"] * throw / p["taub"]
    return a, b, np.degrees(d), np.degrees(lag), gain


def main():
    w = np.geomspace(0.05, 40, 25)
    out = dict(versions=dict(python=sys.version.split()[0], numpy=np.__version__, scipy=scipy.__version__),
               omega_rad_s=list(w), heads=[])
    for p in HEADS:
        a, b, d, lag, gain = model(p)
        ev = np.linalg.eigvals(a)
        ev = sorted((e for e in ev if e.imag >= 0), key=abs)
        n = a.shape[0]
        resp = []
        for j in range(4):
            delay = np.exp(-1j * w * p["delay"]) if j < 2 else 1
            for i in (4, 5, 2, 3, 6, 7):
                h = np.array([scipy.linalg.solve(1j * x * np.eye(n) - a, b[:, j])[i] for x in w]) * delay
                resp.append(dict(input=j, state=i, re=list(h.real), im=list(h.imag)))
        out["heads"].append(dict(head=p, phasing_deg=d, lag_deg=lag, gain=gain,
                                 eigenvalues=[[e.real, e.imag] for e in ev], responses=resp))
    json.dump(out, sys.stdout, indent=0)


main()
