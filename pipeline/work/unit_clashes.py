"""What the unit layers know that stands against planned work."""

import geopandas as gpd

from pipeline.core.layer import empty
from pipeline.work.layers import UNIT_CLASHES


def find_unit_clashes(planned_work: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``unit_clashes``."""
    return empty(UNIT_CLASHES, planned_work.crs)
