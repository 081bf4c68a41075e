"""Heights and slopes of the ground, from a grid of heights that any raster may have given.

Everything is asked for at points of the working projection. So heights in degrees, in feet, on a
rotated grid or in a projection that stretches the ground need no case of their own.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely

FINEST_STEP_M = 10.0
"""Heights closer together than this are not compared: noise of a fine grid would lengthen lines.

Heights that are 0.15 m off make a line 1.1 % longer when read each meter, 0.01 % each 10 m.
"""

STENCIL = np.array([(east, north) for north in (1, 0, -1) for east in (-1, 0, 1)], dtype=float)
"""Places around a point, in steps east and north, from the northwest."""

EAST_WEIGHTS = np.array([-1, 0, 1, -2, 0, 2, -1, 0, 1]) / 8
NORTH_WEIGHTS = np.array([1, 2, 1, 0, 0, 0, -1, -2, -1]) / 8


@dataclass(frozen=True, slots=True)
class Terrain:
    """Heights [m] on a grid of pixels, NaN where unknown, and how to find a place on it.

    ``to_pixels`` takes points of the working projection, one a row, to columns and rows counted
    from the outer corner of the first pixel. ``step_m`` is how far apart heights are compared.
    """

    heights_m: np.ndarray
    to_pixels: Callable[[np.ndarray], np.ndarray]
    step_m: float

    def height_m(self, points: np.ndarray) -> np.ndarray:
        """Height [m] at points, bilinear between the middles of four pixels; NaN beyond them."""
        column, row = np.nan_to_num(self.to_pixels(points) - 0.5, nan=-1.0, posinf=-1.0).T
        rows, columns = self.heights_m.shape
        left, top = np.floor(column), np.floor(row)
        known = (left >= 0) & (top >= 0) & (left < columns - 1) & (top < rows - 1)
        if not known.any():
            return np.full(len(points), np.nan)
        j, i = (np.where(known, edge, 0).astype(int) for edge in (left, top))
        x, y = column - left, row - top
        upper = self.heights_m[i, j] * (1 - x) + self.heights_m[i, j + 1] * x
        lower = self.heights_m[i + 1, j] * (1 - x) + self.heights_m[i + 1, j + 1] * x
        return np.where(known, upper * (1 - y) + lower * y, np.nan)

    def gradient(self, points: np.ndarray) -> np.ndarray:
        """Rise of the ground to the east and to the north [m per m] at each point.

        *Source*: B. K. P. Horn, Hill shading and the reflectance map, Proceedings of the IEEE 69
        (1981), third-order finite differences over 3 x 3 heights; here they are ``step_m`` apart.
        """
        around = points[:, None, :] + STENCIL * self.step_m
        heights = self.height_m(around.reshape(-1, 2)).reshape(-1, len(STENCIL))
        return np.column_stack([heights @ EAST_WEIGHTS, heights @ NORTH_WEIGHTS]) / self.step_m


@dataclass(frozen=True, slots=True)
class Profile:
    """Heights [m] along a line at even spacing, and the middles of the spans between them.

    ``ahead`` is the direction of each span as a step of length 1.
    """

    span_m: float
    heights_m: np.ndarray
    middles: np.ndarray
    ahead: np.ndarray

    @property
    def rise(self) -> np.ndarray:
        """Rise of each span [m per m] in the direction of the line."""
        return np.diff(self.heights_m) / self.span_m

    @property
    def surface_ratio(self) -> float:
        """Length over the ground for each meter on the map, of the spans with heights; or NaN."""
        rise = self.rise[np.isfinite(self.rise)]
        return float(np.sqrt(1 + rise**2).mean()) if len(rise) else math.nan


def profile(terrain: Terrain, line: shapely.LineString) -> Profile:
    """Heights along a line, at most a step apart, from its first point to its last."""
    spans = max(1, math.ceil(line.length / terrain.step_m))
    places = np.linspace(0.0, line.length, spans + 1)
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, places))
    steps = np.diff(points, axis=0)
    lengths = np.maximum(np.hypot(*steps.T), 1e-9)[:, None]
    middle_places = (places[1:] + places[:-1]) / 2
    middles = shapely.get_coordinates(shapely.line_interpolate_point(line, middle_places))
    return Profile(line.length / spans, terrain.height_m(points), middles, steps / lengths)


def lattice(shape: shapely.Geometry, spacing_m: float) -> np.ndarray:
    """Points inside a polygon on a square lattice; one point where it is smaller than a cell."""
    west, south, east, north = shape.bounds
    x, y = np.meshgrid(
        np.arange(west + spacing_m / 2, east, spacing_m),
        np.arange(south + spacing_m / 2, north, spacing_m),
    )
    shapely.prepare(shape)
    points = np.column_stack([x.ravel(), y.ravel()])
    inside = points[shapely.contains_xy(shape, points[:, 0], points[:, 1])]
    return inside if len(inside) else shapely.get_coordinates(shape.representative_point())
