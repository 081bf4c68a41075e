"""Half-edges: the sides of a plane cut up by lines, each twice, with the face on its left hand.

Lines are cut at their crossings once, onto a grid of whole millimeters. From then on a place is a
pair of integers, and all else is found by walking from side to side: no polygon is ever guessed
together again from lines, so that ground cannot be lost to a rounding of coordinates.

The two halves of a side stand beside each other: the twin of half-edge ``h`` is ``h ^ 1``.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

CELLS_PER_M = 1000


GRID_M = 1 / CELLS_PER_M
"""Vertices are whole numbers of this once all lines are cut at their crossings."""


NOBODY = -1


@dataclass(frozen=True)
class HalfEdges:
    """Half-edges of a plane, each with its face on the left hand (−1: the unbounded outside).

    ``place`` holds the vertices in whole grid cells, ``start`` the vertex that a half-edge leaves,
    ``after`` the half-edge that follows it around its face. ``area_m2`` is that of each face,
    holes taken out.
    """

    place: np.ndarray
    start: np.ndarray
    after: np.ndarray
    face: np.ndarray
    length_m: np.ndarray
    area_m2: np.ndarray

    @property
    def twin(self) -> np.ndarray:
        """The other half of each half-edge."""
        return np.arange(len(self.start)) ^ 1

    def of_faces(self, values: np.ndarray, outside: int = NOBODY) -> np.ndarray:
        """The value of the face on the left hand of each half-edge."""
        return np.append(values, outside)[self.face]

    def points_m(self, half_edges: np.ndarray) -> np.ndarray:
        """Where each of some half-edges begins [m]."""
        return self.place[self.start[half_edges]] / CELLS_PER_M

    @cached_property
    def polygons(self) -> np.ndarray:
        """Every face as a polygon [m], to look at or to find a point in; its area is no figure."""
        loops = _walked(self.after, np.unique(_smallest_of_cycle(self.after)))
        if not loops:
            return np.empty(0, dtype=object)
        count = np.array([len(loop) for loop in loops])
        around = np.concatenate(loops)
        number = np.repeat(np.arange(len(loops)), count)
        doubled = doubled_areas(self.place, self.start[around], self.start[around ^ 1], number)
        rings = np.full(len(loops), None, dtype=object)
        real = np.flatnonzero(count >= 3)
        used = count[number] >= 3
        rings[real] = shapely.linearrings(
            self.points_m(around[used]), indices=np.searchsorted(real, number[used])
        )
        face = self.face[around[np.cumsum(count) - count]]
        holes: dict[int, list[shapely.LinearRing]] = {}
        for loop in np.flatnonzero((doubled <= 0) & (face != NOBODY)).tolist():
            holes.setdefault(int(face[loop]), []).append(rings[loop])
        shell = np.empty(len(self.area_m2), dtype=int)
        shell[face[doubled > 0]] = np.flatnonzero(doubled > 0)
        polygons = shapely.polygons(rings[shell])
        for held, inner in holes.items():
            polygons[held] = shapely.Polygon(rings[shell[held]], inner)
        return polygons


def half_edges_of(lines: np.ndarray) -> HalfEdges:
    """Half-edges of lines [m] that may cross, touch and fold up as they like."""
    noded = shapely.get_parts(shapely.union_all(lines, grid_size=GRID_M))
    place, start, _ = _sides_of(noded)
    return _with_faces(place, _without_dead_ends(start, len(place)))


def half_edges_with(plane: HalfEdges, met: np.ndarray, lines: np.ndarray) -> HalfEdges:
    """The plane with further lines [m] laid in, that meet no half-edges but some and each other."""
    meets = np.zeros(len(plane.start) // 2, dtype=bool)
    meets[met // 2] = True
    sides = shapely.linestrings(plane.place[plane.start.reshape(-1, 2)] / CELLS_PER_M)
    cut = shapely.union_all(np.concatenate([sides[meets], lines]), grid_size=GRID_M)
    place, start, _ = _sides_of(np.concatenate([shapely.get_parts(cut), sides[~meets]]))
    return _with_faces(place, _without_dead_ends(start, len(place)))


def half_edges_of_edges(lines: np.ndarray) -> tuple[HalfEdges, np.ndarray]:
    """Half-edges of lines [m] that meet at their ends alone, and where each comes from.

    The second result is 2n for a half-edge that runs along line n, and 2n + 1 for one against it.
    """
    place, start, line = _sides_of(lines)
    return _with_faces(place, start), line


def _sides_of(lines: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Vertices and half-edges of all sides, each side once, and the line and way of each half."""
    points, index = shapely.get_coordinates(lines, return_index=True)
    x, column = np.unique(
        np.round(points[:, 0] * CELLS_PER_M).astype(np.int64), return_inverse=True
    )
    y, row = np.unique(np.round(points[:, 1] * CELLS_PER_M).astype(np.int64), return_inverse=True)
    keys, vertex = np.unique(column * max(1, len(y)) + row, return_inverse=True)
    place = np.column_stack([x[keys // max(1, len(y))], y[keys % max(1, len(y))]])
    inside = (index[:-1] == index[1:]) & (vertex[:-1] != vertex[1:])
    a, b, line = vertex[:-1][inside], vertex[1:][inside], index[:-1][inside]
    low, high = np.minimum(a, b), np.maximum(a, b)
    sides, first = np.unique(low * max(1, len(place)) + high, return_index=True)
    start = np.column_stack([sides // max(1, len(place)), sides % max(1, len(place))]).ravel()
    against = (a[first] > b[first]).astype(int)
    source = 2 * line[first] + against
    return place, start, np.column_stack([source, source ^ 1]).ravel()


def _without_dead_ends(start: np.ndarray, vertices: int) -> np.ndarray:
    """Half-edges that go on at both ends: what a ring leaves that folds up on itself falls away."""
    while True:
        degree = np.bincount(start, minlength=vertices)
        dead = (degree[start] == 1).reshape(-1, 2).any(axis=1)
        if not dead.any():
            return start
        start = start[np.repeat(~dead, 2)]


def _with_faces(place: np.ndarray, start: np.ndarray) -> HalfEdges:
    """Half-edges with the faces that they go around."""
    after = _following(place, start)
    heads, loop = np.unique(_smallest_of_cycle(after), return_inverse=True)
    doubled = doubled_areas(place, start, start[np.arange(len(start)) ^ 1], loop)
    shells, rims = np.flatnonzero(doubled > 0), np.flatnonzero(doubled <= 0)
    face = np.full(len(heads), NOBODY)
    face[shells] = np.arange(len(shells))
    if len(shells) and len(rims) > 1:
        face[rims] = _hosts(place, start, after, heads[shells], heads[rims], doubled[shells])
    inner = rims[face[rims] >= 0]
    area = doubled[shells].copy()
    np.add.at(area, face[inner], doubled[inner])
    ends = (place[start] - place[start[np.arange(len(start)) ^ 1]]) / CELLS_PER_M
    return HalfEdges(
        place, start, after, face[loop], np.hypot(*ends.T), area.astype(float) / CELLS_PER_M**2 / 2
    )


def _following(place: np.ndarray, start: np.ndarray) -> np.ndarray:
    """The half-edge after each one around its face: the first to the right of the way back."""
    twin = np.arange(len(start)) ^ 1
    way = (place[start[twin]] - place[start]).astype(float)
    order = np.lexsort((np.arctan2(way[:, 1], way[:, 0]), start))
    degree = np.bincount(start, minlength=len(place))
    first = (np.cumsum(degree) - degree)[start]
    position = np.empty(len(start), dtype=int)
    position[order] = np.arange(len(start))
    right = first + np.mod(position - first - 1, degree[start])
    return order[right][twin]


def _smallest_of_cycle(after: np.ndarray) -> np.ndarray:
    """The smallest member of the cycle that each member of a permutation is in."""
    label, step = np.arange(len(after)), after.copy()
    for _ in range(len(after).bit_length()):
        label = np.minimum(label, label[step])
        step = step[step]
    return label


def doubled_areas(
    place: np.ndarray, start: np.ndarray, end: np.ndarray, loop: np.ndarray
) -> np.ndarray:
    """Twice the signed area of each loop of sides, in grid cells, exact in whole numbers."""
    at = place - place.min(axis=0) if len(place) else place
    (x, y), (to_x, to_y) = at[start].T, at[end].T
    area = np.zeros(loop.max(initial=-1) + 1, dtype=np.int64)
    np.add.at(area, loop, x * to_y - to_x * y)
    return area


def _hosts(
    place: np.ndarray,
    start: np.ndarray,
    after: np.ndarray,
    shells: np.ndarray,
    rims: np.ndarray,
    doubled: np.ndarray,
) -> np.ndarray:
    """Number of the smallest shell of another piece of linework around each rim (−1: none)."""
    piece = joined_labels(len(place), start[0::2], start[1::2])[start]
    polygons = np.array(
        [shapely.Polygon(place[start[loop]] / CELLS_PER_M) for loop in _walked(after, shells)],
        object,
    )
    points = shapely.points(place[start[rims]] / CELLS_PER_M)
    rim, shell = shapely.STRtree(polygons).query(points, predicate="within")
    other = piece[rims[rim]] != piece[shells[shell]]
    rim, shell = rim[other], shell[other]
    order = np.lexsort((doubled[shell], rim))[::-1]
    host = np.full(len(rims), NOBODY)
    host[rim[order]] = shell[order]
    return host


def _walked(after: np.ndarray, heads: np.ndarray) -> list[np.ndarray]:
    """Members of the cycles of a permutation that begin at each head, in order."""
    following = after.tolist()
    loops = []
    for head in heads.tolist():
        loop, at = [head], following[head]
        while at != head:
            loop.append(at)
            at = following[at]
        loops.append(np.array(loop))
    return loops


def joined_labels(count: int, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Smallest member of the connected group of each of ``count`` things joined in pairs."""
    label = np.arange(count)
    while True:
        least = np.minimum(label[one], label[other])
        joined = label.copy()
        np.minimum.at(joined, label[one], least)
        np.minimum.at(joined, label[other], least)
        while (joined[joined] != joined).any():
            joined = joined[joined]
        if (joined == label).all():
            return label
        label = joined
