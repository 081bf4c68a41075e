"""Blocks of units that burn together: their acres and the sum of their edges."""

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ground.acreage import left_out, polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, less, united


def measure_blocks(
    burns: pd.DataFrame,
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    made_lines: gpd.GeoDataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``burn_blocks``: acres from the units as drawn, lengths from the edge graph.

    ``gross_ac = excluded_ac + break_ac + burnable_ac`` and ``perimeter_ft = existing_ft + gap_ft +
    prepare_ft`` hold for each block. An edge between two blocks counts in both.
    """
    joined = burns.merge(units, on="unit_id")
    by_block = joined.groupby("block", sort=True)
    blocks = by_block.agg(
        unit_ids=("unit_id", lambda ids: ", ".join(sorted(ids))),
        gross_ac=("gross_ac", "sum"),
        excluded_ac=("no_burn_ac", "sum"),
        wind_from_deg=("wind_from_deg", "first"),
    ).reset_index()
    shapes = [polygonal(united(part["geometry"].to_numpy())) for _, part in by_block]
    ground = gpd.GeoSeries(shapes, crs=units.crs)
    blocks["covered_ac"] = area_ac(ground)
    blocks["break_ac"] = _break_ac(blocks["block"], ground, exclusions, [mow_strips, made_lines])
    blocks["burnable_ac"] = (blocks["gross_ac"] - blocks["excluded_ac"] - blocks["break_ac"]).clip(
        lower=0
    )
    for status in ("existing", "gap", "prepare"):
        blocks[f"{status}_ft"] = edge_ft(
            firebreaks[firebreaks["status"] == status], blocks["block"]
        )
    existing = firebreaks[firebreaks["status"] == "existing"]
    unknown = existing[["bare_ft", "mown_ft", "blackline_ft"]].isna().any(axis=1)
    blocks["width_unknown_ft"] = edge_ft(existing[unknown], blocks["block"])
    blocks["kind_unknown_ft"] = edge_ft(firebreaks, blocks["block"], "kind_unknown_ft")
    blocks["perimeter_ft"] = blocks["existing_ft"] + blocks["gap_ft"] + blocks["prepare_ft"]
    shared = firebreaks[firebreaks["neighbor_block"].notna()]
    blocks["shared_ft"] = edge_ft(shared, blocks["block"])
    return gpd.GeoDataFrame(blocks, geometry=ground, crs=units.crs)


def edge_ft(
    firebreaks: gpd.GeoDataFrame, blocks: pd.Series, column: str = "length_ft"
) -> np.ndarray:
    """Length [ft] of the stretches that bound each block, on whichever hand it has them."""
    on_left = firebreaks.groupby("block")[column].sum()
    on_right = firebreaks.groupby("neighbor_block")[column].sum()
    return (blocks.map(on_left).fillna(0.0) + blocks.map(on_right).fillna(0.0)).to_numpy(float)


def _break_ac(
    blocks: pd.Series,
    ground: gpd.GeoSeries,
    exclusions: gpd.GeoDataFrame,
    made: list[gpd.GeoDataFrame],
) -> np.ndarray:
    """Acres that strips and lines take from each block, where nothing is left out already."""
    excluded = left_out(ground, exclusions, "burn")
    taken = []
    for block, shape, out in zip(blocks, ground, excluded, strict=True):
        drawn = [piece for layer in made for piece in layer.geometry[layer["block"] == block]]
        inside = common(united(np.array(drawn, dtype=object)), shape)
        taken.append(polygonal(less(inside, out)))
    return area_ac(gpd.GeoSeries(taken, crs=ground.crs))
