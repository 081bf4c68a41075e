"""How much of a unit burned, from near-infrared before and after.

Near-infrared mixes by area: a pixel half burned has lost half of the difference. NDVI does not,
and dormant grass loses hardly any of it, so it is not used here.
"""

from dataclasses import dataclass

import numpy as np

LOWEST_CHAR = 0.04
HIGHEST_CHAR = 0.10
"""Near-infrared reflectance of char lies between these; whatever a unit's darkest pixels say."""

CHAR_PERCENTILE = 5.0
NOISE_DEVIATIONS = 3.0
DEVIATIONS_PER_MAD = 1.4826
LEAST_UNBURNED_PIXELS = 30
"""Unburned pixels needed to tell the weather and the noise."""


@dataclass(frozen=True, slots=True)
class Unburned:
    """What unburned pixels did: their middle change, and the drop that is more than noise."""

    change: float
    noise_drop: float


@dataclass(frozen=True, slots=True)
class BurnedShare:
    """Share of a unit [percent] that burned.

    ``burned_pct`` weighs each pixel by how much of it burned, ``mostly_pct`` counts pixels at
    least half burned. Low and high: every pixel without data unburned, or burned.
    """

    burned_pct: float
    mostly_pct: float
    low_pct: float
    high_pct: float
    valid_pct: float


def unburned_change(before: np.ndarray, after: np.ndarray) -> Unburned:
    """Change and noise of near-infrared reflectance on unburned pixels, by medians."""
    change = after - before
    middle = float(np.median(change))
    deviation = DEVIATIONS_PER_MAD * float(np.median(np.abs(change - middle)))
    return Unburned(middle, NOISE_DEVIATIONS * deviation)


def char_reflectance(after: np.ndarray) -> float:
    """Near-infrared reflectance of burned ground: the unit's darkest pixels, within reason."""
    return float(np.clip(np.percentile(after, CHAR_PERCENTILE), LOWEST_CHAR, HIGHEST_CHAR))


def burned_fractions(
    before: np.ndarray, after: np.ndarray, unburned: Unburned, char: float
) -> np.ndarray:
    """Burned fraction [0 to 1] of each pixel; drops within the noise are none."""
    expected = np.asarray(before) + unburned.change
    drop, full = expected - np.asarray(after), expected - char
    fraction = np.divide(drop, full, out=np.zeros_like(drop), where=full > 0)
    return np.where(drop < unburned.noise_drop, 0.0, np.clip(fraction, 0.0, 1.0))


def burned_share(fractions: np.ndarray, shares: np.ndarray, ground_pixels: float) -> BurnedShare:
    """Burned share of a unit from its usable pixels.

    ``shares`` is how much of each usable pixel lies in the unit, ``ground_pixels`` the size of the
    unit in pixels, usable or not.
    """
    usable = float(shares.sum())
    burned = float((shares * fractions).sum())
    mostly = float(shares[fractions >= 0.5].sum())
    unknown = max(ground_pixels - usable, 0.0)
    whole = max(ground_pixels, usable)
    return BurnedShare(
        *(100.0 * part for part in (
            burned / usable, mostly / usable, burned / whole, (burned + unknown) / whole,
            usable / whole,
        ))
    )  # fmt: skip
