"""Ground of this season's burn blocks, the rings around it and the chains they are cut in.

All of it is walked in the edge graph: nothing is polygonized again. A place along the edge of a
block is a chain and a length along it, so that a cut is a number and never new geometry.
"""

from dataclasses import dataclass
from functools import cached_property

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.ground.gap_faces import by_length
from pipeline.ground.ground_rings import (
    Chain,
    Ring,
    chain_points_m,
    chains_of,
    grounds_of,
    rings_of,
)
from pipeline.ground.half_edges import NOBODY, HalfEdges, half_edges_of_edges

CROSSED_M = 0.01
"""A side of an edge that a stretch reaches into by less than this is not beside it."""


@dataclass(frozen=True)
class BlockModel:
    """Blocks on the half-edges of the edge graph.

    ``names`` are the blocks in alphabetical order; the label of a ring or chain is a position in
    it. ``chains`` stand in the order of the column ``chain`` of ``stretches``; of two blocks the
    one that comes first has the chain on its left hand. ``label``
    is the block on the left hand of each half-edge, ``beyond`` names what lies there, and ``lane``
    tells whether that is a lane. A lane between two units of one block is ground of the block.
    """

    names: list[str]
    plane: HalfEdges
    label: np.ndarray
    lane: np.ndarray
    beyond: np.ndarray
    rings: list[Ring]
    chains: list[Chain]

    @classmethod
    def of(cls, edges: gpd.GeoDataFrame, burns: pd.DataFrame) -> "BlockModel":
        """The blocks that burn, on the edges between all units."""
        block_of = dict(zip(burns["unit_id"], burns["block"], strict=True))
        names = sorted({str(block) for block in burns["block"].dropna()})
        number: dict[object, int] = {name: position for position, name in enumerate(names)}
        plane, source = half_edges_of_edges(edges.geometry.to_numpy())
        unit = edges[["left_unit", "right_unit"]].to_numpy(object).ravel()
        kind = edges[["left_kind", "right_kind"]].to_numpy(object).ravel()
        on_hand = np.fromiter(
            (number.get(block_of.get(u), NOBODY) for u in unit), np.int64, len(unit)
        )
        ground = np.array(
            [u or k or "outside" for u, k in zip(unit, kind, strict=True)], dtype=object
        )
        label = on_hand[source]
        lane = edges[["left_lane", "right_lane"]].to_numpy(bool).ravel()[source]
        label[lane] = _blocks_of_lanes(plane, label, lane, unit[source])[lane]
        rings = rings_of(plane, label)
        chains = _in_order(plane, chains_of(plane, rings, label))
        return cls(names, plane, label, lane, ground[source], rings, chains)

    @cached_property
    def _grounds(self) -> dict[int, shapely.MultiPolygon]:
        return grounds_of(self.plane, self.rings)

    def ground(self, block: str) -> shapely.MultiPolygon:
        """Ground [polygons, m] of a block; empty for one without any edge."""
        return self._grounds.get(self.names.index(block), shapely.MultiPolygon())

    def lane_sides_m(self) -> np.ndarray:
        """Length [m] of the sides of units along lanes inside each block, in the order of names."""
        inner = ~self.lane & self.lane[self.plane.twin] & (self.label >= 0)
        inner &= self.label == self.label[self.plane.twin]
        length_m = self.plane.length_m[inner]
        return np.bincount(self.label[inner], weights=length_m, minlength=len(self.names))

    def lane_m2(self) -> np.ndarray:
        """Ground [m²] of the lanes inside each block, in the order of names."""
        within = np.flatnonzero(self.lane & (self.label >= 0) & (self.plane.face >= 0))
        face, first = np.unique(self.plane.face[within], return_index=True)
        area_m2 = self.plane.area_m2[face]
        label = self.label[within[first]]
        return np.bincount(label, weights=area_m2, minlength=len(self.names))

    def chain_line(self, number: int) -> shapely.LineString:
        """Line [m] of a chain, the block on its left hand."""
        return shapely.LineString(chain_points_m(self.plane, self.chains[number]))

    def adjoining(self, number: int, start_m: float, end_m: float) -> str:
        """What lies on the right hand between two places [m] along a chain, in order of name."""
        half_edges = self.chains[number].half_edges
        to_m = np.cumsum(self.plane.length_m[half_edges])
        from_m = to_m - self.plane.length_m[half_edges]
        shared_m = np.minimum(to_m, end_m) - np.maximum(from_m, start_m)
        passed = (shared_m > CROSSED_M) | (shared_m == shared_m.max())
        return ", ".join(sorted(set(self.beyond[half_edges[passed] ^ 1])))


def _blocks_of_lanes(
    plane: HalfEdges, label: np.ndarray, lane: np.ndarray, unit: np.ndarray
) -> np.ndarray:
    """Block around the face on the left hand of each half-edge, if that is a lane within one.

    A lane lies between the two units that it has the longest borders with.
    """
    twin = plane.twin
    of_unit = np.array([name is not None and name == name for name in unit], dtype=bool)
    beside = lane & of_unit[twin] & (plane.face >= 0)
    _, number = np.unique(unit[twin[beside]].astype(str), return_inverse=True)
    face, name = by_length(plane.face[beside], number, plane.length_m[beside])
    block = np.full(number.max(initial=-1) + 1, NOBODY)
    block[number] = label[twin[beside]]
    second = np.flatnonzero(np.diff(face, prepend=-1) == 0)
    second = second[np.diff(face[second], prepend=-1) > 0]
    within = second[block[name[second]] == block[name[second - 1]]]
    of_face = np.full(len(plane.area_m2), NOBODY)
    of_face[face[within]] = block[name[within]]
    return plane.of_faces(of_face)


def _in_order(plane: HalfEdges, chains: list[Chain]) -> list[Chain]:
    """Chains block by block, by the block beyond them, then from the northwest."""

    def place(chain: Chain) -> tuple[float, ...]:
        points = plane.points_m(chain.half_edges)
        (west, south), (east, north) = points.min(axis=0), points.max(axis=0)
        return (chain.left, chain.right, *np.round((-north, west, -south, east), 1).tolist())

    return sorted(chains, key=place)
