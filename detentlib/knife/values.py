"""What numbers come as: one, or an array of them for many knives or blade angles."""

import numpy as np

Values = float | np.ndarray
