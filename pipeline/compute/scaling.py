"""What turns a stored number into a value, and sums of stored numbers into sums of values."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Scaling:
    """A value is a stored number times ``scale`` plus ``offset``."""

    scale: float = 1.0
    offset: float = 0.0

    def value(self, stored: np.ndarray) -> np.ndarray:
        """Values of stored numbers, as floats: whole numbers would wrap around."""
        return stored * self.scale + self.offset if self.offset else stored * self.scale

    def stored(self, value: float) -> float:
        """Number, whole or not, that stands for a value."""
        return (value - self.offset) / self.scale

    def total(self, count: np.ndarray, total: np.ndarray) -> np.ndarray:
        """Sum of ``count`` values from the sum of their stored numbers."""
        return self.scale * total + self.offset * count

    def squares(self, count: np.ndarray, total: np.ndarray, squares: np.ndarray) -> np.ndarray:
        """Sum of the squares of values from the sums of their stored numbers and of the squares."""
        cross = 2.0 * self.scale * self.offset * total
        return self.scale**2 * squares + cross + self.offset**2 * count


AS_IT_STANDS = Scaling()
"""The stored number is the value."""
