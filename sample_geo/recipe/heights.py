"""The invented heights: a wide slope, the creek's valley, a steep draw and two hills.

They are written in US survey feet, as many older surveys are, so that the property file has to
tell it. Places are counted from the pixels alone, not through a projection, so that every version
of PROJ gives the same file.
"""

import math
from pathlib import Path

import numpy as np
import shapely
from shapely import LineString

from recipe import ground
from recipe.scenes import grid_over_property, write_raster

FILE_NAME = "heights.tif"
ORIGIN = (756100.0, 4432069.0)  # the middle of the plane in UTM zone 14, to the meter
TURN_DEG = 1.929  # from the plane's north to that of the zone
STEP_FT = 0.1  # heights are stored in tenths of a foot
FT_PER_M = 3937 / 1200
DRAW = LineString([(-705, 260), (-700, 150), (-672, -20), (-680, -120), (-640, -230), (-630, -420)])
HILLS = ((120.0, 640.0, 14.0, 190.0), (720.0, 640.0, 18.0, 160.0))  # x, y, height, reach [m]


def height_m(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Height [m] of the ground at a place of the plane."""
    height = 395.0 + 0.008 * x + 0.012 * y
    for line, deep_m, wide_m in ((LineString(ground.CREEK), 9.0, 95.0), (DRAW, 15.0, 62.0)):
        height = height - deep_m * np.exp(
            -((shapely.distance(line, shapely.points(x, y)) / wide_m) ** 2)
        )
    for east, north, high_m, wide_m in HILLS:
        height = height + high_m * np.exp(-((x - east) ** 2 + (y - north) ** 2) / wide_m**2)
    return height


def write_heights(folder: Path) -> None:
    """The raster of heights of the sample property."""
    grid = grid_over_property("EPSG:32614", 10.0)
    rows, columns = grid.x.shape
    column, row = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    east = grid.transform.c + 10.0 * column - ORIGIN[0]
    north = grid.transform.f - 10.0 * row - ORIGIN[1]
    cos, sin = math.cos(math.radians(TURN_DEG)), math.sin(math.radians(TURN_DEG))
    feet = height_m(cos * east + sin * north, cos * north - sin * east) * FT_PER_M
    stored = np.rint(feet / STEP_FT).astype("int16")
    write_raster(folder / FILE_NAME, stored, grid, scale=STEP_FT)
