"""What the fire, season and greenness layers know that stands against planned burns."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.units import M_PER_FT
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.ground.neighbors import neighbors_of
from pipeline.ground.settings import AcreageSettings
from pipeline.season.settings import SeasonSettings
from pipeline.work.break_clashes import break_clashes, refusal_clashes
from pipeline.work.clashes import Clash, bounds_of, clashes_frame
from pipeline.work.fuel_clashes import fuel_clashes
from pipeline.work.layers import FIRE_CLASHES
from pipeline.work.planned import WHOLE_SHARE
from pipeline.work.refuge_clashes import (
    again_clashes,
    burned_shares,
    recovering,
    reference_clashes,
    refuge_clashes,
    wholly_burned,
)
from pipeline.work.smoke_clashes import smoke_clashes, weather_clashes


def find_fire_clashes(
    planned_work: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    fuel: gpd.GeoDataFrame,
    smoke_places: gpd.GeoDataFrame,
    winds_left: pd.DataFrame,
    hourly_weather: pd.DataFrame,
    ground_refusals: pd.DataFrame,
    edge_refusals: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    break_slopes: gpd.GeoDataFrame,
    history: gpd.GeoDataFrame,
    fire_history: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    season_options: gpd.GeoDataFrame,
    past_work: pd.DataFrame,
    conflict_rules: pd.DataFrame,
    property: pd.DataFrame,
    acreage: AcreageSettings,
    breaks: FirebreakSettings,
    weather: WeatherSettings,
    plan: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``fire_clashes``: planned burns held against fuel, smoke, breaks and refuge."""
    burns = planned_work[planned_work["kind"] == "burn"]
    bounds, season = bounds_of(conflict_rules), int(property["season"].iloc[0])
    blocks = burns.dropna(subset="block").drop_duplicates("work_id")
    whole = wholly_burned(burns, units, season)
    shares = burned_shares(fire_history, units, season - 1)
    last_year = set(shares.index[shares >= bounds["neighbor_burned_last_year"]])
    now = burned_shares(fire_history, units, season)
    this_year = set(now.index[now >= 100 * WHOLE_SHARE])
    neighbors = neighbors_of(edges, acreage.slop_ft * M_PER_FT)
    meant = recovering(season_options, past_work, plan)
    clashes = [
        *fuel_clashes(burns, fuel, plan),
        *_without_block(burns),
        *smoke_clashes(blocks, smoke_places, winds_left, weather, bounds["smoke_on_near_place"]),
        *weather_clashes(burns, hourly_weather, weather, breaks, bounds["few_past_days"]),
        *refusal_clashes(planned_work, ground_refusals, edge_refusals),
        *break_clashes(burns, firebreaks, break_slopes, bounds["head_of_slope"]),
        *reference_clashes(burns, chosen_comparisons, property["as_of"].iloc[0]),
        *refuge_clashes(whole, units, neighbors, last_year, this_year),
        *again_clashes(burns, history, plan.least_interval_years, meant),
    ]
    return clashes_frame(clashes, FIRE_CLASHES, planned_work.crs)


def _without_block(burns: pd.DataFrame) -> Iterator[Clash]:
    """Burns that only the log tells of: no breaks, smoke or wind are known for them."""
    in_block = set(burns.loc[burns["block"].notna(), "unit_id"])
    for burn in burns[burns["block"].isna() & ~burns["unit_id"].isin(in_block)].itertuples():
        yield Clash(code="burn_without_block", work_id=burn.work_id, unit_id=burn.unit_id)
