"""How the outlines of units lie to each other and how they were drawn, before any edge is made."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from pipeline.ground.acreage import polygonal

MITRE_LIMIT = 5.0


SLIVER_M2 = 0.01
"""Common ground of less than this comes from the rounding of coordinates."""


SQUARE_TURN_DEG = 5.0
"""A corner this near to 90 degrees counts as square."""


FEWEST_TURNS = 20


STEP_SHARE = 0.8
"""Share of the corners that must be square in an outline traced from pixels."""


STRAIGHT_M = 0.05
"""Vertices that lie within this of the straight line are left out."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """Ground [polygon] between two units, by their positions, that both cover or neither does."""

    one: int
    other: int
    shape: shapely.Geometry
    wide: bool


def overlaps(units: gpd.GeoSeries, slop_m: float) -> list[Misfit]:
    """Ground that two units both cover, and whether it is wider than the slop [m]."""
    shapes = units.to_numpy()
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    pairs = np.column_stack([one, other])[one < other]
    common = shapely.intersection(shapes[pairs[:, 0]], shapes[pairs[:, 1]])
    parts, pair = shapely.get_parts(common, return_index=True)
    parts, inner = shapely.get_parts(parts, return_index=True)  # out of collections
    flat = shapely.get_dimensions(parts) == 2
    parts, pair = parts[flat], pair[inner][flat]
    return _misfits(parts, pairs[pair], slop_m)


def enclosed_gaps(units: gpd.GeoSeries, slop_m: float) -> list[shapely.Polygon]:
    """Ground [polygon] that units close in and none covers, where it is wider than the slop [m].

    A hole in one unit alone is no gap between units.
    """
    shapes = units.to_numpy()
    whole = shapely.union_all(shapes)
    holes = [
        shapely.Polygon(ring)
        for part in shapely.get_parts(whole)
        for ring in shapely.get_parts(shapely.get_rings(part))[1:]
    ]
    tree = shapely.STRtree(shapes)
    return [
        hole
        for hole in holes
        if len(tree.query(hole, predicate="intersects")) > 1
        and not shapely.buffer(hole, -slop_m / 2).is_empty
    ]


def gaps(units: gpd.GeoSeries, slop_m: float, near_m: float) -> list[Misfit]:
    """Ground no wider than ``near_m`` that lies between two units, open at its ends or not.

    Both units grow by half of ``near_m`` and shrink again; what has closed between them and is no
    other unit's is the gap.
    """
    shapes = shapely.simplify(units.to_numpy(), STRAIGHT_M)
    tree = shapely.STRtree(shapes)
    one, other = tree.query(shapes, predicate="dwithin", distance=near_m)
    pairs = np.column_stack([one, other])[one < other]
    a, b = _near_each_other(shapes[pairs[:, 0]], shapes[pairs[:, 1]], near_m)
    closed = _grown(_grown(shapely.union(a, b), near_m / 2), -near_m / 2)
    between = shapely.difference(shapely.difference(closed, a), b)
    parts, pair = _between_both(between, np.arange(len(pairs)), a, b)
    free = _without_others(parts, pairs[pair], tree)
    parts, pair = _between_both(free, pair, a, b)
    return _misfits(parts, pairs[pair], slop_m)


def _near_each_other(
    one: np.ndarray, other: np.ndarray, near_m: float
) -> tuple[np.ndarray, np.ndarray]:
    """Parts of two shapes in the window that both reach into, so that long outlines stay cheap."""
    here, there = shapely.bounds(one), shapely.bounds(other)
    low = np.maximum(here[:, :2], there[:, :2]) - 3 * near_m
    high = np.minimum(here[:, 2:], there[:, 2:]) + 3 * near_m
    window = shapely.box(*low.T, *high.T)
    return _polygonal(shapely.intersection(one, window)), _polygonal(
        shapely.intersection(other, window)
    )


def _polygonal(shapes: np.ndarray) -> np.ndarray:
    """The shapes without lines and points, left where one only touched a window."""
    mixed = shapely.get_type_id(shapes) == shapely.GeometryType.GEOMETRYCOLLECTION
    shapes[mixed] = [polygonal(shape) for shape in shapes[mixed]]
    return shapes


def _grown(shapes: np.ndarray, by_m: float) -> np.ndarray:
    return shapely.buffer(shapes, by_m, join_style="mitre", mitre_limit=MITRE_LIMIT)


def _between_both(
    shapes: np.ndarray, pair: np.ndarray, a: np.ndarray, b: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Pieces that lie at both units of their pair, and the pair; others are notches in one."""
    parts, number = shapely.get_parts(shapes, return_index=True)
    pair = pair[number]
    real = (shapely.get_dimensions(parts) == 2) & (shapely.area(parts) > SLIVER_M2)
    parts, pair = parts[real], pair[real]
    both = (shapely.distance(parts, a[pair]) < STRAIGHT_M) & (
        shapely.distance(parts, b[pair]) < STRAIGHT_M
    )
    return parts[both], pair[both]


def _without_others(parts: np.ndarray, pairs: np.ndarray, tree: shapely.STRtree) -> np.ndarray:
    """Each piece less the units that it touches beside those of its pair."""
    free = parts.copy()
    part, unit = tree.query(parts, predicate="intersects")
    third = (unit != pairs[part, 0]) & (unit != pairs[part, 1])
    order = np.lexsort((unit[third], part[third]))
    for piece, other in zip(part[third][order], unit[third][order], strict=True):
        free[piece] = shapely.difference(free[piece], tree.geometries[other])
    return free


def _misfits(parts: np.ndarray, pairs: np.ndarray, slop_m: float) -> list[Misfit]:
    """Connected pieces of ground and their pairs of units, those of rounding left out."""
    wide = ~shapely.is_empty(shapely.buffer(parts, -slop_m / 2))
    real = wide | (shapely.area(parts) > SLIVER_M2)
    return [
        Misfit(int(one), int(other), shape, bool(over))
        for (one, other), shape, over in zip(pairs[real], parts[real], wide[real], strict=True)
    ]


def narrow_units(units: gpd.GeoSeries, slop_m: float) -> dict[int, float]:
    """Units, by position, whose widest place is less than four slops, and that width [m]."""
    shapes = units.to_numpy()
    thin = np.flatnonzero(shapely.is_empty(shapely.buffer(shapes, -2 * slop_m)))
    radii = shapely.length(shapely.maximum_inscribed_circle(shapes[thin], tolerance=0.05))
    return dict(zip(thin.tolist(), (2 * radii).tolist(), strict=True))


def step_m(shape: shapely.Geometry) -> float | None:
    """Length [m] of the steps of an outline that was traced from pixels; None for any other.

    Such an outline turns by 90 degrees at nearly every vertex, left and right.
    """
    shapes = shapely.simplify(shapely.get_rings(shapely.get_parts(shape)), STRAIGHT_M)
    longest = max(shapes, key=shapely.get_num_coordinates, default=None)
    if longest is None or shapely.get_num_coordinates(longest) <= FEWEST_TURNS:
        return None
    points = shapely.get_coordinates(longest)[:-1]
    ahead = np.roll(points, -1, axis=0) - points
    back = np.roll(ahead, 1, axis=0)
    across, along = back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0], (back * ahead).sum(axis=1)
    turn_deg = np.degrees(np.arctan2(across, along))
    left = np.mean(np.abs(turn_deg - 90.0) < SQUARE_TURN_DEG)
    right = np.mean(np.abs(turn_deg + 90.0) < SQUARE_TURN_DEG)
    if left + right < STEP_SHARE or right < STEP_SHARE / 4 or left < STEP_SHARE / 4:
        return None
    return float(np.percentile(np.hypot(*ahead.T), 10))
