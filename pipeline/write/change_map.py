"""Change of every pixel between the pictures of a comparison, as a raster of the property."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from pyproj import CRS
from rasterio.io import MemoryFile
from rasterio.shutil import copy
from rasterio.transform import Affine

from pipeline.greenness.zone_pixels import tiles_of
from pipeline.intake.scenes import RASTER_OPTIONS
from pipeline.pictures.pictures import Picture, on_one_grid, open_pictures
from pipeline.pictures.raster_grid import Grid, moved

if TYPE_CHECKING:
    from pipeline.core.run import Run


FILL = -32768


SCALE = 0.0001
"""Stored whole numbers times this are NDVI."""


MOST_PIXELS = 400_000_000
"""A property of 200 km each way in pixels of 10 m; the raster is made in memory."""


PIXELS_AT_ONCE = 1 << 23


MOST_ROWS = 512


MARGIN_PIXELS = 2


Pair = tuple[Picture, Picture]


@contextmanager
def _opened(
    scenes: pd.DataFrame, presets: pd.DataFrame, dates: tuple[pd.Timestamp, pd.Timestamp]
) -> Iterator[Pair | None]:
    """The pictures of two dates, None where their pixels do not match."""
    tiles = [tiles_of(scenes, date) for date in dates]
    with ExitStack() as stack:
        if any(own.empty for own in tiles):
            yield None
            return
        old, new = (stack.enter_context(open_pictures(own, presets)) for own in tiles)
        paired = len(old) == len(new) == 1 and on_one_grid((old[0], new[0])) is not None
        yield (old[0], new[0]) if paired else None


def write_change_map(run: "Run", path: Path) -> None:
    """Raster with one band for each pair of dates: after less before, on pixels usable both times.

    A cloud-optimized GeoTIFF of 16-bit whole numbers, cut to the window of the property.
    """
    frames = run.frames
    scenes, presets = frames["scenes"], frames["mask_presets"]
    dates = [(row.before, row.after) for row in frames["change_maps"].itertuples()]
    with ExitStack() as stack:
        opened = (stack.enter_context(_opened(scenes, presets, own)) for own in dates)
        pairs = [pair for pair in opened if pair is not None]
        grid = on_one_grid([picture for pair in pairs for picture in pair])
        window = _window(frames["units"], grid) if grid is not None else None
        if grid is None or window is None:
            raise ValueError("change maps were listed that cannot be drawn together")
        profile = _profile(grid, window)
        stack.enter_context(rasterio.Env(**RASTER_OPTIONS))
        memory = stack.enter_context(MemoryFile())
        with memory.open(count=len(pairs), **profile) as raster:
            for band, (own, pair) in enumerate(zip(dates, pairs, strict=True), 1):
                told = f"change of NDVI from {own[0]:%Y-%m-%d} to {own[1]:%Y-%m-%d}"
                raster.set_band_description(band, told)
                for first, change in _changes(pair, window):
                    rows = ((first, first + len(change)), (0, change.shape[1]))
                    raster.write(change, band, window=rows)
            raster.scales = [SCALE] * len(pairs)
        copy(memory.name, path, driver="COG", compress="DEFLATE", predictor="YES",
             overviews="NONE")  # fmt: skip


Box = tuple[int, int, int, int]


def _window(units: gpd.GeoDataFrame, grid: Grid) -> Box | None:
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


def _profile(grid: Grid, window: Box) -> dict[str, object]:
    """Description of the raster."""
    left, top, right, bottom = window
    corner = grid.left + left * grid.pixel_x, grid.top - top * grid.pixel_y
    return {
        "driver": "GTiff", "dtype": "int16", "nodata": FILL, "crs": grid.crs_wkt,
        "width": right - left, "height": bottom - top,
        "transform": Affine(grid.pixel_x, 0.0, corner[0], 0.0, -grid.pixel_y, corner[1]),
    }  # fmt: skip


def _changes(pair: Pair, window: Box) -> Iterator[tuple[int, np.ndarray]]:
    """Stored change of some rows at a time, and the row of the window that they begin at."""
    left, top, right, bottom = window
    step = max(1, min(MOST_ROWS, PIXELS_AT_ONCE // (right - left)))
    for first in range(top, bottom, step):
        end = min(first + step, bottom)
        old, new = (picture.read("ndvi", first, end, [(left, right)]) for picture in pair)
        change = np.rint((new.value - old.value) / SCALE)
        drawn = old.usable & new.usable & (np.abs(change) < -FILL)
        yield first - top, np.where(drawn, change, FILL).astype("int16")
