"""Gates that every block passes before a figure of it is told; one that fails is refused.

They hold the model of the blocks against the ground as drawn, by other means than it was made.
"""

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.units import M2_PER_AC, M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.burn_blocks import measure_blocks
from pipeline.fire.gate_layers import GROUND_REFUSALS
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.stretches import trace_stretches
from pipeline.ground.kept_ground import kept_ground
from pipeline.ground.settings import AcreageSettings

FIGURES = [
    "break_ac",
    "burnable_ac",
    "perimeter_ft",
    "existing_ft",
    "width_unknown_ft",
    "kind_unknown_ft",
    "gap_ft",
    "prepare_ft",
    "shared_ft",
    "lane_ft",
]
"""Columns of ``burn_blocks`` that rest on the model of the blocks."""


SAME_SHARE = 1e-6
"""Sums of one and the same ground or line differ by no more than this share."""


SAME_M = 0.01


def check_ground(
    drawn_units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    acreage: AcreageSettings,
) -> pd.DataFrame:
    """Layer ``ground_refusals``: units and blocks whose ground the edge graph has not.

    A unit must keep its ground, in a block or not; the ground of a block must be that of its
    units and of the lanes between them, once each.
    """
    left_out = exclusions.geometry[exclusions["applies_to"].isin(["burn", "both"])]
    kept = kept_ground(drawn_units, left_out, edges, acreage.slop_ft * M_PER_FT)
    units = pd.DataFrame({
        "unit_id": drawn_units["unit_id"].to_numpy(),
        "found_ac": kept.kept_m2 / M2_PER_AC,
        "expected_ac": kept.drawn_m2 / M2_PER_AC,
        "kept": kept.is_kept,
    })  # fmt: skip
    of_blocks = units.merge(burns[["block", "unit_id"]].drop_duplicates(), "left", on="unit_id")
    lost = of_blocks[~of_blocks["kept"]].assign(gate="unit_ground").drop(columns="kept")
    sums = of_blocks.groupby("block")["found_ac"].sum()
    model = BlockModel.of(edges, burns)
    lanes_ac = dict(zip(model.names, model.lane_m2() / M2_PER_AC, strict=True))
    rows = [_block_row(model, b, sums.get(b, 0.0) + lanes_ac[b]) for b in model.names]
    wrong = pd.DataFrame([row for row in rows if row], columns=GROUND_REFUSALS.column_names)
    return pd.concat([lost, wrong], ignore_index=True)[GROUND_REFUSALS.column_names]


def _block_row(model: BlockModel, block: str, expected_ac: float) -> dict[str, object] | None:
    """What is wrong with the ground of a block; None if nothing is."""
    ground = model.ground(block)
    found_ac = ground.area / M2_PER_AC
    same = abs(found_ac - expected_ac) <= SAME_SHARE * expected_ac + SAME_M**2 / M2_PER_AC
    if same and ground.is_valid:
        return None
    return {
        "block": block,
        "gate": "block_ground",
        "unit_id": None,
        "found_ac": found_ac,
        "expected_ac": expected_ac,
    }


def leave_out_ground(burns: pd.DataFrame, ground_refusals: pd.DataFrame) -> pd.DataFrame:
    """Layer ``traced_burns``: units that burn together, without blocks whose ground is refused."""
    return burns[~burns["block"].isin(ground_refusals["block"])]


def leave_out_edges(traced_burns: pd.DataFrame, edge_refusals: pd.DataFrame) -> pd.DataFrame:
    """Layer ``checked_burns``: the same, without blocks whose stretches are refused either."""
    return traced_burns[~traced_burns["block"].isin(edge_refusals["block"])]


def keep_stretches(
    edges: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    checked_burns: pd.DataFrame,
    traced_stretches: gpd.GeoDataFrame,
    edge_refusals: pd.DataFrame,
    settings: FirebreakSettings,
) -> gpd.GeoDataFrame:
    """Layer ``stretches``: those of the blocks that passed.

    Where a block is refused the others are traced again without it, so that an edge that it
    shares is one of its neighbor alone.
    """
    if edge_refusals.empty:
        return traced_stretches
    return trace_stretches(edges, breaks, break_credits, checked_burns, settings)


def check_edges(
    edges: gpd.GeoDataFrame, traced_burns: pd.DataFrame, traced_stretches: gpd.GeoDataFrame
) -> pd.DataFrame:
    """Layer ``edge_refusals``: blocks whose stretches do not add up to the rings around them."""
    model = BlockModel.of(edges, traced_burns)
    stretches = traced_stretches
    around_m = np.zeros(len(model.names))
    for ring in model.rings:
        around_m[ring.label] += model.plane.length_m[ring.half_edges].sum()
    told_m = stretches["end_m"] - stretches["start_m"]
    rows = []
    for block, ring_m in zip(model.names, around_m.tolist(), strict=True):
        mine = (stretches["block"] == block) | (stretches["neighbor_block"] == block)
        sum_m = float(told_m[mine].sum())
        if abs(sum_m - ring_m) > SAME_SHARE * ring_m + SAME_M:
            rows.append((block, sum_m / M_PER_FT, ring_m / M_PER_FT))
    return pd.DataFrame(rows, columns=["block", "found_ft", "expected_ft"])


def measure_passed_blocks(
    burns: pd.DataFrame,
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    made_lines: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    ground_refusals: pd.DataFrame,
    edge_refusals: pd.DataFrame,
    acreage: AcreageSettings,
) -> gpd.GeoDataFrame:
    """Layer ``burn_blocks``: all blocks measured, the figures of refused ones left empty."""
    model, slop_m = BlockModel.of(edges, burns), acreage.slop_ft * M_PER_FT
    blocks = measure_blocks(
        burns, units, exclusions, firebreaks, mow_strips, made_lines, model, slop_m
    )
    lane_ft = pd.Series(model.lane_sides_m() / M_PER_FT, index=model.names)
    blocks["lane_ft"] = blocks["block"].map(lane_ft).to_numpy(float)
    refused = blocks["block"].isin([*ground_refusals["block"], *edge_refusals["block"]])
    blocks.loc[refused, FIGURES] = np.nan
    return blocks
