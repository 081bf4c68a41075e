"""Lines to be made around each unit if it burned, neighbor by neighbor."""

import geopandas as gpd
import pandas as pd

from pipeline.ahead.layers import PLAN_EDGES
from pipeline.ahead.settings import PlanSettings
from pipeline.core.layer import empty
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.stretches import trace_stretches


def measure_plan_edges(
    units: gpd.GeoDataFrame,
    edges: gpd.GeoDataFrame,
    neighbors: pd.DataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    firebreaks: FirebreakSettings,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``plan_edges``: each unit as a block of its own, its edges credited as those of blocks.

    A pair stands once, under the name that comes first. Edges along a lane, along nobody's ground
    or along a unit that is met in hardly more than a point have no neighbor. How wide a break must
    be is not asked: that hangs on the wind and fuel of the day.
    """
    if not plan.years or units.empty:
        return empty(PLAN_EDGES)
    alone = pd.DataFrame({"block": units["unit_id"], "unit_id": units["unit_id"]})
    stretches = trace_stretches(
        edges, breaks, break_credits, alone.assign(wind_from_deg=float("nan")), firebreaks
    )
    if stretches.empty:
        return empty(PLAN_EDGES)
    sides = pd.DataFrame(stretches[["block", "neighbor_block", "length_ft"]])
    sides["line_ft"] = sides["length_ft"].where(stretches["status"] != "existing", 0.0)
    beside = set(zip(neighbors["unit_id"], neighbors["neighbor"], strict=True))
    pairs = zip(sides["block"], sides["neighbor_block"], strict=True)
    shared = pd.Series([pair in beside for pair in pairs], index=sides.index, dtype=bool)
    apart = sides[~shared & sides["neighbor_block"].notna()]
    swapped = apart.assign(block=apart["neighbor_block"])
    rows = pd.concat([sides, swapped]).assign(
        neighbor=pd.concat([sides["neighbor_block"].where(shared), pd.Series(None, swapped.index)])
    )
    first = rows["neighbor"].isna() | (rows["block"] < rows["neighbor"])
    names = rows[["block", "neighbor"]].astype(object)
    rows = rows.assign(
        unit_id=names["block"].where(first, names["neighbor"]),
        neighbor=names["neighbor"].where(first, names["block"]),
    )
    sums = rows.groupby(["unit_id", "neighbor"], dropna=False)[["length_ft", "line_ft"]].sum()
    sums = sums.rename(columns={"length_ft": "shared_ft"}).reset_index()
    return sums.astype({"neighbor": object})
