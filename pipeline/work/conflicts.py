"""Conflicts: clashes of planned work, judged by the table of conflict rules and ranked."""

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.work.layers import CONFLICTS


def judge_conflicts(
    planned_work: gpd.GeoDataFrame,
    fire_clashes: gpd.GeoDataFrame,
    unit_clashes: gpd.GeoDataFrame,
    stock_clashes: gpd.GeoDataFrame,
    seed_clashes: gpd.GeoDataFrame,
    conflict_rules: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``conflicts``: every clash that a rule takes up, the most serious first."""
    return empty(CONFLICTS, planned_work.crs)
