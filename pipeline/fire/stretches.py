"""Stretches of the edges of this season's blocks: what holds already, and what is to be made.

Nothing here predicts how a fire spreads, and nothing is a permission to light one.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.ops import substring

from pipeline.core.layer import empty
from pipeline.core.units import M_PER_FT
from pipeline.fire.break_kinds import may_serve
from pipeline.fire.break_runs import Reach
from pipeline.fire.crediting import Piece, credit_lines
from pipeline.fire.drawn_breaks import drawn_width_ft
from pipeline.fire.layers import STRETCHES
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.wind_sides import facing_deg, outward_spans, wind_sides
from pipeline.ground.edge_graph import merged_lines
from pipeline.ground.geometry import length_ft
from pipeline.ground.intervals import JOIN_M
from pipeline.ground.plane_partition import GRID_M
from pipeline.ground.snapping import Sides

ROUNDING_M = 1e-6
"""Sides of a line shorter than this are left by rounding, and point anywhere."""


def block_lines(edges: gpd.GeoDataFrame, burns: pd.DataFrame) -> gpd.GeoDataFrame:
    """Lines [m] with a block on the left hand and another one, or none, on the right."""
    block_of = dict(zip(burns["unit_id"], burns["block"], strict=True))
    left = edges["left_unit"].map(block_of).astype(object).where(lambda b: b.notna(), None)
    right = edges["right_unit"].map(block_of).astype(object).where(lambda b: b.notna(), None)
    turned = left.isna() | (right.notna() & (right.fillna("") < left.fillna("")))
    lines = np.where(turned, shapely.reverse(edges.geometry.to_numpy()), edges.geometry.to_numpy())
    hands = {"block": left.where(~turned, right), "neighbor": right.where(~turned, left)}
    frame = pd.DataFrame({**hands, "line": lines})
    frame = frame[frame["block"].notna() & (frame["block"] != frame["neighbor"])]
    rows = []
    for (block, neighbor), group in frame.groupby(
        [frame["block"], frame["neighbor"].fillna("")], sort=True
    ):
        merged = merged_lines(group["line"].to_numpy())
        rows += [(block, neighbor or None, line) for line in _in_order(merged)]
    lines = [row[2] for row in rows]
    return gpd.GeoDataFrame(
        {
            "block": pd.Series([row[0] for row in rows], dtype=object),
            "neighbor": pd.Series([row[1] for row in rows], dtype=object),
        },
        geometry=gpd.GeoSeries(lines, crs=edges.crs),
        crs=edges.crs,
    )


def _in_order(lines: np.ndarray) -> np.ndarray:
    """Lines in an order that depends on their place alone: from the northwest."""
    bounds = np.round(shapely.bounds(lines), 1)
    return lines[np.lexsort((bounds[:, 0], -bounds[:, 3]))]


def trace_stretches(
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``stretches``: block edges cut where status, break or wind side changes."""
    chains = block_lines(edges, burns)
    if chains.empty:
        return empty(STRETCHES, edges.crs)
    rows, shapes = [], []
    for row, line in _stretches(chains, breaks, burns, settings):
        rows.append(row)
        shapes.append(line)
    result = gpd.GeoDataFrame(
        pd.DataFrame(rows), geometry=gpd.GeoSeries(shapes, crs=edges.crs), crs=edges.crs
    )
    for column in ("break_row", "near_row"):
        result[column] = result[column].astype("Int64")
    result["drawn_ft"] = _drawn_ft(result, breaks, settings)
    result["stretch"] = np.arange(1, len(result) + 1)
    result["length_ft"] = length_ft(result.geometry)
    result["bearing_deg"] = [facing_deg(line, edges.crs) for line in shapes]
    result["adjoining"] = _adjoining(result, edges, burns)
    return result


def _stretches(
    chains: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    settings: FirebreakSettings,
) -> Iterator[tuple[dict[str, object], shapely.LineString]]:
    """Each stretch of the lines between blocks: what is known of it, and its line [m]."""
    lines = chains.geometry.to_numpy()
    usable = np.flatnonzero(may_serve(breaks, settings.roads_as_breaks))
    pieces = credit_lines(lines, breaks.iloc[usable].geometry, settings)
    spans = outward_spans(lines, chains.crs, settings.smoothing_ft * M_PER_FT)
    wind = dict(zip(burns["block"], burns["wind_from_deg"], strict=True))
    half = settings.downwind_half_angle_deg
    inner = _is_inner(chains)
    for chain, (block, neighbor) in enumerate(
        zip(chains["block"], chains["neighbor"], strict=True)
    ):
        ends, outward = spans[chain]
        sides = wind_sides(outward, wind[block], half)
        neighbor_sides = wind_sides(np.mod(outward + 180.0, 360.0), wind.get(neighbor), half)
        for piece, span in _cut(pieces[chain], ends, sides, neighbor_sides):
            part = substring(lines[chain], piece.start_m, piece.end_m)
            yield (
                {
                    "chain": chain,
                    "block": block,
                    "neighbor_block": neighbor,
                    "ring": "inner" if inner[chain] else "outer",
                    "status": piece.status,
                    "break_row": int(usable[piece.row]) if piece.row >= 0 else None,
                    "hand_over_ft": piece.hand_over_ft,
                    "near": piece.near,
                    "near_row": int(usable[piece.near_row]) if piece.near_row >= 0 else None,
                    "near_ft": piece.near_ft,
                    "wind_side": sides[span],
                    "neighbor_wind_side": neighbor_sides[span],
                },
                shapely.remove_repeated_points(part, ROUNDING_M),
            )


def _cut(
    pieces: list[Piece], ends: np.ndarray, sides: np.ndarray, neighbor_sides: np.ndarray
) -> list[tuple[Piece, int]]:
    """Pieces cut where a wind side changes, with a span of the line that each lies in."""
    turns = (sides[1:] != sides[:-1]) | (neighbor_sides[1:] != neighbor_sides[:-1])
    changes = np.flatnonzero(turns)
    limits = ends[changes].tolist()
    result = []
    for piece in pieces:
        first, last = piece.start_m + JOIN_M, piece.end_m - JOIN_M
        inside = [limit for limit in limits if first < limit < last]
        stops = [piece.start_m, *inside, piece.end_m]
        for start, end in pairwise(stops):
            span = min(int(np.searchsorted(ends, (start + end) / 2)), len(ends) - 1)
            hand_over_ft = piece.hand_over_ft if end == piece.end_m else np.nan
            cut = replace(piece, start_m=start, end_m=end, hand_over_ft=hand_over_ft)
            result.append((cut, span))
    return result


def _drawn_ft(
    stretches: gpd.GeoDataFrame, breaks: gpd.GeoDataFrame, settings: FirebreakSettings
) -> list[float]:
    """Width [ft] along each stretch of a break drawn as a polygon, NaN where it is a line."""
    shapes = breaks.geometry.to_numpy()
    stated_ft = breaks["width_ft"].fillna(0.0).to_numpy()
    follow_m = Reach.of(settings).follow_m
    widths = []
    for line, row in zip(stretches.geometry, stretches["break_row"], strict=True):
        if pd.isna(row) or shapely.get_dimensions(shapes[row]) < 2:
            widths.append(np.nan)
        else:
            most_m = 2 * follow_m + stated_ft[row] * M_PER_FT
            widths.append(drawn_width_ft(line, shapes[row], most_m))
    return widths


def _is_inner(chains: gpd.GeoDataFrame) -> np.ndarray:
    """Whether each line bounds a hole of its block."""
    inner = np.zeros(len(chains), dtype=bool)
    lines = chains.geometry.to_numpy()
    for block in chains["block"].unique():
        around = ((chains["block"] == block) | (chains["neighbor"] == block)).to_numpy()
        ground = block_ground(lines[around])
        shells = shapely.get_exterior_ring(shapely.get_parts(ground))
        mine = np.flatnonzero((chains["block"] == block).to_numpy())
        middles = shapely.line_interpolate_point(lines[mine], 0.5, normalized=True)
        inner[mine] = shapely.distance(middles, shapely.multilinestrings(shells)) > JOIN_M / 100
    return inner


def block_ground(lines: np.ndarray) -> shapely.Geometry:
    """Ground [polygon] of a block within all its edges, as the edge graph has it.

    A face is the block's where a ray from it crosses the edges an odd number of times; that holds
    for holes that touch each other in a point too, which ``shapely.build_area`` gets wrong.
    """
    faces = shapely.get_parts(shapely.polygonize([shapely.multilinestrings(lines)]))
    sides = Sides.of(lines)
    (x, y), (to_x, to_y) = sides.start.T, sides.end.T
    inside = []
    for at_x, at_y in shapely.get_coordinates(shapely.point_on_surface(faces)):
        level = np.flatnonzero((y > at_y) != (to_y > at_y))
        share = (at_y - y[level]) / (to_y[level] - y[level])
        crossed = x[level] + share * (to_x[level] - x[level]) > at_x
        inside.append(crossed.sum() % 2 == 1)
    return shapely.union_all(faces[np.array(inside, dtype=bool)])


def _adjoining(
    stretches: gpd.GeoDataFrame, edges: gpd.GeoDataFrame, burns: pd.DataFrame
) -> list[str]:
    """What lies on the other side of each stretch: its units, exclusions, or the outside."""
    middles, lines = _middles(edges.geometry.to_numpy()), stretches.geometry.to_numpy()
    passed = shapely.STRtree(middles).query(lines, predicate="dwithin", distance=GRID_M * 10)
    under = shapely.STRtree(edges.geometry.to_numpy()).query(
        _middles(lines), predicate="dwithin", distance=GRID_M * 10
    )
    block_of = dict(zip(burns["unit_id"], burns["block"], strict=True))
    names: list[set[str]] = [set() for _ in lines]
    columns = edges[["left_unit", "right_unit", "left_kind", "right_kind"]].to_numpy(object)
    blocks = stretches["block"].to_list()
    for stretch, edge in np.hstack([passed, under]).T.tolist():
        left, right, left_kind, right_kind = columns[edge]
        mine_left = left is not None and block_of.get(left) == blocks[stretch]
        names[stretch].add((right or right_kind if mine_left else left or left_kind) or "outside")
    return [", ".join(sorted(found)) for found in names]


def _middles(lines: np.ndarray) -> np.ndarray:
    """Point [m] halfway along each line."""
    return shapely.line_interpolate_point(lines, 0.5, normalized=True)
