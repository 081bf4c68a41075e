"""Seeding areas: ground, live seeds, pounds and price of each."""

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.ground.acreage import left_out, polygonal
from pipeline.seed.field_layers import SEED_AREAS
from pipeline.seed.order import priced_use
from pipeline.seed.quantities import known_quotient, known_sums
from pipeline.seed.rates import net_ac_by_area


def measure_seed_areas(
    seedings: pd.DataFrame,
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_order: pd.DataFrame,
    seed_companions: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``seed_areas``: each area's ground without what is left out, and its pounds."""
    if seedings.empty:
        return empty(SEED_AREAS, units.crs)
    sown = units.set_index("unit_id").loc[seedings["unit_id"].unique()]
    sown["ground"] = sown.geometry.difference(left_out(sown.geometry, exclusions, "seed"))
    entries = seedings.groupby("area")
    areas = entries[["mix", "method", "planting"]].first()
    areas = areas.assign(
        unit_ids=entries["unit_id"].agg(lambda names: ", ".join(sorted(names))),
        gross_ac=entries["unit_id"].agg(lambda names: sown.loc[names, "gross_ac"].sum()),
        net_ac=net_ac_by_area(seedings, units),
    )
    use = priced_use(seed_use, seed_order)
    figures = areas.join(_sums(areas, seed_rates, use, seed_companions))
    shapes = [
        polygonal(shapely.union_all(sown.loc[entries.get_group(area)["unit_id"], "ground"]))
        for area in areas.index
    ]
    return gpd.GeoDataFrame(figures.reset_index(), geometry=shapes, crs=units.crs)


def _sums(
    areas: pd.DataFrame,
    seed_rates: pd.DataFrame,
    use: pd.DataFrame,
    seed_companions: pd.DataFrame,
) -> pd.DataFrame:
    """Live seeds, pounds and price of each area, nurse crops and carriers apart."""
    of = areas.index
    rates = known_sums(seed_rates, "area", ["seeds_sqft", "pls_lb_ac", "pls_lb"])
    of_mix = use[use["role"].isin(["seed", "bag"])]
    from_lots = known_sums(of_mix, "area", ["bulk_lb", "cost_usd"]).reindex(of, fill_value=0.0)
    companions = known_sums(seed_companions, "area", ["bulk_lb"])["bulk_lb"]
    return rates.reindex(of, fill_value=0.0).assign(
        bulk_lb=from_lots["bulk_lb"],
        companion_lb=companions.reindex(of, fill_value=0.0),
        cost_usd_ac=known_quotient(from_lots["cost_usd"], areas["net_ac"]),
    )
