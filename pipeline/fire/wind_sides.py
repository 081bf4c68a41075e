"""Which way the edges of a block face, and on which side of the planned wind they lie."""

import numpy as np
import shapely
from pyproj import CRS

from pipeline.fire.breaks.break_lines import smoothed_spans
from pipeline.ground.geometry import segment_bearings_deg
from pipeline.ground.snapping import Sides

TIE_DEG = 0.1
"""Angles are rounded to this, so that an edge right on the limit does not flip by rounding."""


STRAIGHT_SHARE = 0.01
"""A line whose ends are closer than this share of its length closes on itself and faces no way."""


SIDES = ("downwind", "flank", "upwind")
"""Sides of a block in the wind, the most exposed first."""


def outward_spans(
    lines: np.ndarray, crs: CRS, smoothing_m: float
) -> list[tuple[np.ndarray, np.ndarray]]:
    """For each line: where its smoothed spans end [m], and the way each of them faces [degree].

    A line has its block on the left hand, so that outward is to the right of its direction.
    """
    sides = Sides.of(lines)
    start, end, _ = smoothed_spans(lines, smoothing_m)
    stops = sides.arc + np.hypot(*(sides.end - sides.start).T)
    result = []
    for first, count in zip(sides.first, sides.count, strict=True):
        mine = slice(first, first + count)
        change = np.any(np.diff(start[mine], axis=0) != 0, axis=1)
        last = np.flatnonzero(np.append(change, True))
        ahead = bearings_deg(start[mine][last], end[mine][last], crs)
        result.append((stops[mine][last], np.mod(ahead + 90.0, 360.0)))
    return result


def bearings_deg(start: np.ndarray, end: np.ndarray, crs: CRS) -> np.ndarray:
    """Direction [degree clockwise from true north] from each start to its end."""
    points = np.stack([start, end], axis=1).reshape(-1, 2)
    return segment_bearings_deg(points, crs)[::2]


def facing_deg(line: shapely.LineString, crs: CRS) -> float:
    """Outward direction [degree] of a stretch as a whole; NaN for one that closes on itself."""
    first, last = np.array(line.coords[0]), np.array(line.coords[-1])
    if np.hypot(*(last - first)) < STRAIGHT_SHARE * line.length:
        return float("nan")
    return float(np.mod(segment_bearings_deg(np.array([first, last]), crs)[0] + 90.0, 360.0))


def off_downwind_deg(outward_deg: np.ndarray, wind_from_deg: float) -> np.ndarray:
    """Angle [degree, 0 to 180] between the outward direction of an edge and where the wind goes."""
    off = np.abs(np.mod(outward_deg - (wind_from_deg + 180.0) + 180.0, 360.0) - 180.0)
    return np.round(off / TIE_DEG) * TIE_DEG


def wind_sides(
    outward_deg: np.ndarray, wind_from_deg: float | None, half_angle_deg: float
) -> np.ndarray:
    """Side of the block each edge lies on: downwind, flank, upwind; None without a wind.

    Downwind is where the wind leaves the block: the side that must hold the head fire. An edge
    just on the limit counts as downwind, or as upwind on the other end.
    """
    if wind_from_deg is None or np.isnan(wind_from_deg):
        return np.full(len(outward_deg), None, dtype=object)
    off = off_downwind_deg(outward_deg, wind_from_deg)
    up = off >= 180.0 - half_angle_deg - TIE_DEG / 2
    down = off <= half_angle_deg + TIE_DEG / 2
    return np.where(down, "downwind", np.where(up, "upwind", "flank")).astype(object)


def held_sides(
    outward_deg: np.ndarray, wind_from_deg: float | None, half_angle_deg: float, arc_deg: float
) -> np.ndarray:
    """Most exposed side that each edge comes to lie on in the winds planned for.

    These are the winds up to the arc to either side of the planned one: an edge is held as a
    downwind one if it is one in any of them, and as an upwind one if it is one in all. None
    without a wind.
    """
    if wind_from_deg is None or np.isnan(wind_from_deg):
        return np.full(len(outward_deg), None, dtype=object)
    off = off_downwind_deg(outward_deg, wind_from_deg)
    down = off - arc_deg <= half_angle_deg + TIE_DEG / 2
    up = off - arc_deg >= 180.0 - half_angle_deg - TIE_DEG / 2
    return np.where(down, "downwind", np.where(up, "upwind", "flank")).astype(object)
