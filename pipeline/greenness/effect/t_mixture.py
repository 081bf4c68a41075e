"""Student's t distributions mixed: what is known of an effect while the carry-over is not."""

from dataclasses import dataclass

import numpy as np

from pipeline.core.student_t import t_below, t_multiplier

HALVINGS = 60
"""Steps of a bisection, each of which halves what is left: 60 leave nothing that a float tells."""


@dataclass(frozen=True, slots=True)
class TMixture:
    """Mixture of t distributions, the last axis of each array going through its parts.

    Each part has a ``weight``, a ``center``, a ``scale`` (0 for a value that is certain) and whole
    degrees of ``freedom``; the weights add up to 1.
    """

    weights: np.ndarray
    centers: np.ndarray
    scales: np.ndarray
    freedom: np.ndarray

    @property
    def mean(self) -> np.ndarray:
        """Mean of the centers by weight."""
        return np.asarray((self.weights * self.centers).sum(axis=-1))

    def parts_below(self, value: np.ndarray) -> np.ndarray:
        """Probability of each part to be below a value."""
        off = np.asarray(value)[..., None] - self.centers
        certain = np.where(off == 0.0, 0.0, np.copysign(np.inf, off))
        t = np.divide(off, self.scales, out=certain, where=self.scales > 0.0)
        return t_below(t, self.freedom)

    def below(self, value: np.ndarray) -> np.ndarray:
        """Probability to be below a value."""
        return np.asarray((self.weights * self.parts_below(value)).sum(axis=-1))

    def interval(self, confidence_pct: float) -> tuple[np.ndarray, np.ndarray]:
        """Values that so much probability lies between, an equal rest on either side, by bisection.

        Each end lies among the ends of the parts.
        """
        freedoms, which = np.unique(self.freedom, return_inverse=True)
        each = np.array([t_multiplier(int(f), confidence_pct) for f in freedoms])
        half = each[which].reshape(self.freedom.shape) * self.scales
        rest = (1.0 - confidence_pct / 100.0) / 2.0
        return (
            self._quantile(self.centers - half, rest),
            self._quantile(self.centers + half, 1.0 - rest),
        )

    def _quantile(self, among: np.ndarray, probability: float) -> np.ndarray:
        """Value with that probability below it, which lies among some values."""
        low, high = among.min(axis=-1), among.max(axis=-1)
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            less = self.below(middle) < probability
            low, high = np.where(less, middle, low), np.where(less, high, middle)
            if (high - low <= 1e-12).all():
                break
        return np.asarray((low + high) / 2.0)
