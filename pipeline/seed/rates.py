"""Rates on the ground: a mix's own rates, brought to the method used, times named factors.

A rate carries the method it is written for. The method factor is that of the method used over
that of the method written for: a rate already written for broadcasting and sown by broadcasting
gets the factor 1, so it cannot be raised twice. Nothing can be taken out of a pre-mixed bag, so its
scarcest species decides how much of it is sown.
"""

from typing import Any

import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.places import place_key
from pipeline.core.species_names import resolved_column
from pipeline.core.units import OZ_PER_LB
from pipeline.seed.lot_quality import viable_pct
from pipeline.seed.order_layers import BAG_RATES, SEED_COMPANIONS, SEED_RATES
from pipeline.seed.quantities import known_quotient, pls_fraction, pls_lb, seeds_sqft

SITE_KINDS = ("season", "slope", "sod")


DRILL, ANY = "drill", "any"


FactorTable = dict[tuple[str, str], float]
"""Factors of a region by kind and name."""


def method_factor(written_for: str | None, used: str, factors: dict[str, float]) -> float:
    """What a rate written for one method is multiplied by when sown by another.

    ``factors`` are those of each method over drilling, 1 where untold. A rate that does not say
    what it is written for is taken as drilled; one written for any method stays as it is.
    """
    start = written_for or DRILL
    if start in (ANY, used):
        return 1.0
    divisor = factors.get(start, 1.0)
    return factors.get(used, 1.0) / divisor if divisor else float("nan")


def factor_region(seed_factors: pd.DataFrame, property: pd.DataFrame) -> str | None:
    """Region whose factors are used, as the table of factors spells it; None where it has none.

    That is the region of the property, or its state where the table goes by states.
    """
    regions = {place_key(region): region for region in seed_factors["region"]}
    place = property.iloc[0]
    names = [place_key(name) for name in (place["region"], place["state"]) if pd.notna(name)]
    return next((regions[name] for name in names if name in regions), None)


def region_factors(seed_factors: pd.DataFrame, property: pd.DataFrame) -> FactorTable:
    """Factors of the property's region by kind and name; none where its region has none."""
    rows = seed_factors[seed_factors["region"].eq(factor_region(seed_factors, property))]
    cells = zip(rows["kind"], rows["name"], rows["factor"], strict=True)
    return {(kind, name): factor for kind, name, factor in cells}


def site_factor(entry: dict[Any, Any], kind: str, table: FactorTable) -> float:
    """Factor of one kind of an area: told for the area, else by its name in the table, else 1."""
    of_area = entry[f"{kind}_factor"]
    return table.get((kind, entry[kind]), 1.0) if pd.isna(of_area) else of_area


def method_factors(entry: dict[Any, Any], table: FactorTable) -> dict[str, float]:
    """Factor of each method on an area: of the table, that of its own method told for the area."""
    factors = {name: factor for (kind, name), factor in table.items() if kind == "method"}
    of_area = entry["method_factor"]
    return factors if pd.isna(of_area) else factors | {entry["method"]: of_area}


def net_ac_by_area(seedings: pd.DataFrame, units: pd.DataFrame) -> pd.Series:
    """Acres to be sown of each area: what is left out of seeding is already taken off."""
    acres = seedings["unit_id"].map(units.set_index("unit_id")["seedable_ac"])
    return acres.groupby(seedings["area"]).sum()


def set_seed_rates(
    seedings: pd.DataFrame,
    units: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seed_factors: pd.DataFrame,
    property: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``seed_rates``: rate and pounds of each species on each area."""
    lines = mix_sheet[mix_sheet["role"].eq("seed")]
    lines = lines[["mix", "species", "common_name", "pls_lb_ac", "seeds_per_lb", "rate_method"]]
    rows = _areas_with_factors(seedings, region_factors(seed_factors, property))
    rows = rows.merge(lines.rename(columns={"pls_lb_ac": "mix_pls_lb_ac"}), on="mix")
    if rows.empty:
        return empty(SEED_RATES)
    methods = zip(rows["rate_method"], rows["method"], rows["method_factors"], strict=True)
    rows["method_factor"] = [method_factor(*each) for each in methods]
    rate = rows["mix_pls_lb_ac"] * rows["method_factor"]
    for kind in SITE_KINDS:
        rate = rate * rows[f"{kind}_factor"]
    net_ac = rows["area"].map(net_ac_by_area(seedings, units))
    rows = rows.assign(
        pls_lb_ac=rate,
        pls_oz_ac=rate * OZ_PER_LB,
        seeds_sqft=seeds_sqft(rate, rows["seeds_per_lb"]),
        pls_lb=rate * net_ac,
        pls_oz=rate * net_ac * OZ_PER_LB,
        net_ac=net_ac,
    )
    return rows[SEED_RATES.column_names]


def _areas_with_factors(seedings: pd.DataFrame, table: FactorTable) -> pd.DataFrame:
    """One row an area: its entry, with the factors of its site and of each method on it."""
    areas = seedings.drop_duplicates("area")
    entries = areas.to_dict("records")
    factors = {
        f"{kind}_factor": [site_factor(entry, kind, table) for entry in entries]
        for kind in SITE_KINDS
    }
    return areas.assign(
        **factors, method_factors=[method_factors(entry, table) for entry in entries]
    )


def set_seed_companions(
    seedings: pd.DataFrame, units: pd.DataFrame, mix_sheet: pd.DataFrame
) -> pd.DataFrame:
    """Table ``seed_companions``: nurse crops and carriers of each area, by weight.

    No factor is applied: they fill the drill or hold the ground, they are not the stand.
    """
    lines = mix_sheet[mix_sheet["role"].isin(["nurse", "carrier"])]
    rows = seedings.drop_duplicates("area")[["area", "mix"]].merge(lines, on="mix")
    net_ac = rows["area"].map(net_ac_by_area(seedings, units))
    return rows.assign(bulk_lb=rows["bulk_lb_ac"] * net_ac)[SEED_COMPANIONS.column_names]


def set_bag_rates(
    seed_rates: pd.DataFrame, seed_bags: pd.DataFrame, species: pd.DataFrame
) -> pd.DataFrame:
    """Table ``bag_rates``: bulk of the bag that gives every species at least its rate.

    A species that is not in the bag does not count; one whose tag line is incomplete makes the
    bulk unknown.
    """
    wanted = seed_rates[seed_rates["bag"].notna()]
    if wanted.empty:
        return empty(BAG_RATES)
    fraction = _fractions(wanted, seed_bags, species)
    needs = known_quotient(wanted["pls_lb_ac"], fraction)
    in_bag = fraction.ne(0)
    most = needs[in_bag].groupby(wanted.loc[in_bag, "area"]).max(skipna=False)
    bulk = wanted["area"].map(most).astype("float64")
    return wanted[["area", "bag", "species"]].assign(
        wanted_pls_lb_ac=wanted["pls_lb_ac"],
        pls_pct=fraction * 100,
        needs_bulk_lb_ac=needs,
        sown_pls_lb_ac=pls_lb(bulk, fraction),
        limiting=needs.eq(bulk),
        bulk_lb_ac=bulk,
        bulk_lb=bulk * wanted["net_ac"],
    )


def _fractions(wanted: pd.DataFrame, bags: pd.DataFrame, species: pd.DataFrame) -> pd.Series:
    """Pure live seed of each wanted species as a fraction of its bag; 0 where it is not in it."""
    names = resolved_column(bags["species"], species)
    shares = pls_fraction(bags["purity_pct"], viable_pct(bags))
    shares.index = pd.MultiIndex.from_arrays([bags["bag"], names])
    keys = pd.MultiIndex.from_frame(wanted[["bag", "species"]])
    return pd.Series(shares.reindex(keys, fill_value=0.0).to_numpy(), index=wanted.index)
