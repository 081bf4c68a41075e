"""The plane cut up by outlines: its faces, who owns each, and the sides between two faces."""

from dataclasses import dataclass

import numpy as np
import shapely

GRID_M = 0.001
"""Vertices are brought onto this grid when all lines are cut at their crossings, once."""


OUTSIDE = -1
"""Stands for the number of a face or shape where there is none."""


MOST_PASSES = 8


@dataclass(frozen=True, slots=True)
class FaceSides:
    """Sides between faces: ends [m], the face left and right of each (−1: none), and lengths."""

    start: np.ndarray
    end: np.ndarray
    left: np.ndarray
    right: np.ndarray
    length: np.ndarray


def cut_faces(shapes: np.ndarray) -> np.ndarray:
    """Faces [polygon] into which the outlines of the shapes cut the plane."""
    lines = shapely.union_all(shapely.boundary(shapes), grid_size=GRID_M)
    return shapely.orient_polygons(shapely.get_parts(shapely.polygonize([lines])))


def face_sides(faces: np.ndarray) -> FaceSides:
    """Every side of the faces, once, with the face on each hand."""
    rings, face = shapely.get_rings(faces, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    inside = ring[:-1] == ring[1:]
    cells = np.round(points / GRID_M).astype(np.int64)
    _, first, vertex = np.unique(cells, axis=0, return_index=True, return_inverse=True)
    place = points[first]
    a, b, owner = vertex[:-1][inside], vertex[1:][inside], face[ring[:-1][inside]]
    apart = a != b
    a, b, owner = a[apart], b[apart], owner[apart]
    key = np.minimum(a, b) * len(place) + np.maximum(a, b)
    side, number = np.unique(key, return_inverse=True)
    left, right = np.full(len(side), OUTSIDE), np.full(len(side), OUTSIDE)
    ahead = a < b
    left[number[ahead]] = owner[ahead]
    right[number[~ahead]] = owner[~ahead]
    start, end = place[side // len(place)], place[side % len(place)]
    return FaceSides(start, end, left, right, np.hypot(*(end - start).T))


def face_owners(
    faces: np.ndarray, sides: FaceSides, shapes: np.ndarray, slop_m: float
) -> np.ndarray:
    """Number of the shape that each face belongs to (−1: none).

    Of overlapping shapes the last one owns the face. A face narrower than half the slop, in
    which shapes overlap or which none covers, or which hangs on nothing of its owner's, goes to
    the neighbor it has the longest border with.
    """
    inside = shapely.point_on_surface(faces)
    face, shape = shapely.STRtree(shapes).query(inside, predicate="within")
    covers = np.bincount(face, minlength=len(faces))
    owner = np.full(len(faces), OUTSIDE)
    np.maximum.at(owner, face, shape)
    area = shapely.area(faces)
    thin = 2 * area < 0.5 * slop_m * shapely.length(faces)
    largest = np.zeros(len(shapes))
    owned = owner >= 0
    np.maximum.at(largest, owner[owned], area[owned])
    main = owned & (area >= largest[owner])
    settled = ~thin | main
    settled |= (covers == 1) & _hangs_on_its_owner(sides, owner, len(faces))
    return _given_away(sides, owner, settled)


def _both_ways(sides: FaceSides) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Face, neighbor and length of each side, told from both of its hands."""
    face = np.concatenate([sides.left, sides.right])
    neighbor = np.concatenate([sides.right, sides.left])
    return face, neighbor, np.concatenate([sides.length, sides.length])


def _hangs_on_its_owner(sides: FaceSides, owner: np.ndarray, count: int) -> np.ndarray:
    """Whether a face has a border with another face of the same owner."""
    face, neighbor, _ = _both_ways(sides)
    both = (face >= 0) & (neighbor >= 0)
    same = np.zeros(count, dtype=bool)
    same[face[both][owner[face[both]] == owner[neighbor[both]]]] = True
    return same


def _given_away(sides: FaceSides, owner: np.ndarray, settled: np.ndarray) -> np.ndarray:
    """Owners after faces that are not settled went to the settled neighbor of longest border."""
    owner, settled = owner.copy(), settled.copy()
    face, neighbor, length = _both_ways(sides)
    for _ in range(MOST_PASSES):
        known = (neighbor == OUTSIDE) | settled[neighbor]
        asks = (face >= 0) & ~settled[face] & known
        if not asks.any():
            break
        offered = np.where(neighbor[asks] == OUTSIDE, OUTSIDE, owner[neighbor[asks]])
        pairs, number = np.unique(
            np.column_stack([face[asks], offered]), axis=0, return_inverse=True
        )
        border = np.bincount(number.ravel(), weights=length[asks])
        # Ground that belongs to someone comes before ground that belongs to no one.
        order = np.lexsort((pairs[:, 1], -np.round(border, 6), pairs[:, 1] == OUTSIDE, pairs[:, 0]))
        best = order[np.concatenate([[True], np.diff(pairs[order, 0]) > 0])]
        owner[pairs[best, 0]] = pairs[best, 1]
        settled[pairs[best, 0]] = True
    return owner
