"""Rings, chains and ground of labeled faces, all by walking half-edges.

A label is a unit or a block. Whatever bounds it is a ring with the ground on the left hand: around
it, or around a hole in it. A chain is the part of a ring along one neighbor.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from pipeline.ground.half_edges import CELLS_PER_M, NOBODY, HalfEdges, doubled_areas, joined_labels


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring of half-edges that passes no vertex twice, with its label on the left hand.

    ``part`` numbers the connected piece of ground that it bounds, ``hole`` tells whether from
    within.
    """

    label: int
    part: int
    hole: bool
    half_edges: np.ndarray


@dataclass(frozen=True, slots=True)
class Chain:
    """Half-edges in a row with one label on the left hand and one on the right (−1: none)."""

    left: int
    right: int
    ring: Ring
    half_edges: np.ndarray
    closed: bool


def rings_of(plane: HalfEdges, label: np.ndarray) -> list[Ring]:
    """All rings of labeled ground, ``label`` being that on the left hand of each half-edge.

    Where two pieces of ground touch in a point, the walk stays in its own sector, and each keeps
    a ring of its own.
    """
    loops = [np.array(path) for path in _simple_loops(plane, label)]
    if not loops:
        return []
    around = np.concatenate(loops)
    number = np.repeat(np.arange(len(loops)), [len(loop) for loop in loops])
    holes = doubled_areas(plane.place, plane.start[around], plane.start[around ^ 1], number) < 0
    part = _parts(plane, label)
    firsts = [int(loop[0]) for loop in loops]
    return [
        Ring(int(label[first]), int(part[plane.face[first]]), bool(hole), loop)
        for first, hole, loop in zip(firsts, holes, loops, strict=True)
    ]


def _parts(plane: HalfEdges, label: np.ndarray) -> np.ndarray:
    """Number of the connected ground of one label that each face is part of."""
    inner = (label >= 0) & (label == label[plane.twin])
    return joined_labels(len(plane.area_m2), plane.face[inner], plane.face[plane.twin][inner])


def _simple_loops(plane: HalfEdges, label: np.ndarray) -> list[list[int]]:
    """Loops of half-edges that bound labeled ground; one that meets itself is split there."""
    rim = (label >= 0) & (label != label[plane.twin])
    pending = np.flatnonzero(rim)
    following = np.full(len(label), NOBODY)
    following[pending] = _next_on_rim(plane, rim, pending)
    onward, start = following.tolist(), plane.start.tolist()
    seen = bytearray(len(label))
    loops = []
    for head in pending.tolist():
        path: list[int] = []
        passed: dict[int, int] = {}
        at = head
        while not seen[at]:
            seen[at] = 1
            vertex = start[at]
            if vertex in passed:
                loop = path[passed[vertex] :]
                del path[passed[vertex] :]
                for half_edge in loop:
                    del passed[start[half_edge]]
                loops.append(loop)
            passed[vertex] = len(path)
            path.append(at)
            at = onward[at]
        if path:
            loops.append(path)
    return loops


def _next_on_rim(plane: HalfEdges, rim: np.ndarray, pending: np.ndarray) -> np.ndarray:
    """The half-edge after each one on the rim of its ground, past edges within the ground."""
    at = plane.after[pending]
    while not rim[at].all():
        at = np.where(rim[at], at, plane.after[at ^ 1])
    return at


def grounds_of(plane: HalfEdges, rings: list[Ring]) -> dict[int, shapely.MultiPolygon]:
    """Ground [polygons, m] of each label: every connected piece has one ring around it."""
    shells: dict[tuple[int, int], np.ndarray] = {}
    holes: dict[tuple[int, int], list[np.ndarray]] = {}
    for ring in rings:
        points, key = plane.points_m(ring.half_edges), (ring.label, ring.part)
        if ring.hole:
            holes.setdefault(key, []).append(points)
        else:
            shells[key] = points
    pieces: dict[int, list[shapely.Polygon]] = {}
    for (label, part), points in shells.items():
        polygon = shapely.Polygon(points, holes.get((label, part), []))
        pieces.setdefault(label, []).append(polygon)
    return {label: shapely.MultiPolygon(polygons) for label, polygons in pieces.items()}


def chains_of(plane: HalfEdges, rings: list[Ring], label: np.ndarray) -> list[Chain]:
    """The rings cut where the label on the right hand changes; each line between two labels once.

    Of the two it is drawn for the lower one. A chain that closes begins at the vertex farthest
    from its middle, so that the way a map was drawn does not matter.
    """
    chains = []
    for ring in rings:
        beyond = label[ring.half_edges ^ 1]
        cuts = np.flatnonzero(beyond != np.roll(beyond, 1))
        if not len(cuts):
            turned = np.roll(ring.half_edges, -_farthest(plane.points_m(ring.half_edges)))
            runs = [turned]
        else:
            runs = np.split(np.roll(ring.half_edges, -cuts[0]), cuts[1:] - cuts[0])
        for run in runs:
            right = int(label[run[0] ^ 1])
            if right == NOBODY or right > ring.label:
                chains.append(Chain(ring.label, right, ring, run, not len(cuts)))
    return chains


def _farthest(points: np.ndarray) -> int:
    """Number of the vertex of a ring that is farthest from its middle."""
    middle = shapely.get_coordinates(shapely.centroid(shapely.LinearRing(points)))[0]
    far = np.round(np.hypot(*(points - middle).T), 2)
    return int(np.lexsort((points[:, 1], points[:, 0], -far))[0])


def chain_points_m(plane: HalfEdges, chain: Chain) -> np.ndarray:
    """Points [m] along a chain; the last one is the first one of a chain that closes."""
    last = plane.start[chain.half_edges[-1] ^ 1]
    return np.vstack([plane.points_m(chain.half_edges), plane.place[last] / CELLS_PER_M])
