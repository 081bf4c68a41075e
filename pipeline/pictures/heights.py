"""Heights of the property out of a raster of any size: its own window only."""

import math
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from pyproj import CRS, Transformer
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader
from rasterio.windows import Window

from pipeline.core.errors import SourceError
from pipeline.ground.terrain import FINEST_STEP_M, Terrain
from pipeline.intake.elevation import HIGHEST_M, LOWEST_M, M_PER_HEIGHT_UNIT, WHERE
from pipeline.intake.rasters.raster_file import RASTER_OPTIONS, open_raster, unreadable
from pipeline.pictures.raster_window import pixels_at, window_over

MOST_PIXELS = 16_000_000
"""Pixels that are held at once (128 MB); of more than these, so many by so many become one."""

ROWS_AT_ONCE = 64


def read_terrain(
    elevation: Mapping[str, Any], bounds: tuple[float, float, float, float], crs: CRS
) -> Terrain:
    """Heights over the bounds, which lie in the plane ``crs``, as the layer ``elevation`` tells.

    Heights that no land has count as unknown. Raises SourceError for pixels that cannot be read.
    """
    with rasterio.Env(**RASTER_OPTIONS), open_raster(Path(elevation["path"]), WHERE) as raster:
        there = Transformer.from_crs(crs, CRS.from_user_input(raster.crs), always_xy=True)
        window = window_over(raster, there, bounds)
        factor = max(1, math.ceil(math.sqrt(window.width * window.height / MOST_PIXELS)))
        try:
            stored = _averaged(raster, int(elevation["band"]), window, factor)
        except RasterioError as error:
            raise SourceError(unreadable(WHERE)) from error
        whole = partial(pixels_at, there.transform, ~raster.transform)
        first = np.array([window.col_off, window.row_off])
    own = stored * elevation["scale"] + elevation["offset"]
    heights_m = own * M_PER_HEIGHT_UNIT[elevation["height_unit"]]
    heights_m[~((heights_m >= LOWEST_M) & (heights_m <= HIGHEST_M))] = np.nan

    def to_pixels(points: np.ndarray) -> np.ndarray:
        return (whole(points) - first) / factor

    pixel_m = _pixel_m(to_pixels, bounds)
    return Terrain(heights_m, to_pixels, max(pixel_m, FINEST_STEP_M))


def _averaged(raster: DatasetReader, band: int, window: Window, factor: int) -> np.ndarray:
    """Stored heights of a window, each the mean of ``factor`` by ``factor``; NaN where none is."""
    rows, columns = window.height // factor, window.width // factor
    heights = np.full((rows, columns), np.nan)
    for top in range(0, rows, ROWS_AT_ONCE):
        count = min(ROWS_AT_ONCE, rows - top)
        part = Window(
            window.col_off, window.row_off + top * factor, columns * factor, count * factor
        )
        stored = raster.read(band, window=part, masked=True).astype(float).filled(np.nan)
        cells = stored.reshape(count, factor, columns, factor)
        known = np.isfinite(cells)
        counted = known.sum(axis=(1, 3))
        total = np.where(known, cells, 0.0).sum(axis=(1, 3))
        heights[top : top + count] = np.where(counted, total / np.maximum(counted, 1), np.nan)
    return heights


def _pixel_m(
    to_pixels: Callable[[np.ndarray], np.ndarray], bounds: tuple[float, float, float, float]
) -> float:
    """Longer side [m] of a pixel on the ground in the middle of the bounds.

    Measured in the property's own plane, which is true to the ground: a pixel of 10 m in a
    projection that stretches is shorter than 10 m there, and one in degrees has a length at all.
    """
    middle = np.array([bounds[0] + bounds[2], bounds[1] + bounds[3]]) / 2
    corners = to_pixels(middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    per_meter = (corners[1:] - corners[0]).T
    if not np.isfinite(per_meter).all():
        return FINEST_STEP_M
    return float(np.hypot(*np.linalg.inv(per_meter)).max())
