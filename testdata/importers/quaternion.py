"""The reference value of TestQuaternion in package importers.

Run with Python 3.11, NumPy 1.24.2, SciPy 1.10.1; prints x y z w:
[0.03813458 0.18930786 0.23929834 0.95154852]
"""
from scipy.spatial.transform import Rotation

print(Rotation.from_euler("ZYX", [30, 20, 10], degrees=True).as_quat())
