"""Stretches of the edges of this season's blocks: what holds already, and what is to be made.

Nothing here predicts how a fire spreads, and nothing is a permission to light one.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.ops import substring

from pipeline.core.layer import empty
from pipeline.core.units import M_PER_FT
from pipeline.fire.break_lines import break_cover
from pipeline.fire.layers import STRETCHES
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.wind_sides import facing_deg, held_sides, outward_spans, wind_sides
from pipeline.ground.edge_graph import merged_lines
from pipeline.ground.geometry import length_ft
from pipeline.ground.intervals import JOIN_M, Interval, joined, runs_and_gaps, without
from pipeline.ground.plane_partition import GRID_M
from pipeline.ground.snapping import Sides

ROUNDING_M = 1e-6
"""Sides of a line shorter than this are left by rounding, and point anywhere."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a line, from and to [m], with the row of the break it runs along (−1: none)."""

    start_m: float
    end_m: float
    status: str
    row: int


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
    break_credits: pd.DataFrame,
    burns: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``stretches``: block edges cut where status, break or wind side changes."""
    chains = block_lines(edges, burns)
    if chains.empty:
        return empty(STRETCHES, edges.crs)
    rows, shapes = [], []
    usable = np.flatnonzero(break_credits["serves"])
    for row, line in _stretches(chains, breaks, usable, burns, settings):
        rows.append(row)
        shapes.append(line)
    result = gpd.GeoDataFrame(
        pd.DataFrame(rows), geometry=gpd.GeoSeries(shapes, crs=edges.crs), crs=edges.crs
    )
    result["break_row"] = result["break_row"].astype("Int64")
    result["stretch"] = np.arange(1, len(result) + 1)
    result["length_ft"] = length_ft(result.geometry)
    result["bearing_deg"] = [facing_deg(line, edges.crs) for line in shapes]
    result["adjoining"] = _adjoining(result, edges, burns)
    return result


def _stretches(
    chains: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    usable: np.ndarray,
    burns: pd.DataFrame,
    settings: FirebreakSettings,
) -> Iterator[tuple[dict[str, object], shapely.LineString]]:
    """Each stretch of the lines between blocks: what is known of it, and its line [m].

    ``usable`` are the rows of the breaks that may serve.
    """
    lines = chains.geometry.to_numpy()
    pieces = _pieces(lines, breaks.iloc[usable].geometry, settings)
    spans = outward_spans(lines, chains.crs, settings.smoothing_ft * M_PER_FT)
    wind = dict(zip(burns["block"], burns["wind_from_deg"], strict=True))
    half, arc = settings.downwind_half_angle_deg, settings.wind_arc_deg
    inner = _is_inner(chains)
    for chain, (block, neighbor) in enumerate(
        zip(chains["block"], chains["neighbor"], strict=True)
    ):
        ends, outward = spans[chain]
        faces = pd.DataFrame(
            {
                "wind_side": wind_sides(outward, wind[block], half),
                "neighbor_wind_side": wind_sides(outward + 180.0, wind.get(neighbor), half),
                "held_side": held_sides(outward, wind[block], half, arc),
                "neighbor_held_side": held_sides(outward + 180.0, wind.get(neighbor), half, arc),
            },
            dtype=object,
        )
        for piece, span in _cut(pieces[chain], ends, faces.to_numpy(object)):
            part = substring(lines[chain], piece.start_m, piece.end_m)
            yield (
                {
                    "chain": chain,
                    "block": block,
                    "neighbor_block": neighbor,
                    "ring": "inner" if inner[chain] else "outer",
                    "status": piece.status,
                    "break_row": int(usable[piece.row]) if piece.row >= 0 else None,
                    **faces.iloc[span],
                },
                shapely.remove_repeated_points(part, ROUNDING_M),
            )


def _pieces(
    lines: np.ndarray, breaks: gpd.GeoSeries, settings: FirebreakSettings
) -> list[list[Piece]]:
    """Each line cut into stretches existing, gap and prepare."""
    cover = break_cover(
        lines,
        breaks,
        along_m=settings.along_ft * M_PER_FT,
        angle_deg=settings.angle_deg,
        smoothing_m=settings.smoothing_ft * M_PER_FT,
    )
    order = np.argsort(cover.line, kind="stable")
    cuts = np.searchsorted(cover.line[order], np.arange(len(lines) + 1))
    result = []
    for number, line in enumerate(lines):
        mine = order[cuts[number] : cuts[number + 1]]
        covered: dict[int, list[Interval]] = {}
        parts = (cover.row[mine], cover.start_m[mine], cover.end_m[mine])
        for row, start, end in zip(*(part.tolist() for part in parts), strict=True):
            covered.setdefault(row, []).append((start, end))
        result.append(_line_pieces(line, covered, settings))
    return result


def _line_pieces(
    line: shapely.LineString, covered: dict[int, list[Interval]], settings: FirebreakSettings
) -> list[Piece]:
    """One line cut up; where several breaks run, the one that runs along most of it counts."""
    length = line.length
    runs, gaps = runs_and_gaps(
        [piece for pieces in covered.values() for piece in pieces],
        length,
        gap_m=settings.gap_ft * M_PER_FT,
        shortest_m=settings.shortest_run_ft * M_PER_FT,
        ring=line.is_ring,
    )
    pieces = [Piece(a, b, "gap", -1) for a, b in gaps]
    beside = {row: joined(parts) for row, parts in covered.items()}
    left = list(runs)
    for row in sorted(beside, key=lambda row: (-sum(b - a for a, b in beside[row]), row)):
        elsewhere = without([(0.0, length)], beside[row])
        pieces += [Piece(a, b, "existing", row) for a, b in without(left, elsewhere)]
        left = without(left, beside[row])
    pieces.sort(key=lambda piece: piece.start_m)
    return _closed_up(pieces, length)


def _closed_up(pieces: list[Piece], length_m: float) -> list[Piece]:
    """Pieces that follow each other without a crack; what is left between them is to prepare."""
    result: list[Piece] = []
    at = 0.0
    for piece in pieces:
        start = at if abs(piece.start_m - at) <= 2 * JOIN_M else piece.start_m
        if start > at:
            result.append(Piece(at, start, "prepare", -1))
        result.append(Piece(start, piece.end_m, piece.status, piece.row))
        at = piece.end_m
    if length_m - at > 2 * JOIN_M or not result:
        result.append(Piece(at, length_m, "prepare", -1))
    else:
        last = result.pop()
        result.append(Piece(last.start_m, length_m, last.status, last.row))
    return result


def _cut(pieces: list[Piece], ends: np.ndarray, faces: np.ndarray) -> list[tuple[Piece, int]]:
    """Pieces cut where a wind side changes, with a span of the line that each lies in.

    ``faces`` has a row of sides for each span.
    """
    changes = np.flatnonzero((faces[1:] != faces[:-1]).any(axis=1))
    limits = ends[changes].tolist()
    result = []
    for piece in pieces:
        first, last = piece.start_m + JOIN_M, piece.end_m - JOIN_M
        inside = [limit for limit in limits if first < limit < last]
        stops = [piece.start_m, *inside, piece.end_m]
        for start, end in pairwise(stops):
            span = min(int(np.searchsorted(ends, (start + end) / 2)), len(ends) - 1)
            result.append((Piece(start, end, piece.status, piece.row), span))
    return result


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
