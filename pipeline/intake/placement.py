"""Whether shapes lie where a property can lie: the signs of a wrong reference system."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS

BEYOND_USE_DEG = 4.0


HIGHEST_LATITUDE_DEG = 75.0


WGS84 = CRS.from_epsg(4326)


@dataclass(frozen=True, slots=True)
class Misplaced:
    """Rows [from 1] that cannot lie where they say, and what to do."""

    rows: tuple[int, ...]
    found: str
    expected: str
    do: str


def misplaced(shapes: gpd.GeoSeries) -> Misplaced | None:
    """Why the shapes cannot be where their reference system puts them, None where they can.

    Every shape must have finite coordinates and at least one of them.
    """
    crs = CRS(shapes.crs)
    bounds = shapely.bounds(shapes.to_numpy())
    if crs.is_geographic:
        problem = _outside_the_earth(bounds) or _across_the_date_line(bounds)
    else:
        problem = _degrees_in_a_plane(bounds, crs)
    return problem or _outside_area_of_use(shapes, crs, bounds)


def _rows(flags: np.ndarray) -> tuple[int, ...]:
    """Numbers of the flagged rows, from 1."""
    return tuple((np.flatnonzero(flags) + 1).tolist())


def _corner(bounds: np.ndarray) -> str:
    """The lower left corner of a row as text."""
    return f"({bounds[0]:.6g}, {bounds[1]:.6g})"


def _outside_the_earth(bounds: np.ndarray) -> Misplaced | None:
    """Coordinates that are no degrees, or degrees in the wrong order."""
    size = np.abs(bounds)
    beyond = (size[:, [0, 2]] > 180.0).any(axis=1) | (size[:, [1, 3]] > 90.0).any(axis=1)
    polar = ~beyond & (size[:, [1, 3]] > HIGHEST_LATITUDE_DEG).any(axis=1)
    if not (beyond | polar).any():
        return None
    first = bounds[np.argmax(beyond | polar)]
    if (size[:, [0, 2]] <= HIGHEST_LATITUDE_DEG).all() and (size <= 180.0).all():
        return Misplaced(_rows(beyond | polar), f"coordinates such as {_corner(first)}",
                         "longitude first, then latitude",
                         "the axes are swapped: save it with longitude first")  # fmt: skip
    if polar.any():
        return Misplaced(_rows(polar), f"a latitude above {HIGHEST_LATITUDE_DEG:g}°",
                         "ground that can be grazed or burned",
                         "check the reference system of the file")  # fmt: skip
    return Misplaced(_rows(beyond), f"coordinates such as {_corner(first)}",
                     "degrees within ±180 and ±90",
                     "these are no degrees: save the file in its true system")  # fmt: skip


def _across_the_date_line(bounds: np.ndarray) -> Misplaced | None:
    """Shapes that go around the earth the long way."""
    wide = bounds[:, 2] - bounds[:, 0] > 180.0
    if wide.any() or bounds[:, 2].max() - bounds[:, 0].min() > 180.0:
        return Misplaced(_rows(wide) or (1,), "shapes on both sides of the date line",
                         "a property on one side", "split it at 180°")  # fmt: skip
    return None


def _degrees_in_a_plane(bounds: np.ndarray, crs: CRS) -> Misplaced | None:
    """Numbers that look like degrees in a system that counts meters or feet."""
    size = np.abs(bounds)
    if (size[:, [0, 2]] <= 360.0).all() and (size[:, [1, 3]] <= 90.0).all():
        unit = crs.axis_info[0].unit_name
        return Misplaced(_rows(np.ones(len(bounds), bool)),
                         f"coordinates such as {_corner(bounds[0])} look like degrees",
                         f"coordinates in {unit}, as {crs.name} says",
                         "save the file with its true reference system")  # fmt: skip
    return None


def _outside_area_of_use(shapes: gpd.GeoSeries, crs: CRS, bounds: np.ndarray) -> Misplaced | None:
    """Shapes far from the area that their reference system is made for."""
    corners = gpd.GeoSeries(
        gpd.points_from_xy((bounds[:, 0] + bounds[:, 2]) / 2, (bounds[:, 1] + bounds[:, 3]) / 2),
        crs=crs,
    ).to_crs(WGS84)
    lon_deg, lat_deg = corners.x.to_numpy(), corners.y.to_numpy()
    lost = ~(np.isfinite(lon_deg) & np.isfinite(lat_deg))
    west, south, east, north = crs.area_of_use.bounds if crs.area_of_use else (-180, -90, 180, 90)
    # Areas of use that cross the date line have their west east of their east.
    away_lon = np.mod(lon_deg - west + BEYOND_USE_DEG, 360.0)
    width = np.mod(east - west, 360.0) or 360.0
    outside = lost | (away_lon > width + 2 * BEYOND_USE_DEG) | (lat_deg < south - BEYOND_USE_DEG)
    outside |= lat_deg > min(north + BEYOND_USE_DEG, HIGHEST_LATITUDE_DEG)
    if not outside.any():
        return None
    first = int(np.argmax(outside))
    place = (
        "nowhere on the earth" if lost[first] else f"at {lat_deg[first]:.4f}, {lon_deg[first]:.4f}"
    )
    swapped = (
        crs.is_geographic and south <= lon_deg[first] <= north and west <= lat_deg[first] <= east
    )
    do = ("the axes are swapped: save it with longitude first" if swapped
          else "the reference system is wrong: find out the true one")  # fmt: skip
    area = f" ({crs.area_of_use.name[:80]})" if crs.area_of_use else ""
    return Misplaced(_rows(outside), f"{crs.name} puts row {first + 1} {place}",
                     f"ground in the area of that system{area}", do)  # fmt: skip
