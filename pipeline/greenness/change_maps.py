"""Pairs of pictures whose change is drawn pixel by pixel, and their window on the raster."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.zone_pixels import tiles_of
from pipeline.pictures.mosaics import Mosaic, on_one_grid, open_mosaics
from pipeline.pictures.raster_grid import Grid, aligned, moved

MARGIN_PIXELS = 2

Pair = tuple[Mosaic, Mosaic]

Box = tuple[int, int, int, int]


MOST_PIXELS = 400_000_000
"""A property of 200 km each way in pixels of 10 m; the raster is made in memory."""


def list_change_maps(
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``change_maps``: pairs of dates to be drawn.

    Those that show the property, with the pixels of the first one.
    """
    pairs = (
        chosen_comparisons[["before", "after"]].drop_duplicates().sort_values(["before", "after"])
    )
    drawn: list[Grid] = []
    kept = []
    for row in pairs.itertuples():
        with opened_pair(scenes, mask_presets, (row.before, row.after)) as pair:
            grids = drawn[:1] + [picture.grid for picture in pair or ()]
            together = aligned(grids) if pair is not None else None
            window = property_window(units, together[0]) if together is not None else None
            fits = window is not None and _pixels(window) <= MOST_PIXELS
            kept.append(settings.change_map and fits)
            if fits:
                drawn += grids
    return pairs[np.array(kept, dtype=bool)]


@contextmanager
def opened_pair(
    scenes: pd.DataFrame, presets: pd.DataFrame, dates: tuple[pd.Timestamp, pd.Timestamp]
) -> Iterator[Pair | None]:
    """The pictures of two dates, None where their pixels do not match."""
    tiles = [tiles_of(scenes, date) for date in dates]
    with ExitStack() as stack:
        if any(own.empty for own in tiles):
            yield None
            return
        old, new = (stack.enter_context(open_mosaics(own, presets)) for own in tiles)
        paired = len(old) == len(new) == 1 and on_one_grid((old[0], new[0])) is not None
        yield (old[0], new[0]) if paired else None


def property_window(units: gpd.GeoDataFrame, grid: Grid) -> Box | None:
    """Left, top, right and bottom of the property on a grid, None where it lies off it."""
    there = grid.to_pixels(
        moved(units.geometry.to_numpy(), CRS(units.crs), CRS.from_wkt(grid.crs_wkt))
    )
    west, north, east, south = np.nan_to_num(shapely.total_bounds(there), nan=-1.0)
    left, top = (max(int(np.floor(v)) - MARGIN_PIXELS, 0) for v in (west, north))
    right = min(int(np.ceil(east)) + MARGIN_PIXELS, grid.columns)
    bottom = min(int(np.ceil(south)) + MARGIN_PIXELS, grid.rows)
    on_grid = east > 0 and south > 0 and west < grid.columns and north < grid.rows
    return (left, top, right, bottom) if on_grid else None


def _pixels(window: Box) -> int:
    """Number of pixels of a window."""
    left, top, right, bottom = window
    return (right - left) * (bottom - top)
