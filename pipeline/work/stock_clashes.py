"""What the stock layers know that stands against planned work."""

import geopandas as gpd

from pipeline.core.layer import empty
from pipeline.work.layers import STOCK_CLASHES


def find_stock_clashes(planned_work: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``stock_clashes``."""
    return empty(STOCK_CLASHES, planned_work.crs)
