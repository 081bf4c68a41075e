"""Change of every pixel between the pictures of a comparison, as a raster of the property."""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import rasterio
from pyproj import CRS
from rasterio.io import MemoryFile
from rasterio.shutil import copy
from rasterio.transform import Affine

from pipeline.core.run import Run
from pipeline.intake.rasters.raster_file import RASTER_OPTIONS
from pipeline.pictures.mosaics import MosaicPair, on_one_grid, open_pair
from pipeline.pictures.raster_grid import Box, Grid, window_around

FILL = -32768


SCALE = 0.0001
"""Stored whole numbers times this are NDVI."""


PIXELS_AT_ONCE = 1 << 23


MOST_ROWS = 512


def write_change_map(run: Run, path: Path) -> None:
    """Raster with one band for each pair of dates: after less before, on pixels usable both times.

    A cloud-optimized GeoTIFF of 16-bit whole numbers, cut to the window of the property.
    """
    frames = run.frames
    scenes, presets = frames["scenes"], frames["mask_presets"]
    dates = [(row.before, row.after) for row in frames["change_maps"].itertuples()]
    with ExitStack() as stack:
        opened = (stack.enter_context(open_pair(scenes, presets, days)) for days in dates)
        pairs = [pair for pair in opened if pair is not None]
        grid = on_one_grid([picture for pair in pairs for picture in pair])
        units = frames["units"]
        shapes, plane = units.geometry.to_numpy(), CRS(units.crs)
        window = window_around(shapes, plane, grid) if grid is not None else None
        if grid is None or window is None:
            raise ValueError("change maps were listed that cannot be drawn together")
        profile = _profile(grid, window)
        stack.enter_context(rasterio.Env(**RASTER_OPTIONS))
        memory = stack.enter_context(MemoryFile())
        with memory.open(count=len(pairs), **profile) as raster:
            for band, ((before, after), pair) in enumerate(zip(dates, pairs, strict=True), 1):
                words = f"change of NDVI from {before:%Y-%m-%d} to {after:%Y-%m-%d}"
                raster.set_band_description(band, words)
                for first, change in _changes(pair, window):
                    rows = ((first, first + len(change)), (0, change.shape[1]))
                    raster.write(change, band, window=rows)
            raster.scales = [SCALE] * len(pairs)
        options = {"compress": "DEFLATE", "predictor": "YES", "overviews": "NONE"}
        copy(memory.name, path, driver="COG", **options)


def _profile(grid: Grid, window: Box) -> dict[str, object]:
    """Description of the raster."""
    left, top, right, bottom = window
    corner = grid.left + left * grid.pixel_x, grid.top - top * grid.pixel_y
    return {
        "driver": "GTiff",
        "dtype": "int16",
        "nodata": FILL,
        "crs": grid.crs_wkt,
        "width": right - left,
        "height": bottom - top,
        "transform": Affine(grid.pixel_x, 0.0, corner[0], 0.0, -grid.pixel_y, corner[1]),
    }


def _changes(pair: MosaicPair, window: Box) -> Iterator[tuple[int, np.ndarray]]:
    """Stored change of some rows at a time, and the row of the window that they begin at."""
    left, top, right, bottom = window
    step = max(1, min(MOST_ROWS, PIXELS_AT_ONCE // (right - left)))
    for first in range(top, bottom, step):
        end = min(first + step, bottom)
        old, new = (picture.read("ndvi", first, end, [(left, right)]) for picture in pair)
        change = np.rint((new.value - old.value) / SCALE)
        drawn = old.usable & new.usable & (np.abs(change) < -FILL)
        yield first - top, np.where(drawn, change, FILL).astype("int16")
