"""The arithmetic of pure live seed (PLS): one line a formula.

Every function takes numbers, or numpy columns of them, and rounds nothing: a printed figure is
rounded once, by who prints it. What is unknown is NaN and makes every figure made of it unknown,
so nothing unknown is counted as zero. Percentages are of 100.

*Source* of the definitions: pure live seed is purity times viable seed, where viable counts
germinated, hard and dormant seed (Georgia Forages questions, University of Georgia; 7 CFR 201.21
for what a tag keeps apart). The factors are those of ``pipeline.core.units``.
"""

from collections.abc import Sequence
from typing import TypeVar

import numpy as np
import pandas as pd

from pipeline.core.units import G_PER_LB, SQFT_PER_AC

Quantity = TypeVar("Quantity", float, np.ndarray, pd.Series)


IN_PER_FT = 12.0


def pls_fraction(purity_pct: Quantity, viable_pct: Quantity) -> Quantity:
    """Pure live seed as a fraction of bulk."""
    return purity_pct * viable_pct / 10_000


def bulk_lb(pls_lb: Quantity, fraction: Quantity) -> Quantity:
    """Bulk [lb] that holds this much pure live seed. Also per acre, and for one pound."""
    return pls_lb / fraction


def pls_lb(bulk: Quantity, fraction: Quantity) -> Quantity:
    """Pure live seed [lb] in this much bulk. Also per acre."""
    return bulk * fraction


def pls_lb_ac(seeds_sqft: Quantity, seeds_per_lb: Quantity) -> Quantity:
    """Rate [lb/ac] of pure live seed that puts this many live seeds on a square foot."""
    return seeds_sqft * SQFT_PER_AC / seeds_per_lb


def seeds_sqft(rate_lb_ac: Quantity, seeds_per_lb: Quantity) -> Quantity:
    """Live seeds on a square foot at a rate [lb/ac] of pure live seed."""
    return rate_lb_ac * seeds_per_lb / SQFT_PER_AC


def share_of_full_rate_lb_ac(full_rate_lb_ac: Quantity, share_pct: Quantity) -> Quantity:
    """Rate [lb/ac] of a species at a share of the rate it is sown at alone."""
    return full_rate_lb_ac * share_pct / 100


def blended_pls_fraction(bulk: pd.Series, fractions: pd.Series) -> float:
    """Pure live seed as a fraction of several lots poured together: weighted by their bulk."""
    return float((bulk * fractions).sum() / bulk.sum())


def usd_per_pls_lb(usd_per_bulk_lb: Quantity, fraction: Quantity) -> Quantity:
    """Price [$/lb] of pure live seed from the price of bulk."""
    return usd_per_bulk_lb / fraction


def usd_per_thousand_seeds(usd_per_pls_lb: Quantity, seeds_per_lb: Quantity) -> Quantity:
    """Price [$] of a thousand live seeds."""
    return usd_per_pls_lb * 1000 / seeds_per_lb


def strip_ac(width_ft: Quantity, distance_ft: Quantity) -> Quantity:
    """Ground [acre] that a machine of this width covers over a distance."""
    return width_ft * distance_ft / SQFT_PER_AC


def drill_width_ft(rows: float, row_spacing_in: Quantity) -> Quantity:
    """Width [ft] that a number of drill rows sows."""
    return rows * row_spacing_in / IN_PER_FT


def catch_g(setting_lb_ac: Quantity, width_ft: Quantity, distance_ft: Quantity) -> Quantity:
    """Weight [g] that rows of this width should drop over a distance at a setting [lb/ac].

    Everything that falls is caught: the setting is seed as weighed plus carrier, not pure live
    seed.
    """
    return setting_lb_ac * strip_ac(width_ft, distance_ft) * G_PER_LB


def row_ft_sqft(row_spacing_in: Quantity) -> Quantity:
    """Row [ft] that holds one square foot of ground."""
    return IN_PER_FT / row_spacing_in


def seeds_row_ft(live_seeds_sqft: Quantity, row_spacing_in: Quantity) -> Quantity:
    """Live seeds in a foot of drill row."""
    return live_seeds_sqft * row_spacing_in / IN_PER_FT


def live_seeds_g(filled_seeds: Quantity, sample_g: Quantity, sound_fraction: Quantity) -> Quantity:
    """Live seeds in a gram of bulk, from the filled seeds of a sample and a cut test."""
    return filled_seeds / sample_g * sound_fraction


def covered_ac(bulk: Quantity, seeds_per_g: Quantity, target_seeds_sqft: Quantity) -> Quantity:
    """Ground [acre] that an amount of bulk [lb] covers at a number of live seeds [1/ft²]."""
    return bulk * G_PER_LB * seeds_per_g / target_seeds_sqft / SQFT_PER_AC


def known_quotient(values: pd.Series, divisors: pd.Series) -> pd.Series:
    """One column over another; unknown where there is nothing to divide by."""
    return values / divisors.where(divisors.ne(0))


def known_sums(frame: pd.DataFrame, keys: str | Sequence[str], columns: list[str]) -> pd.DataFrame:
    """Sums of columns over the rows of each key; a sum with an unknown part is unknown."""
    return frame.groupby(keys, dropna=False)[columns].sum(skipna=False)
