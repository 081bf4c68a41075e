"""The edge graph of a property: every line between two pieces of ground, once, with both hands."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.units import M_PER_FT
from pipeline.ground.face_owners import owners_of
from pipeline.ground.gap_faces import pairs_of_gaps, with_rungs
from pipeline.ground.ground_rings import chain_points_m, chains_of, rings_of
from pipeline.ground.half_edges import NOBODY, HalfEdges, half_edges_of
from pipeline.ground.settings import AcreageSettings
from pipeline.ground.snapping import aligned_outlines

SMOOTHING_M = 0.05
"""Vertices that lie within this of the straight line are left out of the edges."""


@dataclass(frozen=True, slots=True)
class EdgeGraph:
    """Directed lines [m] with the number of the shape on the left and right hand (−1: none).

    Each line stands once; if only one hand has a shape, it is the left one.
    """

    lines: np.ndarray
    left: np.ndarray
    right: np.ndarray


def edge_graph(shapes: np.ndarray, slop_m: float, lane_m: float = 0.0) -> EdgeGraph:
    """Edge graph of polygons: outlines that miss each other by up to the slop [m] are one edge.

    The order of the shapes is their rank: where outlines are drawn onto each other the earlier one
    stays, where shapes overlap the later one has the ground. Nothing else depends on the order.
    A gap between two shapes no wider than ``lane_m`` [m] is a lane, numbered after the shapes.
    """
    plane, owner = unit_model(shapes, slop_m)
    if lane_m > slop_m:
        plane, owner = _with_lanes(plane, owner, len(shapes), lane_m)
    label = plane.of_faces(owner)
    chains = chains_of(plane, rings_of(plane, label), label)
    lines = [shapely.LineString(chain_points_m(plane, chain)) for chain in chains]
    left, right = np.array([(c.left, c.right) for c in chains], dtype=int).reshape(-1, 2).T
    return EdgeGraph(np.array(lines, dtype=object), left, right)


def _with_lanes(
    plane: HalfEdges, owner: np.ndarray, shapes: int, lane_m: float
) -> tuple[HalfEdges, np.ndarray]:
    """The plane with every lane closed at its ends, and the owner of each face, lanes too."""
    cut, of_face = with_rungs(plane, owner, lane_m)
    pairs = pairs_of_gaps(cut, of_face, lane_m)
    is_lane = pairs[:, 0] != NOBODY
    if not is_lane.any():
        return plane, owner
    _, number = np.unique(pairs[is_lane], axis=0, return_inverse=True)
    of_face[is_lane] = shapes + number.ravel()
    return cut, of_face


def plain_shapes(shapes: np.ndarray) -> np.ndarray:
    """The polygons as their edges are drawn: vertices on straight sides left out."""
    return shapely.normalize(shapely.simplify(shapely.normalize(shapes), SMOOTHING_M))


def unit_model(shapes: np.ndarray, slop_m: float) -> tuple[HalfEdges, np.ndarray]:
    """Half-edges of polygons, and the number of the shape that owns each face (−1: none).

    The order of the shapes is their rank, as in ``edge_graph``.
    """
    outlines = aligned_outlines(plain_shapes(shapes), slop_m)
    plane = half_edges_of(outlines.rings)
    owner = owners_of(plane, outlines.rings, outlines.part, outlines.shape, slop_m)
    return plane, owner


def draw_edges(
    drawn_units: gpd.GeoDataFrame, exclusions: gpd.GeoDataFrame, settings: AcreageSettings
) -> gpd.GeoDataFrame:
    """Layer ``edges``: every line between units, ground left out of burning, and the outside.

    The smaller unit has the ground where two overlap, so that an in-holding drawn inside a pasture
    survives; exclusions come before all units.
    """
    no_burn = exclusions[exclusions["applies_to"].isin(["burn", "both"])]
    units = drawn_units.iloc[size_rank(drawn_units.geometry)]
    left_out = no_burn.iloc[size_rank(no_burn.geometry)]
    shapes = np.concatenate([units.geometry.to_numpy(), left_out.geometry.to_numpy()])
    graph = edge_graph(shapes, settings.slop_ft * M_PER_FT, settings.lane_ft * M_PER_FT)
    lanes = max(0, max(graph.left.max(initial=-1), graph.right.max(initial=-1)) + 1 - len(shapes))
    nothing = [None] * (lanes + 1)
    unit = np.array([*units["unit_id"], *[None] * len(left_out), *nothing], dtype=object)
    kinds = [*left_out["kind"].fillna("exclusion"), *["lane"] * lanes]
    kind = np.array([*[None] * len(units), *kinds, None], dtype=object)
    return gpd.GeoDataFrame(
        {
            "edge_id": pd.Series(np.arange(1, len(graph.lines) + 1), dtype="Int64"),
            "left_unit": unit[graph.left],
            "right_unit": unit[graph.right],
            "left_kind": kind[graph.left],
            "right_kind": kind[graph.right],
            "left_lane": graph.left >= len(shapes),
            "right_lane": graph.right >= len(shapes),
        },
        geometry=gpd.GeoSeries(graph.lines, crs=drawn_units.crs),
        crs=drawn_units.crs,
    )


def size_rank(shapes: gpd.GeoSeries) -> np.ndarray:
    """Positions of shapes from the largest to the smallest, whatever order they came in."""
    if not len(shapes):
        return np.empty(0, dtype=int)
    bounds = shapely.bounds(shapes.to_numpy())
    return np.lexsort((bounds[:, 1], bounds[:, 0], -np.round(shapely.area(shapes.to_numpy()), 1)))
