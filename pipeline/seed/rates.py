"""Rates on the ground: a mix's own rates, brought to the method used, times named factors.

A rate carries the method it is written for. The method factor is that of the method used over
that of the method written for: a rate already written for broadcasting and sown by broadcasting
gets the factor 1, so it cannot be raised twice.
"""

from decimal import Decimal
from typing import Any

import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.decimals import ONE, ZERO, column, decimal_of, decimals, floats, quotient
from pipeline.seed.order_layers import SEED_RATES
from pipeline.seed.quantities import OZ_PER_LB, seeds_sqft
from pipeline.seed.settings import SeedSettings

SITE_KINDS = ("season", "slope", "sod")


DRILL, ANY = "drill", "any"


FactorTable = dict[tuple[str, str], Decimal]
"""Factors of a region by kind and name."""


def method_factor(written_for: str | None, used: str, factors: dict[str, Decimal]) -> Decimal:
    """What a rate written for one method is multiplied by when sown by another.

    ``factors`` are those of each method over drilling, 1 where untold. A rate that does not say
    what it is written for is taken as drilled; one written for any method stays as it is.
    """
    start = written_for or DRILL
    if start in (ANY, used):
        return ONE
    return quotient(factors.get(used, ONE), factors.get(start, ONE))


def region_factors(seed_factors: pd.DataFrame, settings: SeedSettings) -> FactorTable:
    """Factors of the region by kind and name."""
    rows = seed_factors[seed_factors["region"].eq(settings.region or "")]
    cells = zip(rows["kind"], rows["name"], decimals(rows["factor"]), strict=True)
    return {(kind, name): factor for kind, name, factor in cells}


def site_factor(entry: dict[str, Any], kind: str, table: FactorTable) -> Decimal:
    """Factor of one kind of an area: told for the area, else by its name in the table, else 1."""
    told = decimal_of(entry[f"{kind}_factor"])
    return table.get((kind, entry[kind]), ONE) if told.is_nan() else told


def methods_of(entry: dict[str, Any], table: FactorTable) -> dict[str, Decimal]:
    """Factor of each method on an area: of the table, that of its own method told for the area."""
    told = decimal_of(entry["method_factor"])
    factors = {name: factor for (kind, name), factor in table.items() if kind == "method"}
    return factors if told.is_nan() else factors | {entry["method"]: told}


def net_ac_by_area(seedings: pd.DataFrame, units: pd.DataFrame) -> dict[str, Decimal]:
    """Acres to be sown of each area: what is left out of seeding is already taken off."""
    acres = dict(zip(units["unit_id"], decimals(units["seedable_ac"]), strict=True))
    result: dict[str, Decimal] = {}
    for area, unit_id in zip(seedings["area"], seedings["unit_id"], strict=True):
        result[area] = result.get(area, ZERO) + acres[unit_id]
    return result


def set_seed_rates(
    seedings: pd.DataFrame,
    units: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seed_factors: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``seed_rates``: rate and pounds of each species on each area."""
    table = region_factors(seed_factors, settings)
    acres = net_ac_by_area(seedings, units)
    entries = seedings.drop_duplicates("area").to_dict("records")
    sheets = dict(iter(mix_sheet[mix_sheet["role"].eq("seed")].groupby("mix")))
    areas = [_area_rates(e, sheets[e["mix"]], acres[e["area"]], table) for e in entries
             if e["mix"] in sheets]  # fmt: skip
    return pd.concat(areas, ignore_index=True) if areas else empty(SEED_RATES)


def _area_rates(
    entry: dict[str, Any], sheet: pd.DataFrame, net_ac: Decimal, table: FactorTable
) -> pd.DataFrame:
    """Rows of one area."""
    base = decimals(sheet["pls_lb_ac"])
    by_method = methods_of(entry, table)
    method = {w: method_factor(w, entry["method"], by_method) for w in {*sheet["rate_method"]}}
    of_method = column([method[w] for w in sheet["rate_method"]])
    site = {kind: site_factor(entry, kind, table) for kind in SITE_KINDS}
    rate = base * of_method * site["season"] * site["slope"] * site["sod"]
    return pd.DataFrame(
        {
            "area": entry["area"],
            "mix": entry["mix"],
            "species": sheet["species"].array,
            "common_name": sheet["common_name"].array,
            "pls_lb_ac": floats(rate),
            "pls_oz_ac": floats(rate * OZ_PER_LB),
            "seeds_sqft": floats(seeds_sqft(rate, decimals(sheet["seeds_per_lb"]))),
            "pls_lb": floats(rate * net_ac),
            "pls_oz": floats(rate * net_ac * OZ_PER_LB),
            "net_ac": float(net_ac),
            "base_pls_lb_ac": floats(base),
            "method_factor": floats(of_method),
            **{f"{kind}_factor": float(factor) for kind, factor in site.items()},
            "bag": entry["bag"],
        }
    )


def set_seed_companions(
    seedings: pd.DataFrame, units: pd.DataFrame, mix_sheet: pd.DataFrame
) -> pd.DataFrame:
    """Table ``seed_companions``: nurse crops and carriers of each area, by weight.

    No factor is applied: they fill the drill or hold the ground, they are not the stand.
    """
    acres = net_ac_by_area(seedings, units)
    lines = mix_sheet[mix_sheet["role"].isin(["nurse", "carrier"])]
    rows = seedings.drop_duplicates("area")[["area", "mix"]].merge(lines, on="mix")
    rate = decimals(rows["bulk_lb_ac"])
    return rows[["area", "mix", "species", "role", "basis", "bulk_lb_ac", "box"]].assign(
        bulk_lb=floats(rate * column([acres[area] for area in rows["area"]]))
    )
