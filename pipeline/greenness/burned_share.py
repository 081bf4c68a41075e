"""How much of a unit burned, from near-infrared or short-wave infrared before and after.

Near-infrared and the mid-infrared burn index (MIRBI) mix by area: a pixel half burned has lost
half of the difference. NDVI does not, and dormant grass loses hardly any of it, so it is not used
here. MIRBI rises where ground burns; it is taken with its sign turned, so that both fall.
"""

from dataclasses import dataclass

import numpy as np

from pipeline.pictures.vegetation_index import dnbr, rbr

CHAR_RANGE = {"near_infrared": (0.04, 0.10), "mirbi": (-2.10, -1.80)}
"""Char lies between these, whatever a unit's darkest pixels say.

MIRBI with its sign turned, from fresh char (2.02) and char of a week (1.83), reckoned from
reflectances from memory, to be checked.
"""


CHAR_PERCENTILE = 5.0
"""Pixels of a unit below this percentile are its darkest ones."""


NOISE_DEVIATIONS = 3.0
"""Drops of more standard deviations than this are more than noise."""


DEVIATIONS_PER_MAD = 1.4826
"""Standard deviations of a normal distribution by its median absolute deviation."""


MOST_ABOVE_ONE = 0.1
"""How much more than one a pixel burned clean may count for, by noise; no source."""


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


def unburned_change(changes: np.ndarray) -> Unburned:
    """Change and noise of unburned pixels, by medians."""
    middle = float(np.median(changes))
    deviation = DEVIATIONS_PER_MAD * float(np.median(np.abs(changes - middle)))
    return Unburned(middle, NOISE_DEVIATIONS * deviation)


def char_value(after: np.ndarray, unburned: float, read_from: str = "near_infrared") -> float:
    """Value of burned ground: the middle of the unit's dark pixels, within reason.

    Dark is nearer to the darkest pixels than to ``unburned`` ground. The darkest themselves are
    so by noise too, and would make burned pixels look partly burned.
    """
    darkest = float(np.percentile(after, CHAR_PERCENTILE))
    dark = after[after <= max((darkest + unburned) / 2.0, darkest)]
    return float(np.clip(np.median(dark), *CHAR_RANGE[read_from]))


def burned_fractions(
    before: np.ndarray, after: np.ndarray, unburned: Unburned, char: float
) -> np.ndarray:
    """Burned fraction of each pixel, 0 to 1 and a little above; drops within the noise are none.

    Cut at 1, pixels burned clean would count for less than one on average: noise lowers some of
    them and could raise none. NaN where even clean burning would be within the noise.
    """
    expected = np.asarray(before) + unburned.change
    drop, full = expected - np.asarray(after), expected - char
    fraction = np.divide(drop, full, out=np.zeros_like(drop), where=full > 0)
    noise = np.divide(unburned.noise_drop, full, out=np.zeros_like(drop), where=full > 0)
    above = np.minimum(noise, MOST_ABOVE_ONE)
    burned = np.where(drop < unburned.noise_drop, 0.0, np.clip(fraction, 0.0, 1.0 + above))
    return np.where((full <= 0) | (full < unburned.noise_drop), np.nan, burned)


def burned_share(fractions: np.ndarray, shares: np.ndarray, ground_pixels: float) -> BurnedShare:
    """Burned share of a unit from its usable pixels.

    ``shares`` is how much of each usable pixel lies in the unit, ``ground_pixels`` the size of the
    unit in pixels, usable or not. Pixels without a fraction count as not usable.
    """
    known = np.isfinite(fractions)
    fractions, shares = fractions[known], shares[known]
    usable = float(shares.sum())
    if usable == 0.0:
        return BurnedShare(np.nan, np.nan, 0.0, 100.0, 0.0)
    burned = min(float((shares * fractions).sum()), usable)
    mostly = float(shares[fractions >= 0.5].sum())
    unknown = max(ground_pixels - usable, 0.0)
    whole = max(ground_pixels, usable)
    return BurnedShare(
        burned_pct=100.0 * (burned / usable),
        mostly_pct=100.0 * (mostly / usable),
        low_pct=100.0 * (burned / whole),
        high_pct=100.0 * ((burned + unknown) / whole),
        valid_pct=100.0 * (usable / whole),
    )


@dataclass(frozen=True, slots=True)
class RatioLoss:
    """Mean loss of the burn ratio (no unit, times 1000) of a unit beyond that of unburned ground.

    ``rbr`` is relative to the ratio before. Neither is sorted into classes of severity: the
    published ones were made for forest.
    """

    dnbr: float
    rbr: float


def ratio_loss(
    shares: np.ndarray, before: np.ndarray, after: np.ndarray, offset: float
) -> RatioLoss:
    """Loss of the burn ratio of a unit, NaN where it has no pixels or nothing to hold against.

    ``before`` and ``after`` are the ratios of its usable pixels, ``shares`` how much of each lies
    in it, ``offset`` the median loss of unburned ground: season, light and haze.
    """
    if not shares.sum() > 0:
        return RatioLoss(np.nan, np.nan)
    excess = dnbr(before, after) - offset
    return RatioLoss(
        float(np.average(excess, weights=shares)),
        float(np.average(rbr(excess, before), weights=shares)),
    )
