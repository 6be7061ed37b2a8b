"""What arrays are called in signatures.

Question answered: which kind of numbers does an array hold?
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Frames = NDArray[np.intp]
"""Indices of steps or frames."""
