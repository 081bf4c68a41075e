"""Ground along a line on its left hand, and the center lines of the mower that covers it.

The line is part of a ring of half-edges with the block on its left; for a strip outside the block
it is turned around. A strip is built side by side, a rectangle each and a corner where the line
turns away from it, so that nothing on the other hand and nothing beyond a lane belongs to it.
"""

import numpy as np
import shapely

from pipeline.ground.acreage import polygonal
from pipeline.ground.overlays import common

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


REACH_M = 0.02
"""A pass is taken to mow this much beyond its width: the figures of a map are no better."""


SLIVER_M = 0.15
"""Unmown ground narrower than this is the roughness of passes beside each other."""


SMALLEST_PIECE_M2 = 0.3


SHORTEST_NECK_M = 1.0


NECK_ROUNDS = 3


MIDDLE_POINTS = 40


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


def band_along(
    ground: shapely.Geometry,
    line: shapely.LineString,
    near_m: float,
    far_m: float,
    *,
    rounded: bool = False,
) -> shapely.MultiPolygon:
    """Part of the ground between two distances [m] on the left hand of a line."""
    whole = strip_along(ground, line, far_m, rounded=rounded)
    if near_m <= 0:
        return whole
    before = left_ground(line, near_m, rounded=rounded)
    return polygonal(shapely.difference(whole, before, grid_size=GRID_M))


def band_m2(line: shapely.LineString, near_m: float, far_m: float) -> float:
    """Ground [m2] between two distances on the left hand of a line, by its length and corners.

    A side gives its length times the width. Where the line turns by an angle t to the left, w2
    tan(t / 2) lies in two sides at once; to the right as much is added. Ground that is too narrow
    for the strip is not looked at.
    """
    _, way = _sides(line)
    turned = np.roll(way, -1, axis=0) if line.is_closed else way[1:]
    (ax, ay), (bx, by) = way[: len(turned)].T, turned.T
    turn = np.arctan2(ax * by - ay * bx, ax * bx + ay * by)
    corners = np.clip(np.tan(turn / 2), -MITRE_LIMIT, MITRE_LIMIT).sum()
    length_m = np.hypot(*way.T).sum()
    return float((far_m - near_m) * length_m - (far_m**2 - near_m**2) * corners)


def center_lines(
    line: shapely.LineString, offset_m: float, *, rounded: bool = False
) -> list[shapely.LineString]:
    """Lines at an offset [m] on the left hand of a line, as far as there is room for them.

    They run along the line as a whole and end square to its ends.
    """
    join = "round" if rounded else "mitre"
    corners = {"join_style": join, "mitre_limit": MITRE_LIMIT, "quad_segs": ARC_SEGMENTS}
    if not line.is_closed:
        return list(shapely.get_parts(shapely.offset_curve(line, offset_m, **corners)))
    inward = shapely.is_ccw(line)
    around = shapely.buffer(shapely.Polygon(line), -offset_m if inward else offset_m, **corners)
    rings = shapely.get_rings(shapely.get_parts(around))
    return [shapely.LineString(ring) for ring in rings]


def lines_within(
    lines: list[shapely.LineString], ground: shapely.Geometry, shortest_m: float
) -> list[shapely.LineString]:
    """Parts of lines within some ground, shorter ones left out; one that closes stays whole."""
    found = []
    for line in lines:
        inside = shapely.get_parts(common(line, ground))
        inside = inside[shapely.get_dimensions(inside) == 1]
        merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(inside)))
        found += [part for part in merged if part.length > shortest_m]
    return found


def uncovered(
    strip: shapely.Geometry, passes: list[shapely.LineString], mower_width_m: float
) -> np.ndarray:
    """Pieces of a strip that no pass of the mower reaches, slivers left out."""
    mown = shapely.buffer(
        passes, mower_width_m / 2 + REACH_M, cap_style="square", join_style="mitre"
    )
    left = shapely.difference(strip, shapely.union_all(mown, grid_size=GRID_M), grid_size=GRID_M)
    core = shapely.buffer(left, -SLIVER_M / 2, join_style="mitre")
    pieces = shapely.get_parts(polygonal(shapely.buffer(core, SLIVER_M / 2, join_style="mitre")))
    return pieces[shapely.area(pieces) > SMALLEST_PIECE_M2]


def middle_lines(
    strip: shapely.Geometry, passes: list[shapely.LineString], mower_width_m: float
) -> list[shapely.LineString]:
    """Further passes [m] through necks, where two edges come so close that none found room."""
    found: list[shapely.LineString] = []
    for _ in range(NECK_ROUNDS):
        pieces = uncovered(strip, [*passes, *found], mower_width_m)
        lines = lines_within([middle_line(piece) for piece in pieces], strip, SHORTEST_NECK_M)
        if not lines:
            break
        found += lines
    return found


def middle_line(shape: shapely.Polygon) -> shapely.LineString:
    """Line [m] through the middle of a long thin shape: the mean of its two long sides."""
    points = shapely.get_coordinates(shapely.simplify(shape.exterior, SLIVER_M / 4))[:-1]
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    one, other = sorted(np.unravel_index(apart.argmax(), apart.shape))
    there = points[one : other + 1]
    back = np.vstack([points[other:], points[: one + 1]])[::-1]
    share = np.linspace(0, 1, MIDDLE_POINTS)
    sides = [
        shapely.line_interpolate_point(shapely.LineString(side), share, normalized=True)
        for side in (there, back)
    ]
    middle = (shapely.get_coordinates(sides[0]) + shapely.get_coordinates(sides[1])) / 2
    return shapely.simplify(shapely.LineString(middle), REACH_M)


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
