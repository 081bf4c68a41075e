"""What a lot's tag says, and the one figure of live seed that it comes to."""

import calendar
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.layer import empty
from pipeline.core.species_names import resolved_column
from pipeline.seed.decimals import (
    HUNDRED,
    ONE,
    UNKNOWN,
    ZERO,
    column,
    decimal_of,
    decimals,
    exceeds,
    floats,
    known,
    quotients,
    total,
)
from pipeline.seed.order_layers import LOT_QUALITY
from pipeline.seed.quantities import pls_fraction
from pipeline.seed.settings import SeedSettings

SUM_TOLERANCE_PCT = Decimal("0.5")
"""A printed total may differ by this from its printed parts, which are rounded one by one."""


PARTS_TOLERANCE_PCT = Decimal("0.1")
"""Pure, other crop, inert and weed seed may miss 100 by this, and a stated PLS the computed."""


@dataclass(frozen=True, slots=True)
class Viability:
    """The viable part of pure seed [%] as a tag gives it; what it does not give is NaN."""

    germination: Decimal
    hard: Decimal
    dormant: Decimal
    total: Decimal
    tetrazolium: Decimal

    @property
    def way(self) -> str:
        """How the live seed is known."""
        if not self.tetrazolium.is_nan():
            return "tetrazolium"
        if not self.total.is_nan() and (self.germination.is_nan() or self._parts_untold):
            return "total viable"
        return "unknown" if self.germination.is_nan() else "germination, hard and dormant"

    @property
    def _parts_untold(self) -> bool:
        return self.hard.is_nan() and self.dormant.is_nan()

    @property
    def sum_of_parts(self) -> Decimal:
        """Germination, hard and dormant seed together [%]; hard and dormant may be untold."""
        return self.germination + sum(
            (p for p in (self.hard, self.dormant) if not p.is_nan()), ZERO
        )

    @property
    def viable_pct(self) -> Decimal:
        """Live seed in the pure seed [%], by the one way that the tag gives; NaN for none."""
        return {
            "tetrazolium": self.tetrazolium,
            "total viable": self.total,
            "germination, hard and dormant": self.sum_of_parts,
            "unknown": UNKNOWN,
        }[self.way]

    def contradiction(self) -> tuple[str, str, str] | None:
        """What speaks against itself, as (found, expected, do); None where nothing does.

        *Source*: 7 CFR 201.21 keeps hard and dormant seed apart from germination; the North
        Dakota State Seed Department says a tetrazolium test does not replace germination.
        """
        tested = [self.germination, self.hard, self.dormant, self.total]
        if not self.tetrazolium.is_nan() and not all(part.is_nan() for part in tested):
            return (
                f"tetrazolium {self.tetrazolium} % beside a germination test",
                "one way to the live seed",
                "leave out the tetrazolium figure, or the others if the lot has no germination",
            )
        if not self.total.is_nan() and not self.germination.is_nan():
            gap = self.total - self.sum_of_parts
            if abs(gap) > SUM_TOLERANCE_PCT and not (self._parts_untold and gap > 0):
                return (
                    f"total viable {self.total} % but germination, hard and dormant make "
                    f"{self.sum_of_parts} %",
                    "the total to be their sum",
                    "copy all four from the tag again: dormant seed must count once",
                )
        if self.germination.is_nan() and self.total.is_nan() and not self._parts_untold:
            return (
                "hard or dormant seed without germination",
                "germination, or a total viable",
                "copy the germination line of the tag",
            )
        if exceeds(self.viable_pct, HUNDRED):
            return (
                f"{self.viable_pct} % live seed",
                "at most 100 %",
                "copy the tag again: a total viable already counts hard and dormant seed",
            )
        return None


def viability_of(row: Any) -> Viability:
    """Viability of one row of a table that has the five columns of a tag."""
    return Viability(
        germination=decimal_of(row.germination_pct),
        hard=decimal_of(row.hard_pct),
        dormant=decimal_of(row.dormant_pct),
        total=decimal_of(row.total_viable_pct),
        tetrazolium=decimal_of(row.tetrazolium_pct),
    )


def last_good_day(tested: date, months: int) -> date:
    """Last day on which a test counts: full months, from the end of the month of the test."""
    month = tested.month - 1 + months
    year, month = tested.year + month // 12, month % 12 + 1
    return date(year, month, calendar.monthrange(year, month)[1])


def tag_faults(rows: pd.DataFrame, table: str, name: str) -> list[Fault]:
    """Tags that contradict themselves: ``rows`` has purity and the five columns of viability."""
    faults = []
    for row in rows.itertuples(index=False):
        where = f"{table}, {name} {getattr(row, name)}, {row.species}"
        contradiction = viability_of(row).contradiction()
        if contradiction:
            faults.append(Fault(where, *contradiction))
        purity = decimal_of(row.purity_pct)
        if exceeds(purity, ZERO) and not exceeds(purity, ONE):
            faults.append(
                Fault(
                    f"{where}, purity_pct",
                    f"{row.purity_pct} %",
                    "a percentage of 100",
                    f"write {(purity * HUNDRED).normalize():f} if that is what is meant",
                )
            )
    return faults


def lot_faults(seed_lots: pd.DataFrame) -> list[Fault]:
    """Everything about the tags and prices of lots that cannot be true at once."""
    faults = tag_faults(seed_lots, "seed_lots", "lot")
    for row in seed_lots.itertuples(index=False):
        where = f"seed_lots, lot {row.lot}"
        parts = [decimal_of(row.purity_pct), decimal_of(row.other_crop_pct),
                 decimal_of(row.inert_pct), decimal_of(row.weed_pct)]  # fmt: skip
        if exceeds(abs(total(parts) - HUNDRED), PARTS_TOLERANCE_PCT):
            faults.append(
                Fault(where, f"pure, other crop, inert and weed seed add to {total(parts)} %",
                      "100 %", "copy the four lines of the tag again")
            )  # fmt: skip
        stated = decimal_of(row.pls_pct)
        computed = pls_fraction(parts[0], viability_of(row).viable_pct) * HUNDRED
        if exceeds(abs(stated - computed), PARTS_TOLERANCE_PCT):
            faults.append(
                Fault(f"{where}, pls_pct", f"{stated} % stated, {computed.normalize():f} computed",
                      "both within 0.1", "copy the tag again, or leave pls_pct out")
            )  # fmt: skip
        prices = decimals([row.price_usd_per_pls_lb, row.price_usd_per_lb])
        if known(prices).all():
            faults.append(
                Fault(where, "a price by pure live seed and another by bulk",
                      "one price", "keep the one that the dealer quotes")
            )  # fmt: skip
    return faults


def rate_lots(
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    own_harvest: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``lot_quality``: pure live seed of each lot, what is held, what can be bought.

    Own harvest counts as a lot only where the settings say at which estimate.
    """
    tags = [viability_of(row) for row in seed_lots.itertuples(index=False)]
    viable = column([tag.viable_pct for tag in tags])
    fraction = pls_fraction(decimals(seed_lots["purity_pct"]), viable)
    on_hand = decimals(seed_lots["on_hand_bulk_lb"].fillna(0.0))
    by_bulk = decimals(seed_lots["price_usd_per_lb"])
    price = np.where(
        known(by_bulk), quotients(by_bulk, fraction), decimals(seed_lots["price_usd_per_pls_lb"])
    )
    limit = seed_lots["offered_bulk_lb"]
    priced = seed_lots[["price_usd_per_lb", "price_usd_per_pls_lb"]].notna().any(axis=1)
    only_offered = limit.isna() & priced & seed_lots["on_hand_bulk_lb"].fillna(0.0).eq(0)
    lots = seed_lots[["lot", "purity_pct", "offered_bulk_lb", "pack_lb", "tested", "origin"]]
    lots = lots.assign(
        species=resolved_column(seed_lots["species"], species),
        viable_pct=floats(viable),
        viable_from=[tag.way for tag in tags],
        pls_pct=floats(fraction * HUNDRED),
        on_hand_bulk_lb=floats(on_hand),
        on_hand_pls_lb=floats(on_hand * fraction),
        on_offer=limit.gt(0) | only_offered,
        price_usd_per_pls_lb=floats(price),
    )
    if settings.own_harvest_counts_as == "nothing" or own_harvest.empty:
        return lots
    return pd.concat([lots, _harvest_lots(own_harvest, settings)], ignore_index=True)


def _harvest_lots(own_harvest: pd.DataFrame, settings: SeedSettings) -> pd.DataFrame:
    """Own harvest as lots, at the estimate of the settings. Nothing of it can be bought."""
    bulk = decimals(own_harvest["bulk_lb"])
    pls = decimals(own_harvest[f"{settings.own_harvest_counts_as}_pls_lb"])
    rows = empty(LOT_QUALITY).reindex(range(len(own_harvest)))
    names = own_harvest["harvest"] + ", " + own_harvest["species"]
    return rows.assign(
        lot=("own harvest: " + names).array,
        species=own_harvest["species"].array,
        viable_from="own count",
        pls_pct=floats(quotients(pls * HUNDRED, bulk)),
        on_hand_bulk_lb=own_harvest["bulk_lb"].array,
        on_hand_pls_lb=floats(pls),
        on_offer=False,
    )
