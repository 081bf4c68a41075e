"""What the seed layers, and the ground that is sown, know that stands against a sowing."""

import geopandas as gpd
import pandas as pd

from pipeline.season.fuel.green_up import green_from_in
from pipeline.seed.settings import SeedSettings
from pipeline.work.clashes import Clash, bounds_of, clashes_frame
from pipeline.work.layers import SEED_CLASHES
from pipeline.work.sowing.seed_supply import Supply, late_clashes
from pipeline.work.sowing.sowing_ground import SowingPlace, preparations, windows_of_place


def find_seed_clashes(
    planned_work: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    planned_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    community: gpd.GeoDataFrame,
    unit_slopes: pd.DataFrame,
    green_up: pd.DataFrame,
    seeding_windows: pd.DataFrame,
    seed_lots: pd.DataFrame,
    seed_rates: pd.DataFrame,
    lot_quality: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_shed: pd.DataFrame,
    seed_findings: gpd.GeoDataFrame,
    conflict_rules: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeedSettings,
) -> gpd.GeoDataFrame:
    """Layer ``seed_clashes``: sowings held against their ground, their day and their seed."""
    sowings = planned_work[planned_work["kind"] == "seed"]
    if sowings.empty:
        return clashes_frame([], SEED_CLASHES, planned_work.crs)
    bounds = bounds_of(conflict_rules)
    newest = community.sort_values("date").groupby("unit_id")["cool_exotic_share_pct"].last()
    place = SowingPlace(
        opened=preparations(treatment_log, planned_log, planned_work),
        burned_areas=burned_areas,
        exotic_pct=newest.to_dict(),
        slopes={row["unit_id"]: row for row in unit_slopes.to_dict("records")},
        green_from=green_from_in(units, green_up, property),
        windows=windows_of_place(seeding_windows, property),
        bounds=bounds,
    )
    ground = {row["unit_id"]: row for row in units.to_dict("records")}
    in_area = set(sowings.loc[sowings["area"].notna(), "unit_id"])
    clashes = [
        Clash(work_id=sowing["work_id"], unit_id=sowing["unit_id"]) | clash
        for sowing in sowings.to_dict("records")
        for clash in place.clashes(sowing, ground[sowing["unit_id"]], units.crs)
    ]
    alone = sowings[sowings["area"].isna() & ~sowings["unit_id"].isin(in_area)]
    clashes += [
        Clash(code="sowing_without_area", work_id=sowing.work_id, unit_id=sowing.unit_id)
        for sowing in alone.itertuples()
    ]
    areas = sowings[sowings["area"].notna()].drop_duplicates("area")
    seed = Supply(seed_lots, seed_rates, lot_quality, seed_use, seed_shed, seed_findings)
    planting = dict(zip(areas["area"], areas["first_day"], strict=True))
    as_of, lead_days = property["as_of"].iloc[0], settings.order_lead_days
    clashes += [
        Clash(work_id=work_id, unit_id=None) | clash
        for area, work_id in zip(areas["area"], areas["work_id"], strict=True)
        for clash in (
            *seed.clashes(area, planting, bounds["seed_lot_shared"]),
            *late_clashes(area, planting[area], seed_use, as_of, lead_days),
        )
    ]
    return clashes_frame(clashes, SEED_CLASHES, planned_work.crs)
