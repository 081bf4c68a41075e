"""Areas, lengths and directions on the ellipsoid, and the working projection."""

import math
from functools import lru_cache

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS, Geod, Transformer
from pyproj.crs import ProjectedCRS
from pyproj.crs.coordinate_operation import LambertAzimuthalEqualAreaConversion

from pipeline.core.units import M2_PER_AC, M_PER_FT

CENTER_STEP_DEG = 0.01
"""The working projection's center is rounded to this, so that a small edit does not move it."""


EARTH_RADIUS_M = 6_371_008.8
"""Mean radius of the earth. *Source*: GRS 80 (H. Moritz, Geodetic Reference System 1980)."""


def is_of_the_earth(crs: CRS) -> bool:
    """Whether a reference system tells where on the earth a place is; some are of other bodies.

    All ellipsoids of the earth have a semi-major axis within 1 % of its mean radius.
    """
    geod = crs.get_geod() if crs.geodetic_crs is not None else None
    return geod is not None and abs(geod.a / EARTH_RADIUS_M - 1) < 0.01


def working_crs(shapes: gpd.GeoSeries) -> CRS:
    """Lambert azimuthal equal-area projection [m] centered on the shapes, on their own datum.

    Equal in area, and over a property of 50 km wrong by at most 8 ppm in length; the reported
    figures are ellipsoidal anyway, this plane only carries the overlays.

    *Source*: J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395
    (1987), chapter 24.
    """
    own = CRS(shapes.crs)
    geographic = own.geodetic_crs
    if geographic is None:
        raise ValueError(f"{own.name} is not tied to the earth")
    west, south, east, north = _bounds_deg(shapes.to_crs(geographic))
    lon_deg, lat_deg = (
        round(middle / CENTER_STEP_DEG) * CENTER_STEP_DEG
        for middle in ((west + east) / 2, (south + north) / 2)
    )
    conversion = LambertAzimuthalEqualAreaConversion(
        latitude_natural_origin=round(lat_deg, 6), longitude_natural_origin=round(lon_deg, 6)
    )
    made = ProjectedCRS(conversion, name="Property-centered equal-area", geodetic_crs=geographic)
    # As it is made it names the parts of its datum, which are looked up for each transformer in a
    # fortieth of a second; as text it names the codes of those parts.
    return CRS.from_wkt(made.to_wkt())


def _bounds_deg(shapes: gpd.GeoSeries) -> tuple[float, float, float, float]:
    """West, south, east and north [degree] of shapes; east is above 180 where they lie across it.

    Of the two ways around the earth the shorter one is meant.
    """
    lon_deg, lat_deg = shapely.get_coordinates(shapes.to_numpy()).T
    onward = lon_deg % 360.0
    ways = onward if np.ptp(onward) < np.ptp(lon_deg) - 1.0 else lon_deg
    return float(ways.min()), float(lat_deg.min()), float(ways.max()), float(lat_deg.max())


@lru_cache(maxsize=32)
def _to_ellipsoid(crs_wkt: str) -> tuple[Transformer, Geod]:
    """Transformer from a CRS to its own longitude and latitude, and the ellipsoid there."""
    crs = CRS.from_wkt(crs_wkt)
    geographic = crs.geodetic_crs
    geod = crs.get_geod()
    if geographic is None or geod is None:
        raise ValueError(f"{crs.name} is not tied to the earth")
    return Transformer.from_crs(crs, geographic, always_xy=True), geod


def _lonlat(shapes: gpd.GeoSeries) -> tuple[np.ndarray, Geod]:
    """The shapes with their vertices in longitude and latitude [deg], and their ellipsoid."""
    transformer, geod = _to_ellipsoid(CRS(shapes.crs).to_wkt())

    def project(points: np.ndarray) -> np.ndarray:
        return np.column_stack(transformer.transform(points[:, 0], points[:, 1]))

    return shapely.transform(shapes.to_numpy(), project), geod


def area_m2(shapes: gpd.GeoSeries) -> np.ndarray:
    """Area on the ellipsoid [m²] of each polygon or multipolygon, holes taken out.

    Each ring is measured by itself, whichever way it runs: the geodesic routine trusts the
    direction of a ring and would add a hole that is wound like its shell, and a ring cannot be
    turned with certainty once rounding has tied a knot at its topmost vertex.

    *Source*: C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), section 6.
    """
    polygons, geod = _lonlat(shapes)
    return np.array(
        [
            sum((_polygon_m2(part, geod) for part in shapely.get_parts(shape)), start=0.0)
            for shape in polygons
        ]
    )


def _polygon_m2(polygon: shapely.Polygon, geod: Geod) -> float:
    """Area on the ellipsoid [m²] of a polygon in longitude and latitude."""
    shell_m2, *holes_m2 = (
        abs(geod.geometry_area_perimeter(ring)[0]) for ring in shapely.get_rings(polygon)
    )
    return float(shell_m2 - sum(holes_m2))


def area_ac(shapes: gpd.GeoSeries) -> np.ndarray:
    """Area on the ellipsoid [acre] of each polygon or multipolygon."""
    return area_m2(shapes) / M2_PER_AC


def length_m(shapes: gpd.GeoSeries) -> np.ndarray:
    """Length on the ellipsoid [m] of each line, or of all outlines of each polygon.

    Horizontal: on a slope of 20 % the ground is 2 % longer.
    """
    lines, geod = _lonlat(shapes)
    outlines = np.where(shapely.get_dimensions(lines) == 2, shapely.boundary(lines), lines)
    return np.array([geod.geometry_length(line) for line in outlines])


def length_ft(shapes: gpd.GeoSeries) -> np.ndarray:
    """Length on the ellipsoid [ft] of each line, or of all outlines of each polygon."""
    return length_m(shapes) / M_PER_FT


def segment_bearings_deg(points: np.ndarray, crs: CRS) -> np.ndarray:
    """Direction [degree clockwise from true north] of each step of a line.

    ``points`` is (n, 2) in ``crs``; the result has n − 1 values in [0, 360).
    """
    transformer, geod = _to_ellipsoid(CRS(crs).to_wkt())
    lon_deg, lat_deg = transformer.transform(points[:, 0], points[:, 1])
    forward_deg, _, _ = geod.inv(lon_deg[:-1], lat_deg[:-1], lon_deg[1:], lat_deg[1:])
    return np.mod(forward_deg, 360.0)


def angle_between_deg(a_deg: float, b_deg: float) -> float:
    """Smaller angle [degree, 0 to 180] between two directions."""
    return abs(math.remainder(a_deg - b_deg, 360.0))


def near_another(
    points: np.ndarray, of_point: np.ndarray, sides: np.ndarray, of_side: np.ndarray, reach_m: float
) -> np.ndarray:
    """Whether each point has a side of another shape than its own within the reach [m].

    Asked before pairs are looked for: a dense outline has thousands of sides of its own around each
    of its points.
    """
    near = np.zeros(len(points), dtype=bool)
    tree = shapely.STRtree(points)
    for shape in np.unique(of_side):
        outline = shapely.multilinestrings(sides[of_side == shape])
        shapely.prepare(outline)
        asked = tree.query(shapely.buffer(shapely.box(*outline.bounds), reach_m))
        asked = asked[(of_point[asked] != shape) & ~near[asked]]
        near[asked] = shapely.dwithin(outline, points[asked], reach_m)
    return near
