"""Whether shapes lie where a property can lie: the signs of a wrong reference system."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS, Transformer

from pipeline.core.errors import Fault
from pipeline.core.names import listed

BEYOND_USE_DEG = 4.0
HIGHEST_LATITUDE_DEG = 75.0
WGS84 = CRS.from_epsg(4326)
SWAPPED = "the axes are swapped: save it with longitude first"


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Which shapes cannot lie where they say, and what to do."""

    odd: np.ndarray
    found: str
    expected: str
    do: str


def misplacement(shapes: gpd.GeoSeries, rows: np.ndarray, name: str) -> Fault | None:
    """Why shapes cannot be where their reference system puts them, None where they can.

    Every shape must have finite coordinates and at least one of them. ``rows`` are their numbers
    in the file called ``name``, from 1.
    """
    crs = CRS(shapes.crs)
    bounds = shapely.bounds(shapes.to_numpy())
    if crs.is_geographic:
        why = _outside_the_earth(bounds) or _across_the_date_line(bounds)
    else:
        why = _degrees_in_a_plane(bounds, crs)
    why = why or _outside_area_of_use(bounds, crs, rows)
    if why is None:
        return None
    odd = rows[why.odd]
    where = f"{name}, row{'s' if len(odd) > 1 else ''} {listed(odd)}"
    return Fault(where, why.found, why.expected, why.do)


def _corner_words(bounds: np.ndarray) -> str:
    """The lower left corner of a shape in words."""
    return f"coordinates such as ({bounds[0]:.6g}, {bounds[1]:.6g})"


def _outside_the_earth(bounds: np.ndarray) -> Misplaced | None:
    """Coordinates that are no degrees, or degrees in the wrong order."""
    size = np.abs(bounds)
    too_large = (size[:, [0, 2]] > 180.0).any(axis=1) | (size[:, [1, 3]] > 90.0).any(axis=1)
    polar = ~too_large & (size[:, [1, 3]] > HIGHEST_LATITUDE_DEG).any(axis=1)
    odd = too_large | polar
    if not odd.any():
        return None
    found = _corner_words(bounds[np.argmax(odd)])
    if (size[:, [0, 2]] <= HIGHEST_LATITUDE_DEG).all() and (size <= 180.0).all():
        return Misplaced(odd, found, "longitude first, then latitude", SWAPPED)
    if polar.any():
        found = f"a latitude above {HIGHEST_LATITUDE_DEG:g}°"
        expected = "ground that can be grazed or burned"
        return Misplaced(polar, found, expected, "check the reference system of the file")
    do = "these are no degrees: save the file in its true system"
    return Misplaced(too_large, found, "degrees within ±180 and ±90", do)


def _across_the_date_line(bounds: np.ndarray) -> Misplaced | None:
    """Shapes that go around the earth the long way."""
    wide = bounds[:, 2] - bounds[:, 0] > 180.0
    if not wide.any() and bounds[:, 2].max() - bounds[:, 0].min() <= 180.0:
        return None
    odd = wide if wide.any() else np.arange(len(bounds)) == 0
    found = "shapes on both sides of the date line"
    return Misplaced(odd, found, "a property on one side", "split it at 180°")


def _degrees_in_a_plane(bounds: np.ndarray, crs: CRS) -> Misplaced | None:
    """Numbers that look like degrees in a system that counts meters or feet."""
    size = np.abs(bounds)
    if (size[:, [0, 2]] > 360.0).any() or (size[:, [1, 3]] > 90.0).any():
        return None
    return Misplaced(
        odd=np.ones(len(bounds), bool),
        found=f"{_corner_words(bounds[0])} look like degrees",
        expected=f"coordinates in {crs.axis_info[0].unit_name}, as {crs.name} says",
        do="save the file with its true reference system",
    )


def _outside_area_of_use(bounds: np.ndarray, crs: CRS, rows: np.ndarray) -> Misplaced | None:
    """Shapes far from the area that their reference system is made for."""
    to_degrees = Transformer.from_crs(crs, WGS84, always_xy=True)
    middle_x, middle_y = (bounds[:, 0] + bounds[:, 2]) / 2, (bounds[:, 1] + bounds[:, 3]) / 2
    lon_deg, lat_deg = to_degrees.transform(middle_x, middle_y)
    lost = ~(np.isfinite(lon_deg) & np.isfinite(lat_deg))
    west, south, east, north = crs.area_of_use.bounds if crs.area_of_use else (-180, -90, 180, 90)
    # Areas of use that cross the date line have their west east of their east.
    away_lon = np.mod(lon_deg - west + BEYOND_USE_DEG, 360.0)
    width = np.mod(east - west, 360.0) or 360.0
    odd = lost | (away_lon > width + 2 * BEYOND_USE_DEG) | (lat_deg < south - BEYOND_USE_DEG)
    odd |= lat_deg > min(north + BEYOND_USE_DEG, HIGHEST_LATITUDE_DEG)
    if not odd.any():
        return None
    first = int(np.argmax(odd))
    lon, lat = lon_deg[first], lat_deg[first]
    place = "nowhere on the earth" if lost[first] else f"at {lat:.4f}, {lon:.4f}"
    swapped = crs.is_geographic and south <= lon <= north and west <= lat <= east
    area = f" ({crs.area_of_use.name[:80]})" if crs.area_of_use else ""
    return Misplaced(
        odd=odd,
        found=f"{crs.name} puts row {rows[first]} {place}",
        expected=f"ground in the area of that system{area}",
        do=SWAPPED if swapped else "the reference system is wrong: find out the true one",
    )
