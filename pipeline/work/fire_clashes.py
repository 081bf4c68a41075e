"""What the fire layers know that stands against planned work."""

import geopandas as gpd

from pipeline.core.layer import empty
from pipeline.work.layers import FIRE_CLASHES


def find_fire_clashes(planned_work: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``fire_clashes``."""
    return empty(FIRE_CLASHES, planned_work.crs)
