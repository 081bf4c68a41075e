"""Conflicts: clashes of planned work, judged by the table of conflict rules and ranked."""

from string import Formatter
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.fire.words import compass_point
from pipeline.ground.overlays import united
from pipeline.work.codes import CODES
from pipeline.work.layers import CONFLICTS, SERIOUSNESS

NOT_KNOWN = "unknown"


class AgainstFormatter(Formatter):
    """Fills in the words of a rule: a figure rounded half up to the decimals told, else to none."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """One value of a clash as it is printed."""
        if pd.isna(value):
            return NOT_KNOWN
        if isinstance(value, pd.Timestamp):
            return str(value.date())
        return (
            str(value) if isinstance(value, str) else f"{half_up(value, int(format_spec or 0)):,f}"
        )


def judge_conflicts(
    planned_work: gpd.GeoDataFrame,
    fire_clashes: gpd.GeoDataFrame,
    unit_clashes: gpd.GeoDataFrame,
    stock_clashes: gpd.GeoDataFrame,
    seed_clashes: gpd.GeoDataFrame,
    conflict_rules: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``conflicts``: every clash that a rule takes up, the most serious first.

    Of equally serious ones the order of the rules counts, then work, unit and number.
    """
    found = [fire_clashes, unit_clashes, stock_clashes, seed_clashes]
    clashes = [frame for frame in found if len(frame)]
    if not clashes:
        return empty(CONFLICTS, planned_work.crs)
    taken_up = conflict_rules[conflict_rules["seriousness"] != "off"]
    rules = taken_up.rename(columns={"bound": "rule_bound"})
    judged = pd.concat(clashes, ignore_index=True).merge(rules, on="code")
    ranked = judged.assign(
        bound=judged["bound"].fillna(judged["rule_bound"]),
        weight=judged["seriousness"].map(SERIOUSNESS.index),
        rule=judged["code"].map(CODES.index),
    ).sort_values(["weight", "rule", "work_id", "unit_id", "number"], kind="stable")
    works = dict(list(planned_work.groupby("work_id")))
    rows = [_conflict(clash, works[clash["work_id"]]) for clash in ranked.to_dict("records")]
    frame = pd.DataFrame(rows, columns=[*CONFLICTS.column_names, "geometry"])
    frame["number"] = range(1, len(frame) + 1)
    return gpd.GeoDataFrame(frame, geometry=list(frame["geometry"]), crs=planned_work.crs)


def _conflict(clash: dict[Any, Any], work: gpd.GeoDataFrame) -> dict[str, Any]:
    """Cells of one conflict: what is planned, and what stands against it in words."""
    of_unit = work[work["unit_id"] == clash["unit_id"]]
    planned = of_unit if len(of_unit) else work
    first = planned.iloc[0]
    shape = clash["geometry"]
    return clash | {
        "kind": first["kind"],
        "block": first["block"],
        "area": first["area"],
        "first_day": planned["first_day"].min(),
        "last_day": planned["last_day"].max(),
        "against": against_words(clash, work),
        "geometry": united(planned.geometry.to_numpy()) if shape is None else shape,
    }


def against_words(clash: dict[Any, Any], work: pd.DataFrame) -> str:
    """What stands against the work: the words of the rule with the figures of the clash."""
    unit = clash["unit_id"]
    bearing = clash["bearing_deg"]
    told = {name: clash[name] for name in ("figure", "bound", "day", "bound_day", "names")}
    told["unit"] = listed(work["unit_id"]) if pd.isna(unit) else unit
    if pd.isna(bearing):
        told["bearing"] = "away"
    else:
        told["bearing"] = f"{compass_point(bearing)} ({int(half_up(bearing, 0)) % 360}°)"
    return AgainstFormatter().vformat(clash["against"], (), told)


def count_block_conflicts(burn_blocks: pd.DataFrame, conflicts: pd.DataFrame) -> pd.DataFrame:
    """Table ``block_conflicts``: a row for each burn block, with its conflicts of each kind."""
    counts = pd.crosstab(conflicts["block"], conflicts["seriousness"])
    counts = counts.reindex(index=burn_blocks["block"], columns=list(SERIOUSNESS), fill_value=0)
    return counts.reset_index()
