"""How the outlines of units lie to each other and how they were drawn, before any edge is made."""

from dataclasses import dataclass
from itertools import combinations

import geopandas as gpd
import numpy as np
import shapely

from pipeline.ground.face_owners import covering
from pipeline.ground.gap_faces import is_wider, pairs_of_gaps, with_rungs
from pipeline.ground.ground_rings import grounds_of, rings_of
from pipeline.ground.half_edges import GRID_M, NOBODY, HalfEdges, half_edges_of
from pipeline.ground.snapping import Outlines

THINNEST_M = 3 * GRID_M
"""Ground thinner than this on the whole is what rounding to the grid leaves."""


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


@dataclass(frozen=True, slots=True)
class DrawnPlane:
    """The outlines of units as they are drawn, cut at their crossings and nothing moved.

    ``face`` and ``unit`` are pairs of a face and a unit that covers it, by their numbers.
    """

    plane: HalfEdges
    face: np.ndarray
    unit: np.ndarray

    @classmethod
    def of(cls, units: gpd.GeoSeries) -> "DrawnPlane":
        """Plane of the units in their order."""
        drawn = Outlines.of(units.to_numpy())
        plane = half_edges_of(drawn.rings)
        return cls(plane, *covering(plane, drawn.rings, drawn.part, drawn.shape))

    @property
    def owner(self) -> np.ndarray:
        """A unit that covers each face (−1: none)."""
        owner = np.full(len(self.plane.area_m2), NOBODY)
        owner[self.face] = self.unit
        return owner


def overlaps(drawn: DrawnPlane, slop_m: float) -> list[Misfit]:
    """Ground that two units both cover, and whether it is wider than the slop [m]."""
    plane = drawn.plane
    order = np.lexsort((drawn.unit, drawn.face))
    face, unit = drawn.face[order], drawn.unit[order]
    begins = np.flatnonzero(np.diff(face, prepend=-1))
    groups = [tuple(group.tolist()) for group in np.split(unit, begins[1:])]
    numbers: dict[tuple[int, ...], int] = {}
    label = np.full(len(plane.area_m2), NOBODY)
    for at, group in zip(face[begins].tolist(), groups, strict=True) if len(face) else ():
        if len(group) > 1:
            label[at] = numbers.setdefault(group, len(numbers))
    groups_by_number = list(numbers)
    pieces = [
        (one, other, shape)
        for shape, number in _pieces(plane, label)
        for one, other in combinations(groups_by_number[number], 2)
    ]
    return _misfits(pieces, slop_m)


def enclosed_gaps(drawn: DrawnPlane, slop_m: float) -> list[shapely.Polygon]:
    """Ground [polygon] that units close in and none covers, where it is wider than the slop [m].

    A hole in one unit alone is no gap between units.
    """
    plane, owner = drawn.plane, drawn.owner
    inside = plane.face >= 0
    inside[inside] = owner[plane.face[inside]] == NOBODY
    beyond = plane.of_faces(owner)[plane.twin]
    around = np.unique(np.column_stack([plane.face[inside], beyond[inside]]), axis=0)
    around = around[around[:, 1] >= 0]
    several = np.flatnonzero(np.bincount(around[:, 0], minlength=len(owner)) > 1)
    holes = plane.polygons[several]
    return list(holes[is_wider(holes, slop_m)])


def gaps(drawn: DrawnPlane, slop_m: float, near_m: float) -> list[Misfit]:
    """Ground no wider than ``near_m`` that lies between two units, open at its ends or not."""
    plane, owner = with_rungs(drawn.plane, drawn.owner, near_m)
    pairs, label = np.unique(pairs_of_gaps(plane, owner, near_m), axis=0, return_inverse=True)
    label = label.ravel() if len(pairs) and pairs[0, 0] != NOBODY else label.ravel() - 1
    pairs = pairs[pairs[:, 0] != NOBODY]
    pieces = [
        (int(pairs[number, 0]), int(pairs[number, 1]), shape)
        for shape, number in _pieces(plane, label)
    ]
    return _misfits(pieces, slop_m)


def _pieces(plane: HalfEdges, label: np.ndarray) -> list[tuple[shapely.Polygon, int]]:
    """Connected ground [polygons] of labeled faces, and its label."""
    grounds = grounds_of(plane, rings_of(plane, plane.of_faces(label)))
    return [(part, number) for number in sorted(grounds) for part in grounds[number].geoms]


def _misfits(pieces: list[tuple[int, int, shapely.Polygon]], slop_m: float) -> list[Misfit]:
    """Pieces of ground between two units each, those left out that rounding leaves."""
    shapes = np.array([shape for _, _, shape in pieces], dtype=object)
    area_m2 = shapely.area(shapes)
    real = (area_m2 > SLIVER_M2) & (2 * area_m2 >= THINNEST_M * shapely.length(shapes))
    wide = is_wider(shapes, slop_m)
    found = zip(pieces, real, wide, strict=True)
    return [Misfit(*piece, bool(over)) for piece, told, over in found if told]


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
