"""The array types of this layer."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""What the stages pass on while they compute."""
Counts = NDArray[np.int64]
Samples = NDArray[np.float32]
"""Audio and what is measured on it wholesale."""
Marks = NDArray[np.bool_]
"""Yes or no of each of some things."""
