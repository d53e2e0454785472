"""Write a ten-minute log of 13 columns at 200 Hz (120 000 rows) for the speed comparison.

    generate.py FILE [wind]

A hovering aircraft that answers its stick like a lagged, delayed rate, flown by a pilot
who holds it level and, in between, sweeps and doublets in roll and pitch; gusty wind.
Only the amount and kind of data matter here, not the numbers. With "wind" the last columns
are height and wind in place of accelerations and collective. NumPy 1.24.2.
"""

import sys

import numpy as np

RATE_HZ = 200
MINUTES = 10
DT = 1 / RATE_HZ
N = RATE_HZ * 60 * MINUTES
DELAY = int(0.12 / DT)  # stick to rate
LAG_S = 0.2
GAIN = 0.9  # deg/s per percent


def test_inputs(t, start):
    """Sweeps of 60 s and doublets, percent of travel."""
    u = np.zeros_like(t)
    for begin in (start, start + 200):
        k = (t >= begin) & (t < begin + 60)
        s = t[k] - begin
        u[k] = 12 * np.sin(2 * np.pi * (0.1 * s + 0.5 * (2.0 - 0.1) / 60 * s**2))
    for begin in (start + 70, start + 80, start + 270, start + 280):
        u[(t >= begin) & (t < begin + 1)] += 15
        u[(t >= begin + 1) & (t < begin + 2)] -= 15
    return u


def fly(t, gust, inputs, flying, rng):
    """One axis: stick, attitude, rate, in percent, deg, deg/s."""
    stick, angle, rate = np.zeros(N), np.zeros(N), np.zeros(N)
    remnant = 0.4 * rng.standard_normal(N)
    for i in range(1, N):
        if flying[i]:
            seen = max(0, i - int(0.25 / DT))
            stick[i] = inputs[i] - 1.2 * angle[seen] - 0.5 * rate[seen] + remnant[i]
        drive = GAIN * stick[i - DELAY] + 1.5 * gust[i] if i > DELAY and flying[i] else 0.0
        rate[i] = rate[i - 1] + DT / LAG_S * (drive - rate[i - 1])
        angle[i] = angle[i - 1] + DT * rate[i] if flying[i] else 0.999 * angle[i - 1]
    return stick, angle, rate


def main():
    rng = np.random.default_rng(7)
    t = np.arange(N) * DT
    flying = (t > 30) & (t < 570)
    gust = np.zeros(N)
    noise = rng.standard_normal(N)
    for i in range(1, N):  # first-order gusts of 3 s
        gust[i] = gust[i - 1] * (1 - DT / 3) + 1.2 * np.sqrt(2 * DT / 3) * noise[i]
    lat, roll, p = fly(t, gust, test_inputs(t, 50), flying, rng)
    lon, pitch, q = fly(t, np.roll(gust, 60), test_inputs(t, 150), flying, rng)
    lifted = np.interp(t, [0, 30, 36, 560, 570, 600], [0, 0, 1, 1, 0, 0])
    shake = rng.standard_normal((3, N)) * (0.05 + 0.3 * lifted)
    columns = {
        "time_s": t,
        "roll_deg": roll + 0.02 * rng.standard_normal(N),
        "pitch_deg": pitch + 0.02 * rng.standard_normal(N),
        "heading_deg": 74 + 2 * np.sin(t / 20),
        "roll_rate_deg_s": p + 0.1 * rng.standard_normal(N),
        "pitch_rate_deg_s": q + 0.1 * rng.standard_normal(N),
        "yaw_rate_deg_s": 0.1 * np.cos(t / 20) + 0.1 * rng.standard_normal(N),
        "accel_z_m_s2": -9.80665 + shake[2],
        "stick_lat_pct": lat,
        "stick_lon_pct": lon,
    }
    if sys.argv[2:] == ["wind"]:
        columns["height_m"] = 2.5 * lifted + 0.01 * rng.standard_normal(N)
        columns["wind_speed_m_s"] = np.maximum(0, 4 + gust)
        columns["wind_from_deg"] = 250 + 8 * rng.standard_normal(N)
    else:
        columns["accel_x_m_s2"] = 9.80665 * np.sin(np.radians(pitch)) + shake[0]
        columns["accel_y_m_s2"] = -9.80665 * np.sin(np.radians(roll)) + shake[1]
        columns["collective_pct"] = 55 * lifted + 0.2 * rng.standard_normal(N)
    np.savetxt(sys.argv[1], np.column_stack(list(columns.values())), fmt="%.5f", delimiter=",",
               header=",".join(columns), comments="")


main()
