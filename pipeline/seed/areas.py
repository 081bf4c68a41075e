"""Seeding areas: ground, live seeds, pounds and price of each."""

from decimal import Decimal

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.ground.acreage import left_out, polygonal
from pipeline.seed.decimals import UNKNOWN, decimals, quotient, total
from pipeline.seed.order_layers import SEED_AREAS
from pipeline.seed.rates import net_ac_by_area


def measure_seed_areas(
    seedings: pd.DataFrame,
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_order: pd.DataFrame,
    seed_companions: pd.DataFrame,
    bag_rates: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``seed_areas``: each area's ground without what is left out, and its pounds."""
    if seedings.empty:
        return empty(SEED_AREAS, units.crs)
    sown = units.set_index("unit_id").loc[seedings["unit_id"].unique()]
    sown["ground"] = sown.geometry.difference(left_out(sown.geometry, exclusions, "seed"))
    acres = net_ac_by_area(seedings, units)
    seed = seed_order.loc[seed_order["role"].eq("seed"), ["species", "lot", "price_usd"]]
    parts_of = [
        dict(iter(frame.groupby("area")))
        for frame in (seed_rates, seed_use.merge(seed, on=["species", "lot"]), seed_companions)
    ]
    nothing = (
        seed_rates.iloc[:0],
        seed_use.iloc[:0].assign(price_usd=0.0),
        seed_companions.iloc[:0],
    )
    rows = []
    for area, entry in seedings.groupby("area"):
        parts = sown.loc[entry["unit_id"]]
        rates, use, companions = (p.get(area, n) for p, n in zip(parts_of, nothing, strict=True))
        bags = bag_rates.loc[bag_rates["area"].eq(area), "bulk_lb"].iloc[:1]
        rows.append(
            {
                "area": area,
                "unit_ids": ", ".join(sorted(entry["unit_id"])),
                "mix": entry["mix"].iloc[0],
                "method": entry["method"].iloc[0],
                "planting": entry["planting"].iloc[0],
                "gross_ac": float(total(decimals(parts["gross_ac"]))),
                "geometry": polygonal(shapely.union_all(parts["ground"].to_numpy())),
            }
            | _seed_figures(acres[str(area)], rates, use, bags, companions)
        )
    return gpd.GeoDataFrame(pd.DataFrame(rows), geometry="geometry", crs=units.crs)


def _seed_figures(
    net_ac: Decimal,
    rates: pd.DataFrame,
    use: pd.DataFrame,
    bags: pd.Series,
    companions: pd.DataFrame,
) -> dict[str, float]:
    """Acres, live seeds, pounds and price of one area; a pre-mixed bag has no price here."""
    bulk = use["bulk_lb"] if bags.empty else bags
    cost = total(decimals(use["pls_lb"]) * decimals(use["price_usd"]))
    return {
        "net_ac": float(net_ac),
        "seeds_sqft": float(total(decimals(rates["seeds_sqft"]))),
        "pls_lb_ac": float(total(decimals(rates["pls_lb_ac"]))),
        "pls_lb": float(total(decimals(rates["pls_lb"]))),
        "bulk_lb": float(total(decimals(bulk))),
        "companion_lb": float(total(decimals(companions["bulk_lb"]))),
        "cost_usd_ac": float(quotient(cost, net_ac) if bags.empty else UNKNOWN),
    }
