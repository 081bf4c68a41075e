"""Neighboring outlines that miss each other by a little, drawn onto one another.

Every outline keeps its rank: a lower one is never moved, a higher one moves onto the lower ones it
runs beside. A vertex moves to the nearest point of a lower outline within the slop; between two
vertices that moved onto the same ring the way along that ring takes the place of the straight
line, so that both have the same vertices and become one edge, whatever their density was.

Two things are no slop and stay as they are drawn: a side that lies on another outline already, and
a bay that opens where two outlines meet in a common vertex.
"""

from dataclasses import dataclass

import numpy as np
import shapely

SPACING_M = 20.0
"""Long sides get further points at this spacing, or at four times the slop if that is more."""


MOST_PASSES = 6


MATCH_M = 0.01
"""Outlines this near to each other were drawn on each other."""


PARALLEL = 0.999
"""Cosine of the largest angle between two sides that lie on each other."""


BAY_SLOPS = 6.0
"""A bay gets wider than the slop within so many slops of the vertex where it opens."""


DETOUR = 3.0
"""A way along a ring that is longer than this many straight lines is no way along it."""


@dataclass(frozen=True, slots=True)
class Sides:
    """The sides of many rings [m], in order, each from ``start`` to ``end``.

    ``ring`` numbers the rings from 0; ``first`` and ``count`` tell where the sides of a ring
    stand, ``arc`` how far along its ring a side begins.
    """

    start: np.ndarray
    end: np.ndarray
    ring: np.ndarray
    first: np.ndarray
    count: np.ndarray
    arc: np.ndarray
    perimeter: np.ndarray

    @classmethod
    def of(cls, rings: np.ndarray) -> "Sides":
        """Sides of closed rings."""
        points, index = shapely.get_coordinates(rings, return_index=True)
        inside = index[:-1] == index[1:]
        start, end, ring = points[:-1][inside], points[1:][inside], index[:-1][inside]
        length = np.hypot(*(end - start).T)
        count = np.bincount(ring, minlength=len(rings))
        first = np.concatenate([[0], np.cumsum(count)[:-1]]).astype(int)
        total = np.concatenate([[0.0], np.cumsum(length)])
        perimeter = np.bincount(ring, weights=length, minlength=len(rings))
        return cls(start, end, ring, first, count, total[:-1] - total[first[ring]], perimeter)

    def lines(self) -> np.ndarray:
        """Line [m] of each side."""
        return shapely.linestrings(np.stack([self.start, self.end], axis=1))


@dataclass(frozen=True, slots=True)
class RankedSides:
    """Sides to be found by their place, each with the rank of the outline it belongs to."""

    sides: Sides
    rank: np.ndarray
    tree: shapely.STRtree

    @classmethod
    def of(cls, rings: np.ndarray, rank: np.ndarray) -> "RankedSides":
        """Sides of closed rings, each ring with its rank."""
        sides = Sides.of(rings)
        return cls(sides, rank[sides.ring], shapely.STRtree(sides.lines()))


@dataclass(frozen=True, slots=True)
class Moves:
    """Where points moved to: their place [m], the side they stand on (−1: not moved), its arc."""

    place: np.ndarray
    side: np.ndarray
    arc: np.ndarray


@dataclass(frozen=True, slots=True)
class Outlines:
    """Closed rings, the polygon that each is one of, and the shape that each belongs to."""

    rings: np.ndarray
    part: np.ndarray
    shape: np.ndarray

    @classmethod
    def of(cls, shapes: np.ndarray) -> "Outlines":
        """All rings of polygonal shapes as they are drawn."""
        parts, shape = shapely.get_parts(shapes, return_index=True)
        rings, part = shapely.get_rings(parts, return_index=True)
        return cls(rings, part, shape[part])


def aligned_outlines(shapes: np.ndarray, slop_m: float) -> Outlines:
    """Outlines with neighboring ones made one; earlier ones are kept, later ones move.

    A ring that folds up under its slop falls away. One that crosses itself is left so: what it
    covers is told by counting, and no polygon is made of it.
    """
    drawn = Outlines.of(shapes)
    moved = _moved_rings(drawn, slop_m)
    left = np.flatnonzero(~shapely.is_missing(moved))
    return Outlines(moved[left], drawn.part[left], drawn.shape[left])


def _moved_rings(drawn: Outlines, slop_m: float) -> np.ndarray:
    """The rings of outlines after their points have moved; None for one that folded up."""
    outlines = RankedSides.of(drawn.rings, drawn.shape)
    points, side = _points(outlines, slop_m)
    still = _stand_still(points, side, outlines, slop_m)
    moves = _moves(points, outlines.rank[side], ~still, outlines, slop_m)
    sides = outlines.sides
    coordinates, index = _with_ways(moves, sides.ring[side], sides)
    return _rings(coordinates, index, len(drawn.rings))


def _stand_still(
    points: np.ndarray, side: np.ndarray, outlines: RankedSides, slop_m: float
) -> np.ndarray:
    """Whether each point stays where it is drawn: on a shared side, or on the way into a bay."""
    sides = outlines.sides
    shared = _shared_sides(outlines)
    number = np.arange(len(shared))
    first = sides.first[sides.ring]
    before = np.where(number == first, first + sides.count[sides.ring] - 1, number - 1)
    drawn = np.diff(side, prepend=-1) > 0
    still = shared[side] & (~drawn | shared[before[side]])
    loose = np.flatnonzero(~still)
    if not len(loose):
        return still
    rank = outlines.rank[side]
    far_m = np.zeros(len(points))
    far_m[loose] = _far_from_lower(points[loose], rank[loose], outlines, slop_m)
    touching = _touching(points, drawn, rank)
    return still | _in_bays(points, sides.ring[side], far_m, touching, slop_m)


def _shared_sides(outlines: RankedSides) -> np.ndarray:
    """Whether each side lies on a side of another shape, at three places along it."""
    sides = outlines.sides
    way = sides.end - sides.start
    length = np.maximum(np.hypot(*way.T), 1e-12)
    shared = np.ones(len(way), dtype=bool)
    for share in (0.1, 0.5, 0.9):
        at = np.flatnonzero(shared)
        places = shapely.points(sides.start[at] + share * way[at])
        here, there = outlines.tree.query(places, predicate="dwithin", distance=MATCH_M)
        here = at[here]
        along = np.abs((way[here] * way[there]).sum(axis=1))
        same = along >= PARALLEL * length[here] * length[there]
        same &= outlines.rank[here] != outlines.rank[there]
        shared[:] = False
        shared[here[same]] = True
    return shared


def _far_from_lower(
    points: np.ndarray, rank: np.ndarray, outlines: RankedSides, slop_m: float
) -> np.ndarray:
    """Distance [m] of each point from the nearest outline of a lower rank, inf beyond the slop."""
    far_m = np.full(len(points), np.inf)
    found, _, foot = _nearest_lower(points, rank, outlines, slop_m)
    far_m[found] = np.hypot(*(foot - points[found]).T)
    return far_m


def _touching(points: np.ndarray, drawn: np.ndarray, rank: np.ndarray) -> np.ndarray:
    """Whether each point is a drawn vertex that coincides with one of another shape."""
    vertex = np.flatnonzero(drawn)
    places = shapely.points(points[vertex])
    one, other = shapely.STRtree(places).query(places, predicate="dwithin", distance=MATCH_M)
    touching = np.zeros(len(points), dtype=bool)
    touching[vertex[one[rank[vertex[one]] != rank[vertex[other]]]]] = True
    return touching


def _in_bays(
    points: np.ndarray,
    ring: np.ndarray,
    far_m: np.ndarray,
    touching: np.ndarray,
    slop_m: float,
) -> np.ndarray:
    """Whether each point is between a touching vertex and the place where its bay is too wide."""
    near = np.isfinite(far_m) & (far_m > MATCH_M)
    inside = np.zeros(len(points), dtype=bool)
    begins = np.flatnonzero(np.diff(ring, prepend=-1))
    for begin, after in zip(begins, [*begins[1:], len(ring)], strict=True):
        here = near[begin:after]
        if here.all() or not here.any():
            continue
        turned = begin + np.mod(np.arange(len(here)) + np.argmin(here), len(here))
        for run in _runs(near[turned]):
            ends = turned[[run[0] - 1, (run[-1] + 1) % len(turned)]]
            opens = touching[ends]
            if opens[0] == opens[1] or np.isfinite(far_m[ends[~opens]]).any():
                continue
            way = points[np.concatenate([ends[:1], turned[run], ends[1:]])]
            if np.hypot(*np.diff(way, axis=0).T)[:-1].sum() < BAY_SLOPS * slop_m:
                inside[turned[run]] = True
    return inside


def _runs(flags: np.ndarray) -> list[np.ndarray]:
    """Positions of each unbroken run of flags; the first one is not flagged."""
    flagged = np.flatnonzero(flags)
    return np.split(flagged, np.flatnonzero(np.diff(flagged) > 1) + 1) if len(flagged) else []


def _points(outlines: RankedSides, slop_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Points along all rings: the drawn vertices, and more on long sides that have a neighbor.

    They keep the rest of a side in its place when its ends move. Returns the points and the side
    that each stands on.
    """
    sides = outlines.sides
    spacing_m = max(SPACING_M, 4 * slop_m)
    length = np.hypot(*(sides.end - sides.start).T)
    long = np.flatnonzero(length > spacing_m)
    near = outlines.tree.query(outlines.tree.geometries[long], predicate="dwithin", distance=slop_m)
    other = outlines.rank[long[near[0]]] != outlines.rank[near[1]]
    beside = long[np.unique(near[0][other])]
    pieces = np.ones(len(length), dtype=int)
    pieces[beside] = np.ceil(length[beside] / spacing_m).astype(int)
    side = np.repeat(np.arange(len(length)), pieces)
    number = np.arange(len(side)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    share = (number / pieces[side])[:, None]
    points = sides.start[side] + share * (sides.end[side] - sides.start[side])
    return points, side


def _moves(
    points: np.ndarray, rank: np.ndarray, free: np.ndarray, outlines: RankedSides, slop_m: float
) -> Moves:
    """Where each point moves to: on, pass by pass, until it stands on an outline that stays."""
    sides = outlines.sides
    place, side = points.copy(), np.full(len(points), -1)
    standing = rank.copy()
    moving = np.flatnonzero(free)
    for _ in range(MOST_PASSES):
        found, onto, foot = _nearest_lower(place[moving], standing[moving], outlines, slop_m)
        moving = moving[found]
        if not len(moving):
            break
        place[moving], side[moving], standing[moving] = foot, onto, outlines.rank[onto]
    arc = np.where(side >= 0, sides.arc[side] + np.hypot(*(place - sides.start[side]).T), 0.0)
    return Moves(place, side, arc)


def _nearest_lower(
    points: np.ndarray, rank: np.ndarray, outlines: RankedSides, slop_m: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """For each point that has one: the nearest side of a lower rank within the slop, and the foot.

    Returns the numbers of these points, their sides and feet.
    """
    sides = outlines.sides
    point, side = outlines.tree.query(shapely.points(points), predicate="dwithin", distance=slop_m)
    lower = outlines.rank[side] < rank[point]
    point, side = point[lower], side[lower]
    along = sides.end[side] - sides.start[side]
    span = np.maximum((along**2).sum(axis=1), 1e-12)
    share = ((points[point] - sides.start[side]) * along).sum(axis=1) / span
    foot = sides.start[side] + np.clip(share, 0, 1)[:, None] * along
    far = np.hypot(*(foot - points[point]).T)
    order = np.lexsort((side, outlines.rank[side], np.round(far, 6), point))
    first = order[np.concatenate([[True], np.diff(point[order]) > 0])] if len(order) else order
    return point[first], side[first], foot[first]


def _with_ways(moves: Moves, ring: np.ndarray, sides: Sides) -> tuple[np.ndarray, np.ndarray]:
    """Vertices of all rings in order, the ways along lower rings put in; and their ring."""
    following = np.arange(1, len(ring) + 1)
    last = np.flatnonzero(np.diff(ring, append=-1))
    following[last] = np.concatenate([[0], last[:-1] + 1])
    vertices, taken = _ways(moves, following, sides)
    emitted = 1 + taken
    begin = np.cumsum(emitted) - emitted
    coordinates = np.empty((int(emitted.sum()), 2))
    coordinates[begin] = moves.place
    between = np.ones(len(coordinates), dtype=bool)
    between[begin] = False
    coordinates[between] = sides.start[vertices]
    return coordinates, np.repeat(ring, emitted)


def _ways(moves: Moves, following: np.ndarray, sides: Sides) -> tuple[np.ndarray, np.ndarray]:
    """Vertices of lower rings passed between each point and the next, and how many each time."""
    a, b = moves.side, moves.side[following]
    ring = sides.ring[a]
    together = (a >= 0) & (b >= 0) & (ring == sides.ring[b])
    around = sides.perimeter[ring]
    ahead = np.mod(moves.arc[following] - moves.arc, around)
    forward = ahead <= around - ahead
    way = np.where(forward, ahead, around - ahead)
    straight = np.hypot(*(moves.place[following] - moves.place).T)
    together &= way <= DETOUR * straight
    count = sides.count[ring]
    taken = np.where(forward, np.mod(b - a, count), np.mod(a - b, count))
    taken = np.where(together, taken, 0)
    step = np.arange(taken.sum()) - np.repeat(np.cumsum(taken) - taken, taken)
    base = np.repeat(a - sides.first[ring], taken)
    passed = np.where(np.repeat(forward, taken), base + 1 + step, base - step)
    return np.repeat(sides.first[ring], taken) + np.mod(passed, np.repeat(count, taken)), taken


def _rings(coordinates: np.ndarray, index: np.ndarray, count: int) -> np.ndarray:
    """Closed rings of the vertices; None where too few are left."""
    number = np.bincount(index, minlength=count)
    whole = np.flatnonzero(number >= 3)
    first = (np.cumsum(number) - number)[whole]
    kept = np.isin(index, whole)
    closed = np.concatenate([coordinates[kept], coordinates[first]])
    closed_index = np.concatenate([index[kept], whole])
    order = np.argsort(closed_index, kind="stable")
    rings = np.full(count, None, dtype=object)
    if len(whole):
        renumbered = np.searchsorted(whole, closed_index[order])
        rings[whole] = shapely.linearrings(closed[order], indices=renumbered)
    return rings
