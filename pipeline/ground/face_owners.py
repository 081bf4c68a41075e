"""Whose ground each face of a property is."""

import numpy as np
import shapely

from pipeline.ground.half_edges import GRID_M, NOBODY, HalfEdges

MOST_PASSES = 8


THINNEST_M = 10 * GRID_M
"""A face of less mean width than this is what rounding to the grid leaves."""


def owners_of(
    plane: HalfEdges, rings: np.ndarray, part: np.ndarray, shape: np.ndarray, slop_m: float
) -> np.ndarray:
    """Number of the shape that owns each face (−1: none).

    ``part`` is the polygon that each ring bounds, ``shape`` the shape that each ring belongs to.
    Of overlapping shapes the last one owns the face. A face narrower than half the slop, in which
    shapes overlap or which none covers, or which hangs on nothing of its owner's, goes to the
    neighbor it has the longest border with.
    """
    count = len(plane.area_m2)
    face, number = covering(plane, rings, part, shape)
    owner = np.full(count, NOBODY)
    np.maximum.at(owner, face, number)
    covers = np.bincount(face, minlength=count)
    own = plane.face >= 0
    around_m = np.bincount(plane.face[own], weights=plane.length_m[own], minlength=count)
    main = _is_largest(plane.area_m2, owner)
    hangs = (covers == 1) & _hangs_on_its_own(plane, owner)
    thin = 2 * plane.area_m2 < 0.5 * slop_m * around_m
    sliver = 2 * plane.area_m2 < THINNEST_M * around_m
    settled = main | ~(sliver | (thin & ~hangs))
    return _given_away(plane, owner, settled)


def covering(
    plane: HalfEdges, rings: np.ndarray, part: np.ndarray, shape: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of a face and a shape that covers it.

    A part covers a face that lies in an odd number of its rings. That holds for a ring that
    crosses itself too, of which no valid polygon could be made without guessing.
    """
    points = shapely.STRtree(shapely.point_on_surface(plane.polygons))
    ring, face = points.query(shapely.polygons(rings), predicate="contains")
    pairs, times = np.unique(np.column_stack([face, part[ring]]), axis=0, return_counts=True)
    shape_of = dict(zip(part.tolist(), shape.tolist(), strict=True))
    odd = pairs[times % 2 == 1]
    named = np.array([shape_of[p] for p in odd[:, 1].tolist()], dtype=int)
    found = np.unique(np.column_stack([odd[:, 0], named]), axis=0)
    return found[:, 0], found[:, 1]


def _is_largest(area_m2: np.ndarray, owner: np.ndarray) -> np.ndarray:
    """Whether a face is the largest one of its owner's."""
    owned = owner >= 0
    largest = np.zeros(owner.max(initial=0) + 1)
    np.maximum.at(largest, owner[owned], area_m2[owned])
    return owned & (area_m2 >= largest[owner])


def _hangs_on_its_own(plane: HalfEdges, owner: np.ndarray) -> np.ndarray:
    """Whether a face has a border with another face of the same owner."""
    here, there = plane.face, plane.face[plane.twin]
    both = (here >= 0) & (there >= 0) & (here != there)
    same = np.zeros(len(owner), dtype=bool)
    same[here[both][owner[here[both]] == owner[there[both]]]] = True
    return same


def _given_away(plane: HalfEdges, owner: np.ndarray, settled: np.ndarray) -> np.ndarray:
    """Owners after faces that are not settled went to the settled neighbor of longest border."""
    owner, settled = owner.copy(), settled.copy()
    face, neighbor = plane.face, plane.face[plane.twin]
    for _ in range(MOST_PASSES):
        known = (neighbor == NOBODY) | settled[neighbor]
        asks = (face >= 0) & ~settled[face] & known
        if not asks.any():
            break
        offered = np.where(neighbor[asks] == NOBODY, NOBODY, owner[neighbor[asks]])
        pairs, number = np.unique(
            np.column_stack([face[asks], offered]), axis=0, return_inverse=True
        )
        border_m = np.bincount(number.ravel(), weights=plane.length_m[asks])
        # Ground that belongs to someone comes before ground that belongs to no one.
        order = np.lexsort(
            (pairs[:, 1], -np.round(border_m, 6), pairs[:, 1] == NOBODY, pairs[:, 0])
        )
        best = order[np.diff(pairs[order, 0], prepend=-1) > 0]
        owner[pairs[best, 0]] = pairs[best, 1]
        settled[pairs[best, 0]] = True
    return owner
