"""What the seed layers know that stands against planned work."""

import geopandas as gpd

from pipeline.core.layer import empty
from pipeline.work.layers import SEED_CLASHES


def find_seed_clashes(planned_work: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``seed_clashes``."""
    return empty(SEED_CLASHES, planned_work.crs)
