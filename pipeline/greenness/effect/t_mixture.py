"""Student's t distributions mixed: what is known of an effect while the carry-over is not."""

from dataclasses import dataclass

import numpy as np

from pipeline.core.student_t import t_below, t_height, t_multiplier

MOST_STEPS = 100
"""Steps in which any quantile is found; by halves alone 60 leave nothing that a float tells."""


CLOSE = 1e-13
"""NDVI that a quantile is exact to."""


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
        """Values that so much probability lies between, an equal rest on either side.

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

    def _density(self, value: np.ndarray) -> np.ndarray:
        """Probability by unit of the value, of the parts that are not certain."""
        freedoms, which = np.unique(self.freedom, return_inverse=True)
        heights = np.array([t_height(int(freedom)) for freedom in freedoms])
        off = value[..., None] - self.centers
        t = np.divide(off, self.scales, out=np.zeros_like(off), where=self.scales > 0.0)
        at = (1.0 + t**2 / self.freedom) ** (-(self.freedom + 1.0) / 2.0)
        weights = self.weights * heights[which].reshape(self.freedom.shape)
        by_scale = np.divide(weights, self.scales, out=np.zeros_like(at), where=self.scales > 0.0)
        return np.asarray((at * by_scale).sum(axis=-1))

    def _quantile(self, among: np.ndarray, probability: float) -> np.ndarray:
        """Value with that probability below it, which lies among some values.

        By Newton's steps, or by halves where one would lead out of what is left.
        """
        low, high = among.min(axis=-1), among.max(axis=-1)
        value = (self.weights * among).sum(axis=-1)
        for _ in range(MOST_STEPS):
            off = self.below(value) - probability
            low, high = np.where(off < 0, value, low), np.where(off < 0, high, value)
            slope = self._density(value)
            step = np.divide(off, slope, out=np.full_like(off, np.inf), where=slope > 0.0)
            near, newton = np.abs(step) <= CLOSE, value - step
            inside = (newton > low) & (newton < high)
            following = np.where(inside, newton, np.where(near, value, (low + high) / 2.0))
            done = np.abs(following - value) <= CLOSE
            value = following
            if done.all():
                break
        return np.asarray(value)
