"""How much of its drawn ground each unit keeps in the edge graph, and how much it may lose."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from pipeline.ground.edge_graph import SMOOTHING_M
from pipeline.ground.geometry import near_another
from pipeline.ground.half_edges import half_edges_of_edges
from pipeline.ground.snapping import MATCH_M, Outlines, RankedSides
from pipeline.ground.unit_outlines import DrawnPlane

LOST_SHARE = 0.001
"""Share of its ground that a unit may lose where nothing was drawn onto another outline."""


MOVED_SHARE = 0.5
"""Mean way that outlines move when they are drawn onto one another, as a share of the slop.

*Assumes* that outlines miss each other to both sides; the most that was seen on made maps is 0.45.
"""


@dataclass(frozen=True, slots=True)
class KeptGround:
    """Ground [m²] of each unit as drawn and in the edge graph, and how far they may differ."""

    drawn_m2: np.ndarray
    kept_m2: np.ndarray
    allowed_m2: np.ndarray

    @property
    def is_kept(self) -> np.ndarray:
        """Whether each unit keeps its ground."""
        return np.abs(self.kept_m2 - self.drawn_m2) <= self.allowed_m2


def kept_ground(
    units: gpd.GeoDataFrame, left_out: gpd.GeoSeries, edges: gpd.GeoDataFrame, slop_m: float
) -> KeptGround:
    """Ground of units in the edge graph beside the ground drawn.

    Where outlines miss each other, they move by up to half the slop [m] on the mean, and ground
    that several shapes cover, units or ground left out of burning, stays with one of them.
    """
    shapes = gpd.GeoSeries([*units.geometry, *left_out], crs=units.crs)
    count = len(units)
    drawn_m2 = shapely.area(units.geometry.to_numpy())
    around_m = shapely.length(units.geometry.to_numpy())
    moved_m = np.where(_is_near_another(shapes, slop_m)[:count], MOVED_SHARE * slop_m, SMOOTHING_M)
    shared_m2 = _shared_m2(shapes)[:count]
    kept_m2 = _edge_m2(edges, units["unit_id"].tolist())
    return KeptGround(drawn_m2, kept_m2, LOST_SHARE * drawn_m2 + moved_m * around_m + shared_m2)


def _edge_m2(edges: gpd.GeoDataFrame, names: list[str]) -> np.ndarray:
    """Ground [m²] that the edges of each unit enclose."""
    plane, source = half_edges_of_edges(edges.geometry.to_numpy())
    number = {name: position for position, name in enumerate(names)}
    hands = edges[["left_unit", "right_unit"]].to_numpy(object).ravel()
    on_hand = np.array([number.get(name, len(names)) for name in hands], dtype=np.int64)
    owner = np.full(len(plane.area_m2), len(names))
    inside = plane.face >= 0
    owner[plane.face[inside]] = on_hand[source[inside]]
    return np.bincount(owner, weights=plane.area_m2, minlength=len(names) + 1)[:-1]


def _shared_m2(shapes: gpd.GeoSeries) -> np.ndarray:
    """Ground [m²] of each shape that another one covers too."""
    drawn = DrawnPlane.of(shapes)
    several = np.bincount(drawn.face, minlength=len(drawn.plane.area_m2)) > 1
    twice = several[drawn.face]
    area_m2 = drawn.plane.area_m2[drawn.face[twice]]
    return np.bincount(drawn.unit[twice], weights=area_m2, minlength=len(shapes))


def _is_near_another(shapes: gpd.GeoSeries, slop_m: float) -> np.ndarray:
    """Whether the outline of each shape misses another one by no more than the slop [m]."""
    drawn = Outlines.of(shapes.to_numpy())
    outlines = RankedSides.of(drawn.rings, drawn.shape)
    points = outlines.sides.start
    vertices = shapely.points(points)
    sides = np.asarray(outlines.tree.geometries)
    asked = np.flatnonzero(near_another(vertices, outlines.rank, sides, outlines.rank, slop_m))
    vertex, side = outlines.tree.query(vertices[asked], predicate="dwithin", distance=slop_m)
    vertex = asked[vertex]
    other = outlines.rank[vertex] != outlines.rank[side]
    vertex, side = vertex[other], side[other]
    apart = shapely.distance(vertices[vertex], sides[side]) > MATCH_M
    near = np.zeros(len(shapes), dtype=bool)
    near[outlines.rank[vertex[apart]]] = True
    near[outlines.rank[side[apart]]] = True
    return near
