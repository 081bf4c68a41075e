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
from pipeline.fire.block_model import BlockModel
from pipeline.fire.break_lines import break_cover
from pipeline.fire.layers import STRETCHES
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.wind_sides import facing_deg, held_sides, outward_spans, wind_sides
from pipeline.ground.geometry import length_ft
from pipeline.ground.intervals import JOIN_M, Interval, joined, runs_and_gaps, without
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


def block_lines(model: BlockModel, crs: object) -> gpd.GeoDataFrame:
    """Lines [m] with a block on the left hand and another one, or none, on the right."""
    names = [*model.names, None]
    return gpd.GeoDataFrame(
        {
            "block": pd.Series([names[chain.left] for chain in model.chains], dtype=object),
            "neighbor": pd.Series([names[chain.right] for chain in model.chains], dtype=object),
            "ring": ["inner" if chain.ring.hole else "outer" for chain in model.chains],
        },
        geometry=[model.chain_line(number) for number in range(len(model.chains))],
        crs=crs,
    )


def trace_stretches(
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    checked_burns: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``stretches``: block edges cut where status, break or wind side changes."""
    model = BlockModel.of(edges, checked_burns)
    chains = block_lines(model, edges.crs)
    if chains.empty:
        return empty(STRETCHES, edges.crs)
    rows, shapes = [], []
    usable = np.flatnonzero(break_credits["serves"])
    for row, line in _stretches(chains, breaks, usable, checked_burns, settings):
        rows.append(row)
        shapes.append(line)
    result = gpd.GeoDataFrame(
        pd.DataFrame(rows), geometry=gpd.GeoSeries(shapes, crs=edges.crs), crs=edges.crs
    )
    result["break_row"] = result["break_row"].astype("Int64")
    result["stretch"] = np.arange(1, len(result) + 1)
    result["length_ft"] = length_ft(result.geometry)
    result["bearing_deg"] = [facing_deg(line, edges.crs) for line in shapes]
    cuts = zip(result["chain"], result["start_m"], result["end_m"], strict=True)
    result["adjoining"] = [model.adjoining(*cut) for cut in cuts]
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
    for chain, (block, neighbor, ring) in enumerate(
        zip(chains["block"], chains["neighbor"], chains["ring"], strict=True)
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
                    "start_m": piece.start_m,
                    "end_m": piece.end_m,
                    "ring": ring,
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
