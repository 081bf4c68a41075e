"""Breaks as they are drawn: where two of them meet, and how wide one is.

Whether two breaks meet is asked on the ground around a place: roads that lie apart there and come
together a mile away are apart there.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from pipeline.core.units import M_PER_FT
from pipeline.ground.intervals import JOIN_M
from pipeline.ground.overlays import common, united

MEET_M = 1.0
"""Ends of breaks closer to each other than this meet: common practice, no source."""


WIDTH_STEP_M = 5.0
"""Along a stretch the drawn width of a break is taken this often."""


@dataclass(frozen=True, slots=True)
class Meeting:
    """How a break goes over into another around a place.

    ``apart_m`` is the way [m] between them, 0 where one leads into the other; ``shape`` is all
    that hangs together with either of them there.
    """

    apart_m: float
    shape: shapely.Geometry


@dataclass(frozen=True, slots=True)
class DrawnBreaks:
    """Parts of breaks, each with the row it belongs to, to be found by their place.

    ``course`` is the line that a part belongs to with all that goes on from its ends without a
    branch, whatever rows it was cut into.
    """

    parts: np.ndarray
    row: np.ndarray
    course: np.ndarray
    tree: shapely.STRtree

    @classmethod
    def of(cls, shapes: np.ndarray) -> "DrawnBreaks":
        """Parts of break shapes, lines of one row that touch taken together."""
        is_line = shapely.get_dimensions(shapes) == 1
        merged = np.where(is_line, shapely.line_merge(shapes), shapes)
        parts, row = shapely.get_parts(merged, return_index=True)
        return cls(parts, row, _courses(parts), shapely.STRtree(parts))

    def nearest_part(self, row: int, point: shapely.Point) -> int:
        """Number of the part of a row that is nearest to a point."""
        mine = np.flatnonzero(self.row == row)
        return int(mine[np.argmin(shapely.distance(self.parts[mine], point))])

    def meeting(
        self,
        around: shapely.Geometry,
        one: tuple[int, shapely.Point],
        two: tuple[int, shapely.Point],
    ) -> Meeting:
        """How one part, where it is nearest a point, goes over into another, near another point.

        Only ground ``around`` counts.
        """
        near = self.tree.query(around, predicate="intersects")
        pieces, number = shapely.get_parts(common(self.parts[near], around), return_index=True)
        solid = shapely.get_dimensions(pieces) > 0
        pieces, part = pieces[solid], near[number[solid]]
        group = _groups(pieces)
        first, second = (_group_at(pieces, part, group, *end) for end in (one, two))
        if first < 0 or second < 0:
            return Meeting(np.inf, shapely.MultiLineString())
        here = united(pieces[group == first])
        there = united(pieces[group == second])
        apart_m = 0.0 if first == second else float(shapely.distance(here, there))
        return Meeting(apart_m, united([here, there]))


def _courses(parts: np.ndarray) -> np.ndarray:
    """Number of the course that each part belongs to."""
    is_line = shapely.get_dimensions(parts) == 1
    lines = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(parts[is_line])))
    middles = shapely.line_interpolate_point(parts[is_line], 0.5, normalized=True)
    course = len(lines) + np.arange(len(parts))
    if len(lines):
        course[is_line] = shapely.STRtree(lines).nearest(middles)
    return course


def _groups(pieces: np.ndarray) -> np.ndarray:
    """Number of the group of each piece; pieces that meet, directly or over others, share it."""
    one, other = shapely.STRtree(pieces).query(pieces, predicate="dwithin", distance=MEET_M)
    group = np.arange(len(pieces))
    while True:
        least = group.copy()
        np.minimum.at(least, one, group[other])
        if (least == group).all():
            return group
        group = least


def _group_at(
    pieces: np.ndarray, part: np.ndarray, group: np.ndarray, wanted: int, point: shapely.Point
) -> int:
    """Group of the piece of a part that is nearest to a point; −1 where the part is not there."""
    mine = np.flatnonzero(part == wanted)
    if not len(mine):
        return -1
    return int(group[mine[np.argmin(shapely.distance(pieces[mine], point))]])


def drawn_width_ft(line: shapely.LineString, polygon: shapely.Geometry, most_m: float) -> float:
    """Narrowest width [ft] of a break polygon, square to the line that runs along it.

    Looked for up to ``most_m`` to either side; the ends of the line are left out, since a polygon
    that ends there tapers off. NaN where no square to the line meets the polygon.
    """
    count = max(1, int(line.length / WIDTH_STEP_M))
    at = (np.arange(count) + 0.5) * line.length / count
    points = shapely.get_coordinates(shapely.line_interpolate_point(line, at))
    ahead = shapely.get_coordinates(shapely.line_interpolate_point(line, at + JOIN_M))
    behind = shapely.get_coordinates(shapely.line_interpolate_point(line, at - JOIN_M))
    step = ahead - behind
    across = np.column_stack([-step[:, 1], step[:, 0]])
    across *= most_m / np.maximum(np.hypot(*across.T), 1e-12)[:, None]
    squares = shapely.linestrings(np.stack([points - across, points + across], axis=1))
    inside = shapely.line_merge(common(squares, polygon))
    pieces, number = shapely.get_parts(inside, return_index=True)
    pieces, number = pieces[shapely.length(pieces) > 0], number[shapely.length(pieces) > 0]
    far = shapely.distance(pieces, shapely.points(points[number]))
    nearest = np.lexsort((far, number))
    _, first = np.unique(number[nearest], return_index=True)
    widths = shapely.length(pieces[nearest[first]])
    return float(widths.min(initial=np.inf) / M_PER_FT) if len(widths) else np.nan
