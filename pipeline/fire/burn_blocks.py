"""Blocks of units that burn together: their acres and the sum of their edges."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.fire.block_model import BlockModel
from pipeline.fire.slivers import slivers_between, with_slivers
from pipeline.ground.acreage import left_out, polygonal
from pipeline.ground.edge_graph import size_rank
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, less, united

COMMON_GROUND = "T********"
"""Relation of two shapes whose insides meet.

*Source*: OGC 06-103r4, Simple feature access, part 1 (2011), section 6.1.15: the dimensionally
extended nine-intersection model.
"""


def measure_blocks(
    burns: pd.DataFrame,
    units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    mow_strips: gpd.GeoDataFrame,
    made_lines: gpd.GeoDataFrame,
    model: BlockModel,
    slop_m: float,
) -> gpd.GeoDataFrame:
    """Layer ``burn_blocks``: acres from the units as drawn, lengths from the edge graph.

    Acres are those of the ground, each piece of it once: ``gross_ac = units_ac − overlap_ac +
    sliver_ac`` and ``gross_ac = excluded_ac + break_ac + burnable_ac``. ``perimeter_ft =
    existing_ft + gap_ft + prepare_ft`` holds for each block too; an edge between two blocks counts
    in both.
    """
    told_once = burns.groupby(["block", "unit_id"], as_index=False).first()
    joined = told_once.merge(units, on="unit_id")
    joined["own_ground"] = _own_ground(joined, units)
    by_block = joined.groupby("block", sort=True)
    blocks = by_block.agg(
        unit_ids=("unit_id", lambda ids: ", ".join(sorted(ids))),
        units_ac=("gross_ac", "sum"),
        wind_from_deg=("wind_from_deg", "first"),
    ).reset_index()
    shapes = [polygonal(united(part["own_ground"].to_numpy())) for _, part in by_block]
    drawn_ac = area_ac(gpd.GeoSeries(shapes, crs=units.crs))
    blocks["overlap_ac"] = (blocks["units_ac"] - drawn_ac).clip(lower=0)
    slivers = [_slivers(part, units, model.ground(block), slop_m) for block, part in by_block]
    blocks["slivers"] = [len(pieces) for pieces in slivers]
    closed = list(map(with_slivers, shapes, slivers))
    ground = gpd.GeoSeries(closed, crs=units.crs)
    excluded = left_out(ground, exclusions, "burn")
    blocks["gross_ac"] = area_ac(ground)
    blocks["sliver_ac"] = blocks["gross_ac"] - drawn_ac
    blocks["excluded_ac"] = area_ac(excluded)
    blocks["break_ac"] = _break_ac(blocks["block"], ground, excluded, [mow_strips, made_lines])
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


def _slivers(
    part: pd.DataFrame, units: gpd.GeoDataFrame, within: shapely.Geometry, slop_m: float
) -> list[shapely.Polygon]:
    """Slivers between the units of one block, which ``part`` has."""
    own = np.asarray(part["own_ground"])
    near = units.iloc[np.unique(units.sindex.query(own)[1])]
    others = near.geometry[~near["unit_id"].isin(part["unit_id"])].to_numpy()
    return slivers_between(own, others, within, slop_m)


def _own_ground(joined: pd.DataFrame, units: gpd.GeoDataFrame) -> np.ndarray:
    """Ground of each unit of a block, less what smaller units hold that do not burn with it.

    Where two units overlap the smaller one has the ground, as in the layer ``edges``, so that an
    in-holding drawn inside a pasture is no part of a block that it does not burn with.
    """
    shapes, held = units.geometry.to_numpy(), joined["geometry"].to_numpy().copy()
    block = units["unit_id"].map(joined.set_index("unit_id")["block"]).to_numpy()
    rank = pd.Series(np.argsort(size_rank(units.geometry)), index=units["unit_id"])
    row, other = units.sindex.query(held)
    takes = block[other] != joined["block"].to_numpy()[row]
    takes &= rank.to_numpy()[other] > rank[joined["unit_id"]].to_numpy()[row]
    row, other = row[takes], other[takes]
    meets = shapely.relate_pattern(held[row], shapes[other], COMMON_GROUND)
    for large, small in zip(row[meets], other[meets], strict=True):
        held[large] = less(held[large], shapes[small])
    return held


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
    excluded: gpd.GeoSeries,
    made: list[gpd.GeoDataFrame],
) -> np.ndarray:
    """Acres that strips and lines take from each block, where nothing is left out already."""
    taken = []
    for block, shape, out in zip(blocks, ground, excluded, strict=True):
        drawn = [piece for layer in made for piece in layer.geometry[layer["block"] == block]]
        inside = common(united(np.array(drawn, dtype=object)), shape)
        taken.append(polygonal(less(inside, out)))
    return area_ac(gpd.GeoSeries(taken, crs=ground.crs))
