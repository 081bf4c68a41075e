"""What the season costs: hours, acres, pounds and dollars by task and unit."""

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.work.layers import SEASON_COSTS


def sum_season_costs(tasks: gpd.GeoDataFrame) -> pd.DataFrame:
    """Table ``season_costs``."""
    return empty(SEASON_COSTS)
