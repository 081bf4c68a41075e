"""What a lot's tag says, and the one figure of live seed that it comes to."""

import math
from dataclasses import astuple, dataclass
from typing import Any

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.layer import empty
from pipeline.core.species_names import resolved_column, with_variety
from pipeline.seed.order_layers import LOT_QUALITY
from pipeline.seed.quantities import known_quotient, pls_fraction, pls_lb, usd_per_pls_lb
from pipeline.seed.settings import SeedSettings
from pipeline.seed.test_age import age_rule, last_good_days, months_of_lots
from pipeline.seed.uncertainty import test_range_pct

SUM_TOLERANCE_PCT = 0.5
"""A printed total may differ by this from its printed parts, which are rounded one by one."""


PARTS_TOLERANCE_PCT = 0.1
"""Pure, other crop, inert and weed seed may miss 100 by this, and a stated PLS the computed."""


HAIR_PCT = 1e-9
"""What sums of binary numbers may be off by."""


@dataclass(frozen=True, slots=True)
class Viability:
    """The viable part of pure seed [%] as a tag gives it; what it does not give is NaN."""

    germination: float
    hard: float
    dormant: float
    total: float
    tetrazolium: float

    @property
    def way(self) -> str:
        """How the live seed is known: a code of the column ``viable_from``."""
        if _given(self.tetrazolium):
            return "tetrazolium"
        if _given(self.total) and not (_given(self.germination) and self.parts_given):
            return "total_viable"
        return "germination_hard_dormant" if _given(self.germination) else "unknown"

    @property
    def parts_given(self) -> bool:
        """Whether the tag tells hard or dormant seed."""
        return _given(self.hard) or _given(self.dormant)

    @property
    def sum_of_parts(self) -> float:
        """Germination, hard and dormant seed together [%]; hard and dormant may be untold."""
        return self.germination + sum(part for part in (self.hard, self.dormant) if _given(part))

    @property
    def viable_pct(self) -> float:
        """Live seed in the pure seed [%], by the one way that the tag gives; NaN for none."""
        return {
            "tetrazolium": self.tetrazolium,
            "total_viable": self.total,
            "germination_hard_dormant": self.sum_of_parts,
            "unknown": math.nan,
        }[self.way]

    def contradiction(self) -> tuple[str, str, str] | None:
        """What speaks against itself, as (found, expected, do); None where nothing does.

        *Source*: 7 CFR 201.21 keeps hard and dormant seed apart from germination; the North
        Dakota State Seed Department says a tetrazolium test does not replace germination.
        """
        if _given(self.tetrazolium) and any(map(_given, astuple(self)[:4])):
            return (
                f"tetrazolium {self.tetrazolium:g} % beside a germination test",
                "one way to the live seed",
                "leave out the tetrazolium figure, or the others if the lot has no germination",
            )
        gap = self.total - self.sum_of_parts
        untold = not self.parts_given and gap > 0
        if abs(gap) > SUM_TOLERANCE_PCT + HAIR_PCT and not untold:
            return (
                f"total viable {self.total:g} % but germination, hard and dormant make "
                f"{self.sum_of_parts:g} %",
                "the total to be their sum",
                "copy all four from the tag again: dormant seed must count once",
            )
        if not _given(self.germination) and not _given(self.total) and self.parts_given:
            return (
                "hard or dormant seed without germination",
                "germination, or a total viable",
                "copy the germination line of the tag",
            )
        if self.viable_pct > 100 + HAIR_PCT:
            return (
                f"{self.viable_pct:g} % live seed",
                "at most 100 %",
                "copy the tag again: a total viable already counts hard and dormant seed",
            )
        return None


def _given(value: float) -> bool:
    """Whether a tag gives a figure."""
    return not math.isnan(value)


def viability_of(row: Any) -> Viability:
    """Viability of one row of a table that has the five columns of a tag."""
    return Viability(
        germination=row.germination_pct,
        hard=row.hard_pct,
        dormant=row.dormant_pct,
        total=row.total_viable_pct,
        tetrazolium=row.tetrazolium_pct,
    )


def viable_pct(tags: pd.DataFrame) -> pd.Series:
    """Live seed in the pure seed [%] of each row of a table with the five columns of a tag."""
    figures = [viability_of(row).viable_pct for row in tags.itertuples(index=False)]
    return pd.Series(figures, index=tags.index, dtype="float64")


def tag_faults(rows: pd.DataFrame, table: str, name: str) -> list[Fault]:
    """Tags that contradict themselves: ``rows`` has purity and the five columns of viability."""
    faults = []
    for row in rows.itertuples(index=False):
        where = f"{table}, {name} {getattr(row, name)}, {row.species}"
        contradiction = viability_of(row).contradiction()
        if contradiction:
            faults.append(Fault(where, *contradiction))
        if 0 < row.purity_pct <= 1:
            meant = f"write {row.purity_pct * 100:g} if that is what is meant"
            found = f"{row.purity_pct:g} %"
            faults.append(Fault(f"{where}, purity_pct", found, "a percentage of 100", meant))
    return faults


def lot_faults(seed_lots: pd.DataFrame) -> list[Fault]:
    """Everything about the tags and prices of lots that cannot be true at once."""
    parts = seed_lots[["purity_pct", "other_crop_pct", "inert_pct", "weed_pct"]].sum(
        axis=1, skipna=False
    )
    computed = 100 * pls_fraction(seed_lots["purity_pct"], viable_pct(seed_lots))
    stated = seed_lots["pls_pct"]
    most = PARTS_TOLERANCE_PCT + HAIR_PCT
    prices = seed_lots[["price_usd_per_pls_lb", "price_usd_per_bulk_lb"]]
    faults = tag_faults(seed_lots, "seed_lots", "lot")
    for number, lot in enumerate(seed_lots["lot"]):
        where = f"seed_lots, lot {lot}"
        if abs(parts.iloc[number] - 100) > most:
            found = f"pure, other crop, inert and weed seed add to {parts.iloc[number]:g} %"
            faults.append(Fault(where, found, "100 %", "copy the four lines of the tag again"))
        if abs(stated.iloc[number] - computed.iloc[number]) > most:
            found = f"{stated.iloc[number]:g} % stated, {computed.iloc[number]:g} computed"
            do = "copy the tag again, or leave pls_pct out"
            faults.append(Fault(f"{where}, pls_pct", found, "both within 0.1", do))
        if prices.iloc[number].notna().all():
            found = "a price by pure live seed and another by bulk"
            faults.append(Fault(where, found, "one price", "keep the one that the dealer quotes"))
    return faults


AS_TOLD = (
    "lot",
    "variety",
    "vendor",
    "purity_pct",
    "other_crop_pct",
    "inert_pct",
    "weed_pct",
    "noxious",
    "germination_pct",
    "hard_pct",
    "dormant_pct",
    "total_viable_pct",
    "tetrazolium_pct",
    "offered_bulk_lb",
    "pack_lb",
    "tested",
    "sealed",
    "origin",
    "origin_mi",
)
"""Columns of a lot that stand in ``lot_quality`` as the table of lots has them."""


def rate_lots(
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    own_harvest: pd.DataFrame,
    test_rules: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``lot_quality``: pure live seed of each lot, what is held, what can be bought.

    A lot with a price is on offer without limit, unless its row says what is held or offered of
    it. Own harvest counts as a lot only where the settings say at which estimate.
    """
    rule = age_rule(test_rules, property["state"].iloc[0], settings)
    viable = viable_pct(seed_lots)
    fraction = pls_fraction(seed_lots["purity_pct"], viable)
    on_hand = seed_lots["on_hand_bulk_lb"].fillna(0.0)
    live = fraction.where(fraction.ne(0))
    by_bulk = usd_per_pls_lb(seed_lots["price_usd_per_bulk_lb"], live)
    by_pls = seed_lots["price_usd_per_pls_lb"]
    limit = seed_lots["offered_bulk_lb"]
    priced = seed_lots["price_usd_per_bulk_lb"].notna() | by_pls.notna()
    only_offered = limit.isna() & priced & seed_lots["on_hand_bulk_lb"].isna()
    lots = seed_lots[list(AS_TOLD)]
    lots = lots.assign(
        species=resolved_column(seed_lots["species"], species),
        variety=with_variety(seed_lots),
        viable_pct=viable,
        viable_from=[viability_of(row).way for row in seed_lots.itertuples(index=False)],
        pls_pct=fraction * 100,
        on_hand_bulk_lb=on_hand,
        on_hand_pls_lb=pls_lb(on_hand, fraction),
        on_offer=limit.gt(0) | only_offered,
        price_usd_per_pls_lb=by_pls.fillna(by_bulk),
        price_usd_per_bulk_lb=seed_lots["price_usd_per_bulk_lb"].fillna(by_pls * live),
        last_good=last_good_days(seed_lots["tested"], months_of_lots(seed_lots, species, rule)),
    )
    low, high = test_range_pct(lots, settings)
    lots = lots.assign(low_pls_pct=low, high_pls_pct=high)
    if settings.own_harvest_counts_as == "nothing" or own_harvest.empty:
        return lots
    return pd.concat([lots, _harvest_lots(own_harvest, settings)], ignore_index=True)


def _harvest_lots(own_harvest: pd.DataFrame, settings: SeedSettings) -> pd.DataFrame:
    """Own harvest as lots, at the estimate of the settings. Nothing of it can be bought."""
    pls = own_harvest[f"{settings.own_harvest_counts_as}_pls_lb"]
    names = own_harvest["harvest"] + ", " + own_harvest["species"]
    rows = empty(LOT_QUALITY).reindex(range(len(own_harvest)))
    return rows.assign(
        lot=("own harvest: " + names).array,
        species=own_harvest["species"].array,
        viable_from="own_count",
        pls_pct=known_quotient(pls * 100, own_harvest["bulk_lb"]).array,
        low_pls_pct=known_quotient(own_harvest["low_pls_lb"] * 100, own_harvest["bulk_lb"]).array,
        high_pls_pct=known_quotient(
            own_harvest["likely_pls_lb"]
            * known_quotient(own_harvest["high_seeds_g"], own_harvest["likely_seeds_g"])
            * 100,
            own_harvest["bulk_lb"],
        ).array,
        on_hand_bulk_lb=own_harvest["bulk_lb"].array,
        on_hand_pls_lb=pls.array,
        on_offer=False,
    )
