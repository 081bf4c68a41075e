"""Ground along a line on its left hand: strips for the mower, for a bare line or for a blackline.

The line is part of a ring of half-edges with the block on its left; for a strip outside the block
it is turned around. A strip is built side by side, a rectangle each and a corner where the line
turns away from it, so that nothing on the other hand and nothing beyond a lane belongs to it.
"""

import numpy as np
import shapely

from pipeline.ground.acreage import polygonal

ARC_SEGMENTS = 16
"""Sides of a quarter of a circle."""


MITRE_LIMIT = 5.0
"""A corner is drawn out to no more than this many widths of the strip, and cut off there."""


STRAIGHT_M = 1e-6
"""Vertices closer than this to the straight line are left out of a strip's line."""


GRID_M = 1e-5
"""Overlays are made on this grid: on free coordinates GEOS 3.14 lost a sixth of the ground of one
union of valid rectangles, without a word."""


OVERLAP_M = 0.001
"""A corner laps so far over the sides that it joins, so that rounding leaves no slit between."""


SEED_M = 0.01
"""A strip holds the points this far to the left of its line."""


def strip_along(
    ground: shapely.Geometry, line: shapely.LineString, width_m: float, *, rounded: bool = False
) -> shapely.MultiPolygon:
    """Part of the ground within a width [m] on the left hand of a line, square at its ends.

    Only what lies at the line itself: ground that is reached across a lane or a notch is left
    out. Corners away from the strip are pointed, or rounded.
    """
    near = left_ground(line, width_m, rounded=rounded)
    beside = polygonal(shapely.intersection(near, ground, grid_size=GRID_M))
    parts = shapely.get_parts(beside)
    if len(parts) <= 1:
        return beside
    at_line = shapely.STRtree(parts).query(left_points(line), predicate="intersects")[1]
    return shapely.MultiPolygon(list(parts[np.unique(at_line)]))


def left_points(line: shapely.LineString) -> np.ndarray:
    """A point just to the left of the middle of each side of a line."""
    start, way = _sides(line)
    length = np.hypot(*way.T)[:, None]
    return shapely.points(start + way / 2 + SEED_M * _left(way / length))


def left_ground(
    line: shapely.LineString, width_m: float, *, rounded: bool = False
) -> shapely.Geometry:
    """All within a width [m] on the left hand of a line, whatever ground it is."""
    start, way = _sides(line)
    across = width_m * _left(way / np.hypot(*way.T)[:, None])
    end = start + way
    if line.is_closed:
        end[-1] = start[0]
    sides = shapely.polygons(np.stack([start, end, end + across, start + across], axis=1))
    corners = _corners(end, across, width_m, closed=line.is_closed, rounded=rounded)
    return shapely.union_all([*sides, *corners], grid_size=GRID_M)


def _sides(line: shapely.LineString) -> tuple[np.ndarray, np.ndarray]:
    """Start and way of each side of a line, vertices on straight sides left out."""
    points = shapely.get_coordinates(shapely.simplify(line, STRAIGHT_M))
    return points[:-1], np.diff(points, axis=0)


def _left(way: np.ndarray) -> np.ndarray:
    """Each way turned by a quarter to the left."""
    return np.column_stack([-way[:, 1], way[:, 0]])


def _corners(
    vertices: np.ndarray, across: np.ndarray, width_m: float, *, closed: bool, rounded: bool
) -> list[shapely.Polygon]:
    """Ground that joins the rectangles of two sides wherever a line does not turn to the left.

    ``vertices`` are the ends of the sides, ``across`` leads from each side to the strip's far one.
    """
    before = np.arange(len(vertices) if closed else len(vertices) - 1)
    after = np.mod(before + 1, len(vertices))
    (ax, ay), (bx, by) = across[before].T, across[after].T
    turn = np.arctan2(ax * by - ay * bx, ax * bx + ay * by)
    back = OVERLAP_M / width_m * _left(across)
    open_ends = turn < OVERLAP_M / width_m
    corners = []
    for i, j in zip(before[open_ends], after[open_ends], strict=True):
        tip = _tip(across[i], across[j], float(turn[i]), width_m, rounded=rounded)
        ends = [back[i], across[i] + back[i], *tip, across[j] - back[j], -back[j], [0.0, 0.0]]
        corners.append(shapely.Polygon(vertices[i] + np.array(ends)))
    return corners


def _tip(
    here: np.ndarray, there: np.ndarray, turn: float, width_m: float, *, rounded: bool
) -> list[np.ndarray]:
    """Far side of a corner, from across one side to across the next; nothing on a straight line."""
    if turn >= 0:
        return []
    return [here, *(_rounded_tip if rounded else _pointed_tip)(here, turn, width_m), there]


def _rounded_tip(across: np.ndarray, turn: float, width_m: float) -> np.ndarray:
    """Points of an arc that begins at ``across`` and turns by an angle [radian], ends left out."""
    steps = max(1, round(abs(turn) / (np.pi / 2) * ARC_SEGMENTS))
    angle = np.arctan2(across[1], across[0]) + turn * np.arange(1, steps) / steps
    return width_m * np.column_stack([np.cos(angle), np.sin(angle)])


def _pointed_tip(across: np.ndarray, turn: float, width_m: float) -> np.ndarray:
    """Tip of a corner that turns by an angle [radian]; cut off square beyond the limit."""
    half = turn / 2
    middle = np.array([
        across[0] * np.cos(half) - across[1] * np.sin(half),
        across[0] * np.sin(half) + across[1] * np.cos(half),
    ])  # fmt: skip
    reach = 1 / max(np.cos(half), 1e-9)
    if reach <= MITRE_LIMIT:
        return middle[None] * reach
    aside = _left(middle[None])[0] * (1 - MITRE_LIMIT * np.cos(half)) / np.sin(-half)
    return np.array([middle * MITRE_LIMIT + aside, middle * MITRE_LIMIT - aside])
