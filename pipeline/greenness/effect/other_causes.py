"""What else than the fire may have made a change, and so what may be said of it.

A change that stands out is the fire's only where nothing on record can have done the same: start,
size, place and the year itself are asked here; handling, sensors and pictures where they are read.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.greenness.effect.carry_over import Effect

SIZE_TIMES = 3.0
"""Units of between a third and three times the size are alike; judgment, no source."""


LEAST_OF_SIZE = 2
"""Unburned units of like size that are needed to tell a fire from an edge; judgment, no source."""


YEAR_SHARE = 0.3
"""Share of the year's change that other ground may respond more by; judgment, no source."""


PLACE_TIMES = 2.0
"""References lie apart from the burned ground where they are farther from it than so many times
what they are from each other, on average; judgment, no source."""


def plain_verdicts(
    effect: Effect, confidence_pct: float, noise_floor: np.ndarray, *, greater: str, less: str
) -> np.ndarray:
    """Code of what a change is by its figures alone: within, below the noise, greater or less.

    ``noise_floor`` is the NDVI that may be noise of the pictures; that of the pixels may be more.
    """
    inside = effect.p_value >= 1.0 - confidence_pct / 100.0
    noise = np.abs(effect.mean) < np.maximum(noise_floor, effect.noise)
    named = np.where(effect.mean > 0, greater, less)
    return np.where(inside, "within", np.where(noise, "below_noise", named))


@dataclass(frozen=True, slots=True)
class Places:
    """Size [m²] of units and a point [m] of each, x and y on the last axis of ``at``."""

    size: np.ndarray
    at: np.ndarray


def causes_beside_fire(
    effect: Effect, burned: Places, unburned: Places, confidence_pct: float, similar: float
) -> dict[str, np.ndarray]:
    """Whether start, size, year or place may have made a change as well as the fire, by code."""
    return {
        "start_differs": start_differs(effect, confidence_pct, similar),
        "size_differs": size_differs(effect, burned.size, unburned.size),
        "year_differs": year_differs(effect, confidence_pct),
        "place_differs": place_differs(effect, burned.at, unburned.at),
    }


def start_differs(effect: Effect, confidence_pct: float, similar: float) -> np.ndarray:
    """Whether a start off the usual place could return to it, and that look like the change.

    Not where the references were chosen by their start, nor where the change stands out whatever
    carries over.
    """
    holds_anyway = effect.hull_p < 1.0 - confidence_pct / 100.0
    return ~effect.matched & (np.abs(effect.start_gap) > similar) & ~holds_anyway


def size_differs(effect: Effect, burned_size: np.ndarray, size: np.ndarray) -> np.ndarray:
    """Whether too few of the unburned units are about as large as any of the burned ones."""
    burned_size, size = burned_size[..., :, None], size[..., None, :]
    like = (size * SIZE_TIMES >= burned_size) & (size <= burned_size * SIZE_TIMES)
    count = (like & effect.alike[..., None, :]).sum(axis=-1)
    return np.asarray((count < LEAST_OF_SIZE).any(axis=-1))


def year_differs(effect: Effect, confidence_pct: float) -> np.ndarray:
    """Whether ground that responds more to the year might have changed as much as the burned did.

    That is where the effect may be, within its interval, no more than a share of what the
    references changed by.
    """
    share = YEAR_SHARE * np.abs(effect.drift)
    rest = (1.0 - confidence_pct / 100.0) / 2.0
    above = effect.mean > 0
    less = effect.distribution.below(np.where(above, share, -share))
    return np.where(above, less, 1.0 - less) > rest


def place_differs(effect: Effect, burned_at: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Whether the references lie together, and apart from the burned ground: a shower may have.

    ``burned_at`` and ``at`` have a unit's x and y on their last axis, in one unit of length.
    """
    chosen = effect.references.astype(float)
    count = chosen.sum(axis=-1)
    to_burned = _distances(burned_at, at).mean(axis=-2)
    among = (chosen * (chosen[..., None, :] @ _distances(at, at))[..., 0, :]).sum(axis=-1)
    apart = (chosen * to_burned).sum(axis=-1) / count
    return np.asarray(apart * count * (count - 1.0) > PLACE_TIMES * among)


def _distances(of_some: np.ndarray, to: np.ndarray) -> np.ndarray:
    """Distance of each of some points from each of others."""
    return np.asarray(np.hypot(*np.moveaxis(of_some[..., :, None, :] - to[..., None, :, :], -1, 0)))
