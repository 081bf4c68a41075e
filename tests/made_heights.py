"""Rasters of heights whose surface is a formula in the working plane, in any grid and unit."""

import numpy as np
import rasterio
from pyproj import CRS, Transformer

from tests.made_properties import CRS as PLANE

M_PER_UNIT = {"m": 1.0, "ft": 0.3048, "us-ft": 1200 / 3937}  # NIST SP 811 (2008), appendix B

GRIDS = {  # name: CRS, pixel in its unit, rotation [degree], unit of the heights
    "utm_10m": ("EPSG:26915", 10.0, 0, "m"),
    "utm_1m": ("EPSG:26915", 1.0, 0, "m"),
    "third_arc_second": ("EPSG:4269", 1 / 10800, 0, "m"),
    "us_feet": ("EPSG:26915", 10.0, 0, "us-ft"),
    "feet": ("EPSG:26915", 10.0, 0, "ft"),
    "rotated": ("EPSG:26915", 10.0, 30, "m"),
    "web_mercator": ("EPSG:3857", 10.0, 0, "m"),
}


def plane(x, y):
    """Rises 12 % to the east and 5 % to the north: 13 %."""
    return 300 + 0.12 * x + 0.05 * y


def saddle(x, y):
    return 300 + x * y / 4000


def cone(x, y):
    """Falls 20 % every way from its tip."""
    return 400 - 0.2 * np.hypot(x, y)


def write_heights(path, surface, grid="utm_10m", half_m=400.0, noise_m=0.0, **profile):
    """A GeoTIFF over the square of ``half_m`` around the middle of the plane."""
    name, pixel, turn_deg, unit = GRIDS[grid]
    to_grid = Transformer.from_crs(PLANE, CRS(name), always_xy=True)
    rim = np.array([(x, y) for x in (-half_m, half_m) for y in (-half_m, half_m)])
    corners = np.column_stack(to_grid.transform(*rim.T))
    middle, reach = corners.mean(axis=0), np.ptp(corners, axis=0).max() / 2 * 1.5 + 5 * pixel
    count = int(np.ceil(2 * reach / pixel))
    cos, sin = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    a, b, d, e = pixel * cos, pixel * sin, pixel * sin, -pixel * cos
    left, top = middle - np.array([[a, b], [d, e]]) @ [count / 2, count / 2]
    column, row = np.meshgrid(np.arange(count) + 0.5, np.arange(count) + 0.5)
    x, y = to_grid.transform(
        a * column + b * row + left, d * column + e * row + top, direction="INVERSE"
    )
    heights = surface(x, y) + noise_m * np.random.default_rng(7).standard_normal(x.shape)
    told = {
        "driver": "GTiff",
        "dtype": "float64",
        "count": 1,
        "crs": name,
        "transform": rasterio.Affine(a, b, left, d, e, top),
        "width": count,
        "height": count,
        "nodata": -9999,
    } | profile
    with rasterio.open(path, "w", **told) as raster:
        raster.write((heights / M_PER_UNIT[unit]).astype(told["dtype"]), 1)
    return {
        "path": str(path),
        "name": path.name,
        "band": 1,
        "height_unit": unit,
        "scale": 1.0,
        "offset": 0.0,
    }
