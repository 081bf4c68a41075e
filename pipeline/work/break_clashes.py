"""Burns against their edges: blocks refused, breaks too short, gaps, edges to prepare, slopes."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.ground.overlays import united
from pipeline.work.clashes import Clash


def refusal_clashes(
    planned_work: pd.DataFrame, ground_refusals: pd.DataFrame, edge_refusals: pd.DataFrame
) -> Iterator[Clash]:
    """Blocks that a gate refused, and other work on units whose ground is lost."""
    works = planned_work.dropna(subset="block").drop_duplicates("block").set_index("block")
    of_blocks = ground_refusals.dropna(subset="block")
    refused = pd.concat([of_blocks["block"], edge_refusals["block"]]).unique()
    for block in works.index.intersection(refused):
        units = of_blocks.loc[of_blocks["block"] == block, "unit_id"].dropna()
        names = ", ".join(units) or "its outline"
        work_id = works.loc[block, "work_id"]
        yield Clash(code="block_refused", work_id=work_id, unit_id=None, names=names)
    lost = ground_refusals[ground_refusals["gate"] == "unit_ground"].drop_duplicates("unit_id")
    others = planned_work[planned_work["block"].isna()].merge(
        lost.drop(columns="block"), on="unit_id"
    )
    for row in others.itertuples():
        yield Clash(
            code="unit_ground_lost",
            work_id=row.work_id,
            unit_id=row.unit_id,
            figure=row.found_ac,
            bound=row.expected_ac,
        )


def break_clashes(
    planned_work: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    break_slopes: gpd.GeoDataFrame,
    least_slope_ft: float,
) -> Iterator[Clash]:
    """What the edges of each block have against burning it; a shared edge counts for both."""
    works = planned_work.dropna(subset="block").drop_duplicates("block").set_index("block")
    sides = _sides(firebreaks, break_slopes)
    planned = sides[sides["of_block"].isin(works.index)]
    for block, rows in planned.groupby("of_block", sort=True):
        for clash in (*_widths(rows, str(block)), *_open(rows), *_slopes(rows, least_slope_ft)):
            yield Clash(work_id=works.loc[block, "work_id"], unit_id=None) | clash


def _sides(firebreaks: gpd.GeoDataFrame, break_slopes: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """A row a stretch and block that burns along it, with the side that the block has there."""
    heads = break_slopes.set_index("break_id")
    own = firebreaks.assign(
        of_block=firebreaks["block"],
        side=firebreaks["held_side"],
        head_ft=firebreaks["break_id"].map(heads["uphill_ft"]),
        rise=firebreaks["break_id"].map(heads["rise_pct"]),
    )
    beyond = firebreaks.assign(
        of_block=firebreaks["neighbor_block"],
        side=firebreaks["neighbor_held_side"],
        head_ft=firebreaks["break_id"].map(heads["neighbor_uphill_ft"]),
        rise=firebreaks["break_id"].map(heads["neighbor_rise_pct"]),
    )
    return pd.concat([own, beyond[beyond["of_block"].notna()]], ignore_index=True)


def _widths(rows: gpd.GeoDataFrame, block: str) -> Iterator[Clash]:
    """Stretches narrower than the rule that holds this block's fire, and those without a rule."""
    short = rows[(rows["short_ft"] > 0) & (rows["rule_block"] == block)]
    downwind = short["side"] == "downwind"
    for code, part in (
        ("break_short_downwind", short[downwind]),
        ("break_short", short[~downwind]),
    ):
        if len(part):
            worst = part["short_ft"].max()
            yield _along(code, part, part["length_ft"].sum()) | Clash(bound=worst)
    on_slope = short[short["head_ft"] > 0]
    if len(on_slope):
        yield _along("break_short_on_slope", on_slope, on_slope["head_ft"].sum())
    unknown = rows[rows["required_ft"].isna()]
    if len(unknown):
        yield _along("break_not_judged", unknown, unknown["length_ft"].sum())


def _open(rows: gpd.GeoDataFrame) -> Iterator[Clash]:
    """Gaps in existing breaks, and edges that have no break yet."""
    gaps = rows[rows["status"] == "gap"]
    downwind = gaps["side"] == "downwind"
    for code, part in (("gap_downwind", gaps[downwind]), ("gap", gaps[~downwind])):
        if len(part):
            yield _along(code, part, part["length_ft"].sum()) | Clash(bound=len(part))
    bare = rows[rows["status"] == "prepare"]
    if len(bare):
        downwind_ft = bare.loc[bare["side"] == "downwind", "length_ft"].sum()
        yield _along("edge_to_prepare", bare, bare["length_ft"].sum()) | Clash(bound=downwind_ft)


def _slopes(rows: gpd.GeoDataFrame, least_ft: float) -> Iterator[Clash]:
    """Edges at the head of a slope, which the fire runs up to."""
    heads = rows[rows["head_ft"] > 0]
    if heads["head_ft"].sum() >= least_ft:
        yield _along("head_of_slope", heads, heads["head_ft"].sum()) | Clash(
            bound=heads["rise"].max()
        )


def _along(code: str, rows: gpd.GeoDataFrame, length_ft: float) -> Clash:
    """A clash along stretches, with their lines."""
    lines = shapely.line_merge(united(rows.geometry.to_numpy()))
    return Clash(code=code, figure=float(length_ft), geometry=lines)
