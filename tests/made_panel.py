"""Burned and unburned units in a few lines, for the tests of the estimator."""

import numpy as np

from pipeline.greenness.effect.carry_over import Readings, estimate_effect

BEFORE = np.array([0.41, 0.43, 0.39, 0.45, 0.40, 0.42])
AFTER = np.array([0.55, 0.50, 0.47, 0.51, 0.46, 0.50])
"""A burned unit and five references, of one start and of another."""


def readings(before, after, variance=None):
    """Readings; ``before`` has a year on its last axis, newest first."""
    after = np.asarray(after, float)
    none = np.zeros(after.shape)
    return Readings(np.asarray(before, float), after, none if variance is None else variance)


def effect_of(before, after, *, burned=1, others=0, dose=None, variance=None, **more):
    """Effect on the first units of a panel; the next are references, the last ``others``."""
    all_units = readings(before, after, variance)
    parts = [
        Readings(all_units.before[k], all_units.after[k], all_units.pixel_variance[k])
        for k in (slice(None, burned), slice(burned, None))
    ]
    count = len(parts[1].after)
    references = np.arange(count) < count - others
    shares = np.ones(burned) if dose is None else np.asarray(dose, float)
    return estimate_effect(parts[0], shares, parts[1], references, np.ones(count, bool), **more)
