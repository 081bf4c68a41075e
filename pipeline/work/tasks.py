"""Tasks: the season as a dated list."""

import geopandas as gpd

from pipeline.core.layer import empty
from pipeline.work.layers import TASKS


def list_tasks(planned_work: gpd.GeoDataFrame, conflicts: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``tasks``."""
    return empty(TASKS, planned_work.crs)
