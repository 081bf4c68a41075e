"""Arcs of wind directions in which the smoke of some ground reaches a place: exact, all at once.

The straight way of smoke starts anywhere on the ground and ends anywhere on the place. The ways
between two shapes that do not touch fill the arcs between the ways from a vertex of one to a side
of the other: of all ways of one direction the shortest has a vertex at one of its ends. So vertices
against sides, cut at the distance that counts, are all there is to look at.
"""

from collections.abc import Iterator

import numpy as np
import shapely

WHOLE_DEG = 360.0


ROUNDING_DEG = 1e-9
"""Arcs this near to each other are one, so that no wind slips through by rounding."""


PAIRS_AT_ONCE = 200_000
"""Vertices times sides in memory at once."""


def smoke_arcs(
    ground: shapely.Geometry,
    place: shapely.Geometry,
    *,
    reach_m: float,
    half_angle_deg: float,
    north_deg: float = 0.0,
) -> np.ndarray:
    """Winds [degree] from which smoke of the ground reaches a place: rows of first and last.

    Clockwise from north, the direction the wind comes FROM: the first in 0 to 360, the last up to
    a whole turn farther. A way of smoke is at most ``reach_m`` long and goes up to the half angle
    off the wind to either side. Where ground and place touch, every wind reaches it; without any
    such wind there is no row. ``north_deg`` is where the plane's own north points.
    """
    if shapely.intersects(ground, place):
        return np.array([[0.0, WHOLE_DEG]])
    sides = [_sides(ground), _sides(place)]
    points = [shapely.get_coordinates(ground), shapely.get_coordinates(place)]
    if len(sides[0]) * len(sides[1]) > PAIRS_AT_ONCE:
        for n, other in enumerate((place, ground)):
            sides[n] = sides[n][_within(other, _drawn(sides[n]), reach_m)]
            points[n] = points[n][_within(other, shapely.points(points[n]), reach_m)]
    found = [
        np.empty((0, 2)),
        *_ways(points[1], sides[0], reach_m, 0.0),
        *_ways(points[0], sides[1], reach_m, 180.0),
    ]
    first, width = np.concatenate(found).T
    if not len(first):
        return np.empty((0, 2))
    return merged_arcs(first - half_angle_deg + north_deg, width + 2 * half_angle_deg)


def merged_arcs(first_deg: np.ndarray, width_deg: np.ndarray) -> np.ndarray:
    """Arcs [degree] that overlap or meet as one: rows of first and last, by their first."""
    first = np.mod(first_deg, WHOLE_DEG)
    first = np.where(first < WHOLE_DEG, first, 0.0)  # a hair west of north is north by rounding
    last = first + np.minimum(width_deg, WHOLE_DEG)
    over = last > WHOLE_DEG
    first = np.concatenate([first, np.zeros(over.sum())])
    last = np.concatenate([np.minimum(last, WHOLE_DEG), last[over] - WHOLE_DEG])
    order = np.argsort(first, kind="stable")
    first, last = first[order], np.maximum.accumulate(last[order])
    apart = np.flatnonzero(first[1:] > last[:-1] + ROUNDING_DEG)
    arcs = np.column_stack([first[[0, *(apart + 1)]], last[[*apart, len(last) - 1]]])
    joins_itself = arcs[0, 0] <= ROUNDING_DEG and arcs[-1, 1] >= WHOLE_DEG - ROUNDING_DEG
    if len(arcs) > 1 and joins_itself:
        arcs[-1, 1] = WHOLE_DEG + arcs[0, 1]
        arcs = arcs[1:]
    whole = arcs[0, 1] - arcs[0, 0] >= WHOLE_DEG - ROUNDING_DEG
    return np.array([[0.0, WHOLE_DEG]]) if whole else arcs


def between_arcs(arcs: np.ndarray, first_deg: float, last_deg: float) -> np.ndarray:
    """Arcs [degree] from the first clockwise to the last direction that no given arc covers.

    Both ends the same ask for that one direction, 0 and 360 for every one. The ends of what is
    left may be those of a covered arc, whose own they are.
    """
    whole = last_deg - first_deg >= WHOLE_DEG
    length = WHOLE_DEG if whole else float(np.mod(last_deg - first_deg, WHOLE_DEG))
    if length == 0.0 and not wind_in(arcs, np.array([first_deg]))[0]:
        return merged_arcs(np.array([first_deg]), np.array([0.0]))
    beyond = np.empty((0, 2)) if whole else np.array([[last_deg, last_deg + WHOLE_DEG - length]])
    taken = np.concatenate([arcs, beyond])
    if not len(taken):
        return np.array([[0.0, WHOLE_DEG]])
    taken = merged_arcs(taken[:, 0], taken[:, 1] - taken[:, 0])
    room = np.append(taken[1:, 0], taken[0, 0] + WHOLE_DEG) - taken[:, 1]
    left = room > ROUNDING_DEG
    return merged_arcs(taken[left, 1], room[left]) if left.any() else np.empty((0, 2))


def wind_in(arcs: np.ndarray, wind_from_deg: np.ndarray) -> np.ndarray:
    """Whether each wind [degree] lies in some arc, its ends counted."""
    return np.any(arcs_holding(arcs, wind_from_deg), axis=0)


def arcs_holding(arcs: np.ndarray, wind_from_deg: np.ndarray) -> np.ndarray:
    """Whether each arc (row) holds each wind [degree] (column), its ends counted."""
    turn = np.mod(wind_from_deg[None] - arcs[:, :1] + ROUNDING_DEG, WHOLE_DEG)
    holding: np.ndarray = turn <= arcs[:, 1:] - arcs[:, :1] + 2 * ROUNDING_DEG
    return holding


def _sides(shape: shapely.Geometry) -> np.ndarray:
    """Sides (n, 2, 2) of points, lines and outlines; a point is a side without length."""
    parts = shapely.get_parts(shape)
    flat = shapely.get_dimensions(parts) == 2
    lines = [*parts[~flat], *shapely.get_rings(parts[flat])]
    sides = []
    for points in map(shapely.get_coordinates, lines):
        ends = points if len(points) == 1 else points[1:]
        sides.append(np.stack([points[: len(ends)], ends], axis=1))
    return np.concatenate(sides)


def _within(shape: shapely.Geometry, parts: np.ndarray, reach_m: float) -> np.ndarray:
    """Whether each part of another shape comes as near as the distance that counts."""
    shapely.prepare(shape)
    return shapely.dwithin(shape, parts, reach_m)


def _drawn(sides: np.ndarray) -> np.ndarray:
    """Sides as lines, those without length as points."""
    has_length = np.any(sides[:, 0] != sides[:, 1], axis=1)
    return np.where(has_length, shapely.linestrings(sides), shapely.points(sides[:, 0]))


def _ways(
    points: np.ndarray, sides: np.ndarray, reach_m: float, turn_deg: float
) -> Iterator[np.ndarray]:
    """Arcs (first, width) under which points see the sides within reach, some points at a time."""
    step = max(1, PAIRS_AT_ONCE // max(1, len(sides)))
    for at in range(0, len(points), step):
        seen = _seen(points[at : at + step], sides, reach_m)
        if len(points) > step and len(seen):
            arcs = merged_arcs(*seen.T)
            seen = np.column_stack([arcs[:, 0], arcs[:, 1] - arcs[:, 0]])
        yield seen + np.array([turn_deg, 0.0])


def _seen(points: np.ndarray, sides: np.ndarray, reach_m: float) -> np.ndarray:
    """Arc (first, width) [degree] in which each point sees each side, as far as it reaches."""
    away = (sides[None, :, 0] - points[:, None]).reshape(-1, 2)
    step = np.broadcast_to(sides[:, 1] - sides[:, 0], (len(points), len(sides), 2)).reshape(-1, 2)
    square = (step**2).sum(1)
    square = np.where(square > 0, square, 1.0)
    # The circle of the reach cuts the line of the side at shares middle - half and middle + half.
    middle = -(away * step).sum(1) / square
    half = reach_m**2 - (away**2).sum(1) + middle**2 * square
    reaches = half >= 0
    half = np.sqrt(np.maximum(half, 0) / square)
    reaches &= (middle + half >= 0) & (middle - half <= 1)
    ends = [
        (away + np.clip(share, 0, 1)[:, None] * step)[reaches]
        for share in (middle - half, middle + half)
    ]
    one, other = (np.degrees(np.arctan2(x, y)) for x, y in (end.T for end in ends))
    turn = np.mod(other - one + 180.0, WHOLE_DEG) - 180.0
    return np.column_stack([np.where(turn >= 0, one, other), np.abs(turn)])
