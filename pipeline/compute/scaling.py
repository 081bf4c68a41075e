"""What turns a stored number into a value, and sums of stored numbers into mean and spread."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Scaling:
    """A value is a stored number times ``scale`` plus ``offset``."""

    scale: float = 1.0
    offset: float = 0.0

    def value(self, stored: np.ndarray) -> np.ndarray:
        """Values of stored numbers, in 64 bits: whole numbers would wrap around, others be cut."""
        value = np.multiply(stored, self.scale, dtype=np.float64)
        return value + self.offset if self.offset else value

    def stored(self, value: float) -> float:
        """Number, whole or not, that stands for a value."""
        return (value - self.offset) / self.scale

    def then(self, after: "Scaling") -> "Scaling":
        """Scaling that does first this one and then another."""
        return Scaling(after.scale * self.scale, after.scale * self.offset + after.offset)

    def moments(self, count: np.ndarray, total: np.ndarray, squares: np.ndarray) -> "Moments":
        """Moments of values from the sums of their stored numbers and of the squares of those.

        Departures from the mean are taken first and scaled after: nothing is lost to the offset.
        """
        middle = np.divide(total, count, out=np.zeros_like(total), where=count > 0)
        departures = np.maximum(squares - middle * total, 0.0)
        return Moments(count, self.scale * total + self.offset * count, self.scale**2 * departures)


@dataclass(frozen=True, slots=True)
class Moments:
    """Number of values, their sum, and the sum of their squared departures from the mean."""

    count: np.ndarray
    total: np.ndarray
    departures: np.ndarray

    @property
    def mean(self) -> np.ndarray:
        """Mean, NaN of no value."""
        return ratio(self.total, self.count)

    @property
    def sd(self) -> np.ndarray:
        """Standard deviation of the values themselves (population), NaN of no value."""
        return np.sqrt(ratio(self.departures, self.count))

    def with_others(self, others: "Moments", weight: float) -> "Moments":
        """Moments together with other values, each of which counts ``weight`` times.

        *Source*: T. F. Chan, G. H. Golub and R. J. LeVeque, American Statistician 37 (1983) 242-247
        (from memory, to be checked): how sums about two means are joined.
        """
        count = self.count + weight * others.count
        apart = np.nan_to_num(others.mean - self.mean)
        between = np.nan_to_num(ratio(self.count * weight * others.count, count)) * apart**2
        return Moments(
            count,
            self.total + weight * others.total,
            self.departures + weight * others.departures + between,
        )


def ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """Part by whole, NaN where there is no whole."""
    return np.divide(part, whole, out=np.full(np.shape(whole), np.nan), where=whole > 0)


AS_IT_STANDS = Scaling()
"""The stored number is the value."""
