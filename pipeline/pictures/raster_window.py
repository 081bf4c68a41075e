"""The part of a raster, in any projection and rotated or not, that lies over a rectangle."""

from collections.abc import Callable
from typing import Any

import numpy as np
import rasterio
from pyproj import Transformer
from rasterio.io import DatasetReader
from rasterio.windows import Window

MARGIN_PIXELS = 3


def pixels_at(
    there: Callable[..., Any], pixel_of: rasterio.Affine, points: np.ndarray
) -> np.ndarray:
    """Points of the working projection as columns and rows of a grid."""
    x, y = map(np.asarray, there(points[:, 0], points[:, 1]))
    a, b, left, d, e, top = pixel_of[:6]
    return np.column_stack([a * x + b * y + left, d * x + e * y + top])


def window_over(
    raster: DatasetReader, there: Transformer, bounds: tuple[float, float, float, float]
) -> Window:
    """Pixels around the bounds as far as the raster has them; none where it lies elsewhere."""
    nothing = Window(0, 0, 0, 0)
    edges = np.linspace(0.0, 1.0, 21)
    west, south, east, north = bounds
    rim = [(west + s * (east - west), y) for s in edges for y in (south, north)]
    rim += [(x, south + s * (north - south)) for s in edges for x in (west, east)]
    pixels = pixels_at(there.transform, ~raster.transform, np.array(rim))
    if not np.isfinite(pixels).all():
        return nothing
    first = np.maximum(np.floor(pixels.min(axis=0)) - MARGIN_PIXELS, 0)
    last = np.minimum(np.ceil(pixels.max(axis=0)) + MARGIN_PIXELS, [raster.width, raster.height])
    if (last <= first).any():
        return nothing
    return Window(*map(int, first), *map(int, last - first))
