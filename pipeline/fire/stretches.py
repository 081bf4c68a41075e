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
from pipeline.fire.block_model import BlockModel
from pipeline.fire.breaks.break_runs import Reach
from pipeline.fire.breaks.crediting import Piece, credit_lines
from pipeline.fire.breaks.drawn_breaks import drawn_width_ft
from pipeline.fire.layers import STRETCHES
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.wind_sides import facing_deg, held_sides, outward_spans, wind_sides
from pipeline.ground.geometry import length_ft
from pipeline.ground.intervals import JOIN_M

ROUNDING_M = 1e-6
"""Sides of a line shorter than this are left by rounding, and point anywhere."""


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
    traced_burns: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``traced_stretches``: block edges cut where status, break or wind side changes."""
    model = BlockModel.of(edges, traced_burns)
    chains = block_lines(model, edges.crs)
    if chains.empty:
        return empty(STRETCHES, edges.crs)
    rows, shapes = [], []
    usable = np.flatnonzero(break_credits["serves"])
    for row, line in _stretches(chains, breaks, usable, traced_burns, settings):
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
    pieces = credit_lines(lines, breaks.iloc[usable].geometry, settings)
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
        sides = faces.to_dict("records")
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
                    "hand_over_ft": piece.hand_over_ft,
                    "near": piece.near,
                    "near_row": int(usable[piece.near_row]) if piece.near_row >= 0 else None,
                    "near_ft": piece.near_ft,
                    **sides[span],
                },
                shapely.remove_repeated_points(part, ROUNDING_M),
            )


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
