"""Packs: what seed, nurse crops, carriers and bags are bought in."""

import numpy as np
import pandas as pd

from pipeline.core.units import OZ_PER_LB
from pipeline.seed.settings import SeedSettings

PACK_TOLERANCE = 1e-10
"""A need above whole packs by no more than this share of it is those packs, not one more.

Sums of thousands of binary numbers are off by less than a hundredth of it, and 50,000 lb by 5
millionths of a pound.
"""


def order_pack_lb(bulk_lb: pd.Series, lot_pack_lb: pd.Series, settings: SeedSettings) -> pd.Series:
    """Bulk [lb] that an order is rounded up to: the lot's own pack, else pounds or ounces."""
    is_small = bulk_lb < settings.small_order_lb
    usual = np.where(is_small, settings.small_pack_oz / OZ_PER_LB, settings.pack_lb)
    return lot_pack_lb.where(lot_pack_lb > 0, usual)


def whole_packs_lb(bulk_lb: pd.Series, pack_lb: pd.Series) -> pd.Series:
    """Bulk [lb] of the whole packs that hold the need. A need that is unknown stays so."""
    packs = bulk_lb / pack_lb
    whole = np.ceil(packs - PACK_TOLERANCE * packs.clip(lower=1)).abs()  # none is 0, not −0
    return whole * pack_lb


def order_lb(bulk_lb: pd.Series, pack_lb: pd.Series, offered_lb: pd.Series) -> pd.Series:
    """Bulk [lb] to order: whole packs that hold the need, and no more than is on offer."""
    order = whole_packs_lb(bulk_lb, pack_lb)
    return order.where(~(order > offered_lb), offered_lb)
