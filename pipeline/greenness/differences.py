"""Difference of differences: the change of a unit less the mean change of the reference units.

The cool-season index is judged by it. Changes of NDVI are judged in ``carry_over``, which gives
the same answer where all units started alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pipeline.core.student_t import t_multiplier


def change_against(changes: np.ndarray, reference_changes: np.ndarray) -> np.ndarray:
    """Change of each unit less the mean change of the reference units (difference in differences).

    *Source*: A. P. Christie et al., Journal of Applied Ecology (2019), doi 10.1111/1365-2664.13499
    (56, 2742-2754: from memory, to be checked): before-after-control-impact designs are the least
    misleading ones.
    """
    return np.asarray(changes) - np.mean(reference_changes)


def half_width(reference_changes: np.ndarray, confidence_pct: float, least: int) -> float:
    """Half width of the interval around one unit's change against the references.

    t(m − 1)·s·√(1 + 1/m) with the sample standard deviation s of m reference changes: a
    prediction interval for one more unit. NaN with fewer than ``least`` references.
    """
    m = len(reference_changes)
    if m < max(least, 2):
        return np.nan
    spread = float(np.std(reference_changes, ddof=1))
    return t_multiplier(m - 1, confidence_pct) * spread * float(np.sqrt(1.0 + 1.0 / m))


def verdict(against: float, half: float, floor: float, *, greater: str, less: str) -> str:
    """Code of what may be said of a change against the references; no more than they allow.

    ``half`` is the half width of the interval, NaN where there is none, ``floor`` the change that
    may be noise; ``greater`` and ``less`` are the codes of a change that stands out.
    """
    if np.isnan(half):
        return "no_interval"
    if abs(against) <= half:
        return "within"
    if abs(against) < floor:
        return "below_noise"
    return greater if against > 0 else less


@dataclass(frozen=True, slots=True)
class HistoryEffect:
    """Effect against the mean of earlier years, half width of its interval, and their reach."""

    effect: float
    half: float
    reach: float
    years: int


def effect_of_years(
    gaps_before: Sequence[float], gap_after: float, confidence_pct: float
) -> HistoryEffect:
    """Gap to the references after the burn against the gaps of Y earlier years.

    The half width is t(Y − 1)·s·√(1 + 1/Y) with the sample standard deviation s of the gaps.
    """
    gaps, count = np.asarray(gaps_before, dtype=float), len(gaps_before)
    spread = float(np.std(gaps, ddof=1))
    half = t_multiplier(count - 1, confidence_pct) * spread * float(np.sqrt(1.0 + 1.0 / count))
    return HistoryEffect(gap_after - float(gaps.mean()), half, float(np.ptp(gaps)), count)
