"""Lines of the plan in degrees: thinned within a tolerance, rounded, no point twice, split.

*Source*: D. Douglas and T. Peucker, Algorithms for the reduction of the number of points required
to represent a digitized line, Cartographica 10 (1973): no point left out lies farther than the
tolerance from the line that stays.
"""

from collections.abc import Iterable, Sequence

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS

from pipeline.core.units import M_PER_FT

DEGREES = 7  # decimals: about a centimeter; never in powers of ten, which the schemas refuse


Point = tuple[str, str]
"""Longitude and latitude [degree] as they are written."""


def lines_of(shape: shapely.Geometry) -> list[shapely.Geometry]:
    """Lines of a shape: its parts, or the rings of those that are ground, outer ring first."""
    return [
        line
        for part in shapely.get_parts(shape)
        for line in (shapely.get_rings(part) if part.geom_type == "Polygon" else [part])
    ]


def points_of(
    shapes: Iterable[shapely.Geometry], crs: CRS, thin_ft: float = 0.0
) -> list[list[Point]]:
    """Points of each line or place [m], thinned by no more than ``thin_ft`` [ft].

    A receiver takes any number for a degree, so numbers that can be none are refused here.
    """
    listed = np.array(list(shapes), dtype=object)
    if thin_ft > 0:
        listed = shapely.simplify(listed, thin_ft * M_PER_FT)
    turned = gpd.GeoSeries(listed, crs=crs).to_crs(4326)
    coordinates = shapely.get_coordinates(turned.to_numpy())
    if len(coordinates) and not (
        (abs(coordinates[:, 0]) <= 180).all() and (abs(coordinates[:, 1]) <= 90).all()
    ):
        raise ValueError("coordinates for the receiver are not in degrees")
    return [once(_written(shape)) for shape in turned]


def _written(shape: shapely.Geometry) -> list[Point]:
    places = shapely.get_coordinates(shape)
    return [(f"{lon:.{DEGREES}f}", f"{lat:.{DEGREES}f}") for lon, lat in places]


def once(points: Sequence[Point]) -> list[Point]:
    """Points without those that repeat the one before."""
    return [point for n, point in enumerate(points) if n == 0 or point != points[n - 1]]


def split(points: list[Point], most: int) -> list[list[Point]]:
    """A line in pieces of at most ``most`` points, each beginning where the one before ended."""
    if len(points) <= most:
        return [points]
    return [points[n : n + most] for n in range(0, len(points) - 1, most - 1)]
