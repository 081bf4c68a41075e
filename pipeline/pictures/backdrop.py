"""The user's own air photo, gray and pale, over a rectangle of ground: what lies under a map."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from pyproj import CRS, Transformer
from rasterio.enums import Resampling
from rasterio.errors import RasterioError
from rasterio.io import DatasetReader
from rasterio.warp import reproject
from rasterio.windows import Window

from pipeline.core.errors import SourceError
from pipeline.intake.rasters.backdrop import WHERE
from pipeline.intake.rasters.raster_file import RASTER_OPTIONS, open_raster, unreadable
from pipeline.pictures.raster_window import window_over
from pipeline.pictures.thumbnails import jpeg

LUMA = {1: (1.0,), 3: (0.299, 0.587, 0.114)}
"""Share of each band in the gray. *Source*: ITU-R BT.601, luma of red, green and blue."""

WHITE, DARKEST = 255.0, 180.0
"""Gray of clear ground and of the darkest pixel: lines and the grays of strips stay readable."""

LEAST_RANGE = 1e-9
"""A picture of one gray is drawn without dividing by nothing."""

QUALITIES, MOST_BYTES = (60, 45, 30, 15), 200_000
"""Qualities of JPEG, tried until the picture leaves room for the rest of a page of 300 kB."""


def backdrop_jpeg(
    backdrop: Mapping[str, Any],
    bounds: tuple[float, float, float, float],
    crs: CRS,
    size: tuple[int, int],
) -> bytes | None:
    """Gray JPEG of so many pixels over the bounds (west, south, east, north) in the plane ``crs``.

    Ground without a picture is white; None where there is none at all. Raises SourceError for
    pixels that cannot be read.
    """
    with rasterio.Env(**RASTER_OPTIONS), open_raster(Path(backdrop["path"]), WHERE) as raster:
        there = Transformer.from_crs(crs, CRS.from_user_input(raster.crs), always_xy=True)
        window = window_over(raster, there, bounds)
        if not window.width:
            return None
        try:
            gray = _on_ground(raster, int(backdrop["bands"]), window, bounds, crs, size)
        except RasterioError as error:
            raise SourceError(unreadable(WHERE)) from error
    if np.isnan(gray).all():
        return None
    pale = _paled(gray, backdrop["darkest"], backdrop["brightest"])[None]
    for quality in QUALITIES:
        made = jpeg(pale, quality)
        if len(made) <= MOST_BYTES:
            break
    return made


def _on_ground(
    raster: DatasetReader,
    bands: int,
    window: Window,
    bounds: tuple[float, float, float, float],
    crs: CRS,
    size: tuple[int, int],
) -> np.ndarray:
    """Stored gray over the bounds, NaN where the picture has none: first made small, then moved."""
    small, place = _decimated(raster, bands, window, size)
    west, south, east, north = bounds
    gray = np.full(size[::-1], np.nan, "float32")
    reproject(
        small,
        gray,
        src_transform=place,
        src_crs=raster.crs,
        src_nodata=np.nan,
        dst_transform=rasterio.Affine(
            (east - west) / size[0], 0, west, 0, (south - north) / size[1], north
        ),
        dst_crs=crs.to_wkt(),
        dst_nodata=np.nan,
        resampling=Resampling.bilinear,
    )
    return gray


def _decimated(
    raster: DatasetReader, bands: int, window: Window, size: tuple[int, int]
) -> tuple[np.ndarray, rasterio.Affine]:
    """Gray of a window in about as many pixels as asked, and its place; NaN where none is."""
    factor = max(1.0, min(window.width / size[0], window.height / size[1]))
    shape = (max(1, round(window.height / factor)), max(1, round(window.width / factor)))
    numbers = list(range(1, bands + 1))
    read = raster.read(
        numbers, window=window, out_shape=(bands, *shape), resampling=Resampling.average
    )
    gray = np.tensordot(LUMA[bands], read.astype("float32"), axes=1)
    gray[raster.dataset_mask(window=window, out_shape=shape) == 0] = np.nan
    wide, high = window.width / shape[1], window.height / shape[0]
    a, b, left, d, e, top = raster.transform[:6]
    west = left + a * window.col_off + b * window.row_off
    north = top + d * window.col_off + e * window.row_off
    place = rasterio.Affine(a * wide, b * high, west, d * wide, e * high, north)
    return gray.astype("float32"), place


def _paled(gray: np.ndarray, darkest: float, brightest: float) -> np.ndarray:
    """Stored grays as bytes from pale gray to white."""
    share = (gray - darkest) / max(brightest - darkest, LEAST_RANGE)
    pale = DARKEST + (WHITE - DARKEST) * np.clip(share, 0.0, 1.0)
    return np.where(np.isnan(gray), WHITE, pale).round().astype(np.uint8)
