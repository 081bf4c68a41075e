"""Breaks as the property's own maps have them, lines apart from ground.

Programs that show a GeoPackage draw one kind of shape a table: where lines and ground stood in one,
the ground was not seen.
"""

import geopandas as gpd
import pandas as pd
import shapely

AREA = 2
"""Dimension of ground."""


def list_break_lines(breaks: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``break_lines``: the breaks that were given as lines."""
    return breaks[shapely.get_dimensions(breaks.geometry) < AREA]


def list_break_areas(breaks: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Layer ``break_areas``: the breaks that were given as ground."""
    return breaks[shapely.get_dimensions(breaks.geometry) == AREA]


def given_breaks(break_lines: gpd.GeoDataFrame, break_areas: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """All breaks of both layers as one, as the sources gave them."""
    return pd.concat([part for part in (break_lines, break_areas) if len(part)] or [break_lines])
