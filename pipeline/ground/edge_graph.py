"""The edge graph of a property: every line between two pieces of ground, once, with both hands."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.units import M_PER_FT
from pipeline.ground.face_owners import owners_of
from pipeline.ground.half_edges import HalfEdges, half_edges_of
from pipeline.ground.plane_partition import OUTSIDE, cut_faces, face_owners, face_sides
from pipeline.ground.settings import AcreageSettings
from pipeline.ground.snapping import aligned, aligned_outlines

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


def edge_graph(shapes: np.ndarray, slop_m: float) -> EdgeGraph:
    """Edge graph of polygons: outlines that miss each other by up to the slop [m] are one edge.

    The order of the shapes is their rank: where outlines are drawn onto each other the earlier one
    stays, where shapes overlap the later one has the ground. Nothing else depends on the order.
    """
    plain = shapely.normalize(shapely.simplify(shapely.normalize(shapes), SMOOTHING_M))
    drawn = aligned(plain, slop_m)
    faces = cut_faces(drawn)
    sides = face_sides(faces)
    owner = face_owners(faces, sides, drawn, slop_m)
    left = np.where(sides.left >= 0, owner[sides.left], OUTSIDE)
    right = np.where(sides.right >= 0, owner[sides.right], OUTSIDE)
    turned = (left == OUTSIDE) | ((right != OUTSIDE) & (left > right))
    ends = np.stack([sides.start, sides.end], axis=1)
    ends = np.where(turned[:, None, None], ends[:, ::-1], ends)
    left, right = np.where(turned, right, left), np.where(turned, left, right)
    return _chained(ends[left != right], left[left != right], right[left != right])


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


def _chained(ends: np.ndarray, left: np.ndarray, right: np.ndarray) -> EdgeGraph:
    """Sides joined to lines as long as both hands stay the same."""
    order = np.lexsort((right, left))
    ends, left, right = ends[order], left[order], right[order]
    cuts = np.flatnonzero((np.diff(left) != 0) | (np.diff(right) != 0)) + 1
    groups = np.split(np.arange(len(left)), cuts) if len(left) else []
    sides = shapely.linestrings(ends)
    chains = [merged_lines(sides[group]) for group in groups]
    count = [len(chain) for chain in chains]
    heads = [group[0] for group in groups]
    lines = np.concatenate(chains) if chains else np.empty(0, dtype=object)
    return EdgeGraph(lines, np.repeat(left[heads], count), np.repeat(right[heads], count))


def merged_lines(lines: np.ndarray) -> np.ndarray:
    """Directed lines [m] joined end to start wherever just two of them meet.

    Rings start where the outline is farthest from its middle, so that the way a map was drawn
    does not matter.
    """
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines), directed=True))
    return np.array([_canonical(line) for line in merged], dtype=object)


def _canonical(line: shapely.LineString) -> shapely.LineString:
    """A ring begun at the vertex farthest from its middle; other lines as they are."""
    if not line.is_ring:
        return line
    points = shapely.get_coordinates(line)[:-1]
    middle = np.array(shapely.centroid(line).coords[0])
    far = np.round(np.hypot(*(points - middle).T), 2)
    start = np.lexsort((points[:, 1], points[:, 0], -far))[0]
    turned = np.roll(points, -start, axis=0)
    return shapely.LineString(np.vstack([turned, turned[:1]]))


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
    graph = edge_graph(shapes, settings.slop_ft * M_PER_FT)
    unit = np.array([*units["unit_id"], *[None] * len(left_out), None], dtype=object)
    kinds = left_out["kind"].fillna("exclusion")
    kind = np.array([*[None] * len(units), *kinds, None], dtype=object)
    return gpd.GeoDataFrame(
        {
            "edge_id": pd.Series(np.arange(1, len(graph.lines) + 1), dtype="Int64"),
            "left_unit": unit[graph.left],
            "right_unit": unit[graph.right],
            "left_kind": kind[graph.left],
            "right_kind": kind[graph.right],
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
