# Values of the filter of package report/export at distances x, in periods of the lower
# rate, with NumPy's Bessel function and sinc. NumPy 1.24.2, SciPy 1.10.1.
import numpy as np
from scipy.signal import kaiser_beta, kaiserord

attenuation, half = 60.0, (60.0 - 8) / (2.285 * 2 * np.pi * 0.1) / 2
beta = kaiser_beta(attenuation)
print("taps", kaiserord(attenuation, 0.1 / 0.5), "half", half)
for x in (0.0, 0.5, 1.0, 2.25, 7.125, 17.5, 18.0):
    w = np.i0(beta * np.sqrt(1 - (x / half) ** 2)) / np.i0(beta)
    print("{%g, %.15g}," % (x, np.sinc(0.9 * x) * w))
