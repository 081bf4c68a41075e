"""Areas sown from a pre-mixed bag: nothing can be taken out, so the scarcest species decides."""

from decimal import Decimal

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.species_names import resolved_column
from pipeline.seed.decimals import (
    HUNDRED,
    UNKNOWN,
    ZERO,
    column,
    decimals,
    exceeds,
    floats,
    quotients,
)
from pipeline.seed.lot_quality import viability_of
from pipeline.seed.order_layers import BAG_RATES
from pipeline.seed.quantities import pls_fraction


def set_bag_rates(
    seed_rates: pd.DataFrame, seed_bags: pd.DataFrame, species: pd.DataFrame
) -> pd.DataFrame:
    """Table ``bag_rates``: bulk of the bag that gives every species at least its rate."""
    bags = seed_bags.assign(species=resolved_column(seed_bags["species"], species))
    wanted = seed_rates[seed_rates["bag"].notna()]
    if wanted.empty:
        return empty(BAG_RATES)
    viable = decimals([viability_of(row).viable_pct for row in bags.itertuples(index=False)])
    shares = pls_fraction(decimals(bags["purity_pct"]), viable)
    share_of = dict(zip(zip(bags["bag"], bags["species"], strict=True), shares, strict=True))
    fraction = column(
        [share_of.get(key, ZERO) for key in zip(wanted["bag"], wanted["species"], strict=True)]
    )
    needs = quotients(decimals(wanted["pls_lb_ac"]), fraction)
    bulk = _bulk_by_row(wanted["area"], needs, fraction)
    return wanted[["area", "bag", "species"]].assign(
        wanted_pls_lb_ac=wanted["pls_lb_ac"],
        pls_pct=floats(fraction * HUNDRED),
        needs_bulk_lb_ac=floats(needs),
        sown_pls_lb_ac=floats(bulk * fraction),
        limiting=[need == most for need, most in zip(needs, bulk, strict=True)],
        bulk_lb_ac=floats(bulk),
        bulk_lb=floats(bulk * decimals(wanted["net_ac"])),
    )


def _bulk_by_row(areas: pd.Series, needs: np.ndarray, fraction: np.ndarray) -> np.ndarray:
    """Bulk [lb/ac] of the bag on each row's area: the most that any of its species needs.

    A species that is not in the bag does not count, one of unknown quality makes it unknown.
    """
    most: dict[str, Decimal] = {}
    for area, need, share in zip(areas, needs, fraction, strict=True):
        if share != 0:
            so_far = most.setdefault(area, ZERO)
            if need.is_nan() or exceeds(need, so_far):
                most[area] = need
    return column([most.get(area, UNKNOWN) for area in areas])
