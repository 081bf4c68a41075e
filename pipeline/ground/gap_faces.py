"""Nobody's ground between two units that face each other: cut off by rungs laid across it.

A rung leads from a point on the outline of one unit straight across to the outline of another one
that runs the other way. Where rungs are laid into a plane, the ground between two of them is a
face, closed at the place where the gap opens or gets too wide.
"""

import numpy as np
import shapely

from pipeline.ground.geometry import near_another
from pipeline.ground.half_edges import CELLS_PER_M, NOBODY, HalfEdges, half_edges_with

FACING = -0.5
"""Cosine of the angle between two sides that just about face each other."""


SHORTEST_RUNG_M = 2 / CELLS_PER_M


MOST_PASSES = 8


def with_rungs(plane: HalfEdges, owner: np.ndarray, reach_m: float) -> tuple[HalfEdges, np.ndarray]:
    """The plane with rungs laid across gaps of up to a width [m], and the owner of each face."""
    rim = _open_rim(plane, owner, reach_m)
    rungs = _rungs(plane, plane.of_faces(owner)[rim], rim, reach_m)
    if not len(rungs):
        return plane, owner.copy()
    cut = half_edges_with(plane, rim, rungs)
    inside = shapely.point_on_surface(cut.polygons)
    face, former = shapely.STRtree(plane.polygons).query(inside, predicate="within").tolist()
    of_face = np.full(len(cut.area_m2), NOBODY)
    of_face[face] = owner[former]
    return cut, of_face


def _open_rim(plane: HalfEdges, owner: np.ndarray, reach_m: float) -> np.ndarray:
    """Half-edges of outlines beside nobody's ground that is not a closed gap already."""
    left = plane.of_faces(owner)
    narrow = np.append(_is_narrow(plane, owner, reach_m), False)
    beyond = plane.twin
    return np.flatnonzero((left >= 0) & (left[beyond] == NOBODY) & ~narrow[plane.face[beyond]])


def _rungs(plane: HalfEdges, unit: np.ndarray, rim: np.ndarray, reach_m: float) -> np.ndarray:
    """Straight lines [m] across gaps, from every vertex of outlines, ``unit`` having each.

    A long side has more of them, four times the reach apart.
    """
    if not len(rim) or reach_m <= SHORTEST_RUNG_M:
        return np.empty(0, dtype=object)
    start, end = plane.points_m(rim), plane.points_m(rim ^ 1)
    way = (end - start) / plane.length_m[rim][:, None]
    steps = np.ceil(plane.length_m[rim] / (4 * reach_m)).astype(int)
    side = np.repeat(np.arange(len(rim)), steps + 1)
    step = np.arange(len(side)) - np.repeat(np.cumsum(steps + 1) - steps - 1, steps + 1)
    points = start[side] + (step / steps[side])[:, None] * (end - start)[side]
    sides = shapely.linestrings(np.stack([start, end], axis=1))
    near = near_another(shapely.points(points), unit[side], sides, unit, reach_m)
    side, points = side[near], points[near]
    tree = shapely.STRtree(sides)
    found, other = tree.query(shapely.points(points), predicate="dwithin", distance=reach_m)
    along = np.clip(((points[found] - start[other]) * way[other]).sum(axis=1), 0, None)
    foot = start[other] + np.minimum(along, plane.length_m[rim][other])[:, None] * way[other]
    across, here = foot - points[found], way[side[found]]
    far_m = np.hypot(*across.T)
    ahead = here[:, 0] * across[:, 1] - here[:, 1] * across[:, 0] < 0
    ahead &= far_m > SHORTEST_RUNG_M
    faces = (here * way[other]).sum(axis=1)
    order = np.lexsort((faces, np.round(far_m, 6), found))
    order = order[ahead[order]]
    nearest = order[np.diff(found[order], prepend=-1) > 0]
    apart = unit[side[found[nearest]]] != unit[other[nearest]]
    nearest = nearest[apart & (faces[nearest] < FACING)]
    return shapely.linestrings(np.stack([points[found[nearest]], foot[nearest]], axis=1))


def pairs_of_gaps(plane: HalfEdges, owner: np.ndarray, reach_m: float) -> np.ndarray:
    """The two owners on either hand of each face that is a gap no wider than ``reach_m`` [m].

    A face that is someone's, that only one shape bounds or that is wider has no pair (−1, −1). A
    piece that a single shape and rungs bound is taken with the gap beyond its longest rung.
    """
    narrow = _is_narrow(plane, owner, reach_m)
    here, there = plane.face, plane.face[plane.twin]
    inside = (here >= 0) & narrow[here]
    beyond = plane.of_faces(owner)[plane.twin]
    pairs = np.full((len(owner), 2), NOBODY)
    bounded = inside & (beyond >= 0)
    face, bounds = by_length(here[bounded], beyond[bounded], plane.length_m[bounded])
    second = np.flatnonzero(np.diff(face, prepend=-1) == 0)
    second = second[np.diff(face[second], prepend=-1) > 0]
    pairs[face[second]] = np.sort(np.stack([bounds[second - 1], bounds[second]], axis=1))
    rung = inside & (there >= 0) & narrow[there]
    for _ in range(MOST_PASSES):
        asks = rung & (pairs[here, 0] == NOBODY) & (pairs[there, 0] != NOBODY)
        if not asks.any():
            break
        face, giver = by_length(here[asks], there[asks], plane.length_m[asks])
        first = np.diff(face, prepend=-1) > 0
        pairs[face[first]] = pairs[giver[first]]
    return pairs


def _is_narrow(plane: HalfEdges, owner: np.ndarray, reach_m: float) -> np.ndarray:
    """Whether each face is nobody's and nowhere wider than the reach [m]."""
    narrow = owner == NOBODY
    free = np.flatnonzero(narrow)
    narrow[free] = ~is_wider(plane.polygons[free], reach_m + 2 * SHORTEST_RUNG_M)
    return narrow


def is_wider(shapes: np.ndarray, width_m: float) -> np.ndarray:
    """Whether each polygon is wider than a width [m] at some place.

    It is where its mean width is more, and it is not where a circle of that width has more ground;
    others are asked by shrinking them.
    """
    area_m2, around_m = shapely.area(shapes), shapely.length(shapes)
    wider = 2 * area_m2 > width_m * around_m
    asked = np.flatnonzero(~wider & (area_m2 >= np.pi / 4 * width_m**2))
    wider[asked] = ~shapely.is_empty(shapely.buffer(shapes[asked], -width_m / 2))
    return wider


def by_length(
    face: np.ndarray, other: np.ndarray, length_m: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Each face with each other thing it borders on, once, face by face, longest border first."""
    keys, number = np.unique(np.column_stack([face, other]), axis=0, return_inverse=True)
    border_m = np.bincount(number.ravel(), weights=length_m, minlength=len(keys))
    order = np.lexsort((keys[:, 1], -np.round(border_m, 6), keys[:, 0]))
    return keys[order, 0], keys[order, 1]
