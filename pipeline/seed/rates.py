"""Rates on the ground: a mix's own rates, brought to the method used, times named factors.

A rate carries the method it is written for. The method factor is that of the method used over
that of the method written for: a rate already written for broadcasting and sown by broadcasting
gets the factor 1, so it cannot be raised twice. Nothing can be taken out of a pre-mixed bag, so its
scarcest species decides how much of it is sown.
"""

import math
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.places import place_key
from pipeline.core.species_names import resolved_column, species_value
from pipeline.core.units import OZ_PER_LB
from pipeline.seed.field_layers import BAG_RATES
from pipeline.seed.lot_quality import viable_pct
from pipeline.seed.order_layers import SEED_COMPANIONS, SEED_RATES
from pipeline.seed.quantities import known_quotient, known_sums, pls_fraction, pls_lb, seeds_sqft
from pipeline.seed.uncertainty import count_ratios

OF_COUNT = ["basis", "seeds_per_lb", "low_seeds_per_lb", "high_seeds_per_lb", "confidence"]
"""Columns of a mix's line that tell what its pounds or seeds rest on."""


SITE_KINDS = ("season", "slope", "sod")


DRILL, ANY = "drill", "any"


FactorTable = dict[tuple[str, str], float]
"""Factors of a region by kind and name."""


def method_factor(
    written_for: str | None, used: str, factors: dict[str, float], *, told: float = math.nan
) -> float:
    """What a rate written for one method is multiplied by when sown by another.

    ``factors`` are those of each method over drilling, 1 where untold. A rate that does not say
    what it is written for is taken as drilled; one written for any method, or for the one used,
    stays as it is, unless a factor is ``told`` for the area: that one is never dropped.
    """
    start = written_for or DRILL
    if start in (ANY, used):
        return 1.0 if math.isnan(told) else told
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
    units: gpd.GeoDataFrame,
    mix_sheet: pd.DataFrame,
    seed_bags: pd.DataFrame,
    species: pd.DataFrame,
    seed_factors: pd.DataFrame,
    property: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``seed_rates``: rate and pounds of each species on each area, as it is sown.

    Out of a pre-mixed bag comes what the bag gives, whatever the mix wants.
    """
    lines = mix_sheet[mix_sheet["role"].eq("seed")]
    lines = lines[["mix", "species", "common_name", "pls_lb_ac", "rate_method", *OF_COUNT]]
    rows = _areas_with_factors(seedings, region_factors(seed_factors, property))
    rows = rows.merge(lines.rename(columns={"pls_lb_ac": "mix_pls_lb_ac"}), on="mix")
    if rows.empty:
        return empty(SEED_RATES)
    columns = ["rate_method", "method", "method_factors", "told_factor"]
    rows["method_factor"] = [
        method_factor(written, used, factors, told=told)
        for written, used, factors, told in rows[columns].itertuples(index=False)
    ]
    wanted = rows["mix_pls_lb_ac"] * rows["method_factor"]
    for kind in SITE_KINDS:
        wanted = wanted * rows[f"{kind}_factor"]
    rows = _with_the_rest_of_the_bag(rows.assign(wanted_pls_lb_ac=wanted), seed_bags, species)
    in_bag = rows["bag"].notna()
    from_bag = bag_amounts(rows[in_bag], seed_bags, species)["sown_pls_lb_ac"]
    rate = rows["wanted_pls_lb_ac"].where(~in_bag, from_bag.reindex(rows.index))
    net_ac = rows["area"].map(net_ac_by_area(seedings, units))
    rows = rows.assign(
        pls_lb_ac=rate,
        pls_oz_ac=rate * OZ_PER_LB,
        seeds_sqft=seeds_sqft(rate, rows["seeds_per_lb"]),
        pls_lb=rate * net_ac,
        pls_oz=rate * net_ac * OZ_PER_LB,
        net_ac=net_ac,
    )
    return _with_ranges(rows)[SEED_RATES.column_names]


def _with_ranges(rows: pd.DataFrame) -> pd.DataFrame:
    """The rates with the least and the most that the range of seed counts leaves open."""
    counted = rows.assign(basis=rows["basis"].where(rows["bag"].isna(), "bag"))
    least, most = count_ratios(counted)
    is_known = counted["basis"].ne("seeds_sqft") & rows["low_seeds_per_lb"].notna()
    low, high = (
        seeds_sqft(rows["pls_lb_ac"], rows[f"{end}_seeds_per_lb"].where(is_known))
        for end in ("low", "high")
    )
    return rows.assign(
        low_pls_lb=rows["pls_lb"] * least,
        high_pls_lb=rows["pls_lb"] * most,
        low_seeds_sqft=low.fillna(rows["seeds_sqft"]),
        high_seeds_sqft=high.fillna(rows["seeds_sqft"]),
    )


def _with_the_rest_of_the_bag(
    rows: pd.DataFrame, seed_bags: pd.DataFrame, species: pd.DataFrame
) -> pd.DataFrame:
    """The rates, and a row of rate 0 for each species that comes out of the bag unwanted."""
    bags = seed_bags[["bag"]].assign(species=resolved_column(seed_bags["species"], species))
    areas = rows[rows["bag"].notna()].drop_duplicates("area")
    others = areas.drop(columns=["species", "common_name", *OF_COUNT]).merge(bags, on="bag")
    keys = ["area", "species"]
    wanted = pd.MultiIndex.from_frame(rows[keys])
    others = others[~pd.MultiIndex.from_frame(others[keys]).isin(wanted)]
    if others.empty:
        return rows
    others = others.assign(
        common_name=species_value(others["species"], species, "common_name"),
        basis="bag",
        confidence=species_value(others["species"], species, "confidence"),
        **{
            name: species_value(others["species"], species, name).astype("float64")
            for name in ("seeds_per_lb", "low_seeds_per_lb", "high_seeds_per_lb")
        },
        mix_pls_lb_ac=0.0,
        wanted_pls_lb_ac=0.0,
        method_factor=1.0,
    )
    return pd.concat([rows, others], ignore_index=True)


def _areas_with_factors(seedings: pd.DataFrame, table: FactorTable) -> pd.DataFrame:
    """One row an area: its entry, with the factors of its site and of each method on it."""
    areas = seedings.drop_duplicates("area")
    entries = areas.to_dict("records")
    factors = {
        f"{kind}_factor": [site_factor(entry, kind, table) for entry in entries]
        for kind in SITE_KINDS
    }
    return areas.assign(
        **factors,
        told_factor=areas["method_factor"].astype("float64"),
        method_factors=[method_factors(entry, table) for entry in entries],
    )


def companion_needs(
    seedings: pd.DataFrame, units: gpd.GeoDataFrame, mix_sheet: pd.DataFrame
) -> pd.DataFrame:
    """Nurse crops and carriers of each area: pounds of pure live seed, or pounds as weighed.

    Each is empty where the rate is given in the other. No factor is applied: they fill the drill
    or hold the ground, they are not the stand.
    """
    lines = mix_sheet[mix_sheet["role"].isin(["nurse", "carrier"])]
    rows = seedings.drop_duplicates("area")[["area", "mix"]].merge(lines, on="mix")
    net_ac = rows["area"].map(net_ac_by_area(seedings, units))
    return rows.assign(
        net_ac=net_ac, pls_lb=rows["pls_lb_ac"] * net_ac, bulk_lb=rows["bulk_lb_ac"] * net_ac
    )


def set_seed_companions(
    seedings: pd.DataFrame,
    units: gpd.GeoDataFrame,
    mix_sheet: pd.DataFrame,
    seed_use: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``seed_companions``: nurse crops and carriers of each area, with what is weighed out.

    A rate in pure live seed becomes pounds by the lots it is taken from.
    """
    rows = companion_needs(seedings, units, mix_sheet)
    keys = ["area", "species", "role"]
    weighed = known_sums(seed_use, keys, ["bulk_lb"])["bulk_lb"]
    bulk = weighed.reindex(pd.MultiIndex.from_frame(rows[keys])).to_numpy()
    bulk = rows["bulk_lb"].where(rows["basis"].eq("bulk_lb_ac"), bulk)
    made = rows.assign(bulk_lb=bulk, bulk_lb_ac=known_quotient(bulk, rows["net_ac"]))
    return made[SEED_COMPANIONS.column_names]


def set_bag_rates(
    seed_rates: pd.DataFrame, seed_bags: pd.DataFrame, species: pd.DataFrame
) -> pd.DataFrame:
    """Table ``bag_rates``: bulk of the bag that gives every species at least its rate."""
    wanted = seed_rates[seed_rates["bag"].notna()]
    if wanted.empty:
        return empty(BAG_RATES)
    amounts = bag_amounts(wanted, seed_bags, species)
    rows = wanted[["area", "bag", "species", "wanted_pls_lb_ac"]].join(amounts)
    return rows.assign(bulk_lb=amounts["bulk_lb_ac"] * wanted["net_ac"])


def bag_amounts(
    wanted: pd.DataFrame, seed_bags: pd.DataFrame, species: pd.DataFrame
) -> pd.DataFrame:
    """How much of its bag each wanted species needs, and what it gets: the scarcest one decides.

    A species that is not in the bag, or not wanted, does not count; a wanted one whose tag line is
    incomplete makes the bulk unknown.
    """
    fraction = _fractions(wanted, seed_bags, species)
    needs = known_quotient(wanted["wanted_pls_lb_ac"], fraction)
    needs = needs.where(wanted["wanted_pls_lb_ac"].ne(0), 0.0)
    counts = fraction.ne(0) & wanted["wanted_pls_lb_ac"].ne(0)
    most = needs[counts].groupby(wanted.loc[counts, "area"]).max(skipna=False)
    bulk = wanted["area"].map(most).astype("float64")
    return pd.DataFrame(
        {
            "pls_pct": fraction * 100,
            "needs_bulk_lb_ac": needs,
            "sown_pls_lb_ac": pls_lb(bulk, fraction),
            "limiting": needs.eq(bulk) & counts,
            "bulk_lb_ac": bulk,
        }
    )


def _fractions(wanted: pd.DataFrame, bags: pd.DataFrame, species: pd.DataFrame) -> pd.Series:
    """Pure live seed of each wanted species as a fraction of its bag; 0 where it is not in it."""
    names = resolved_column(bags["species"], species)
    shares = pls_fraction(bags["purity_pct"], viable_pct(bags))
    shares.index = pd.MultiIndex.from_arrays([bags["bag"], names])
    keys = pd.MultiIndex.from_frame(wanted[["bag", "species"]])
    return pd.Series(shares.reindex(keys, fill_value=0.0).to_numpy(), index=wanted.index)
