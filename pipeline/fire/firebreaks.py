"""Width of each stretch of firebreak: what the rules ask for, what is to be made, what is short."""

from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.fire.breaks.uncredited import cover_beside, covered_ft
from pipeline.fire.layers import FIREBREAKS
from pipeline.fire.line_plan import Widths, planned_line
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.width_rules import WidthRule, required_ft, rule_named
from pipeline.fire.wind_sides import SIDES

WAY_OF_CREDIT = {
    "bare": "bare",
    "wet": "bare",
    "green": "bare",
    "mown": "mown",
    "black": "burned",
}
"""Kind of ground of a line that an existing break is put to, by what it is credited as."""


BurnFigures = dict[Any, dict[Any, Any]]
"""Wind, fuel height and flame length of each block, by its name."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What the rule of one side asks for [ft], for the fire of one block."""

    block: str
    rule: WidthRule
    required_ft: float

    def short_ft(self, line: Widths) -> float:
        """Width that a line is short of it [ft]; NaN where the width of the line is not known."""
        missing = self.required_ft - line.counted_ft(self.rule.ground)
        return missing if np.isnan(missing) else max(0.0, missing)


def measure_firebreaks(
    stretches: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    burns: pd.DataFrame,
    settings: FirebreakSettings,
    mowing: MowingSettings,
) -> gpd.GeoDataFrame:
    """Layer ``firebreaks``: the stretches with the width each has, should have, and is to get.

    Three kinds of ground are kept apart: bare or wet line, mown strip, and strip burned out
    beforehand. An existing break whose width is not known has no planned width either, and nothing
    is made beside it.
    """
    own = [name for name in FIREBREAKS.column_names if name in stretches]
    result = stretches[[*own, "geometry"]].copy()
    result["break_id"] = [f"B{number:04d}" for number in stretches["stretch"]]
    row = stretches["break_row"].fillna(-1).to_numpy(int)
    result["kind"] = np.array([*breaks["kind"], None], dtype=object)[row]
    for column in ("credited_as", "condition"):
        result[column] = np.array([*break_credits[column], None], dtype=object)[row]
    there = [
        _there(breaks, break_credits, number, drawn_ft)
        for number, drawn_ft in zip(row, stretches["drawn_ft"], strict=True)
    ]
    by_block = burns.drop_duplicates("block").set_index("block").to_dict("index")
    told = [
        _measured(stretch, line, by_block, settings, mowing)
        for stretch, line in zip(result.to_dict("records"), there, strict=True)
    ]
    columns = list(told[0]) if told else list(_cells(Widths(), Widths(), None))
    for column in columns:
        result[column] = [row[column] for row in told]
    unknown = breaks.geometry[break_credits["break_kind"].isna()]
    beside = cover_beside(result.geometry.to_numpy(), unknown, settings)
    beside_ft = covered_ft(beside, len(result))
    result["kind_unknown_ft"] = np.where(row < 0, beside_ft, 0.0)
    return result


def _there(
    breaks: gpd.GeoDataFrame, break_credits: pd.DataFrame, row: int, drawn_ft: float
) -> Widths | None:
    """Ground of the existing break in that row of the layer breaks; None where there is none.

    A break drawn narrower than its width was stated has the width drawn.
    """
    if row < 0:
        return None
    way = WAY_OF_CREDIT[break_credits["credited_as"].iloc[row]]
    return Widths(**{way: float(np.fmin(breaks["width_ft"].iloc[row], drawn_ft))})


def _measured(
    stretch: dict[Any, Any],
    existing: Widths | None,
    by_block: BurnFigures,
    settings: FirebreakSettings,
    mowing: MowingSettings,
) -> dict[str, object]:
    """Cells of one stretch: its widths, what is to be made of them, and the rule that is worst."""
    demands = demands_on(stretch, by_block, settings)
    asked = [(demand.rule.ground, demand.required_ft) for demand in demands or ()]
    if existing is None:
        least = _least(stretch, settings, mowing)
        existing, made = Widths(), planned_line(Widths(), least, asked, mowing)
    elif mowing.widen_existing and not np.isnan(existing.counted_ft("bare_mown_or_burned")):
        made = planned_line(existing, Widths(), asked, mowing)
    else:
        made = Widths()
    line = existing + made
    worst = max(
        demands or (),
        key=lambda d: (np.nan_to_num(d.short_ft(line)), d.required_ft),
        default=None,
    )
    return _cells(line, made, worst)


def _least(stretch: dict[Any, Any], settings: FirebreakSettings, mowing: MowingSettings) -> Widths:
    """Widths [ft] that are made along every edge to be prepared, whatever the rules ask for."""
    downwind = "downwind" in (stretch["held_side"], stretch["neighbor_held_side"])
    burned = settings.blackline_ft if downwind else 0.0
    return Widths(settings.bare_line_ft, mowing.mow_width_ft, burned)


def _cells(line: Widths, made: Widths, worst: Demand | None) -> dict[str, object]:
    """Cells of the layer ``firebreaks`` that tell the widths of a stretch."""
    return {
        "bare_ft": line.bare,
        "mown_ft": line.mown,
        "blackline_ft": line.burned,
        "make_bare_ft": made.bare,
        "make_mown_ft": made.mown,
        "make_black_ft": made.burned,
        "required_ft": worst.required_ft if worst else np.nan,
        "rule_block": worst.block if worst else None,
        "rule": worst.rule.name if worst else None,
        "counted_ground": worst.rule.ground if worst else None,
        "planned_ft": line.counted_ft(worst.rule.ground) if worst else np.nan,
        "short_ft": worst.short_ft(line) if worst else np.nan,
    }


def demands_on(
    stretch: dict[Any, Any], by_block: BurnFigures, settings: FirebreakSettings
) -> list[Demand] | None:
    """What all rules ask of a stretch; None where one needs a figure that is not known.

    An edge between two blocks must hold the fire of either, so the rules of both are asked. Where
    no wind is planned on either hand, nothing is asked yet.
    """
    demands: list[Demand] = []
    if stretch["held_side"] is None and stretch["neighbor_held_side"] is None:
        return demands
    for block, side in sides_asked(stretch):
        rule, burn = rule_named(rule_of_side(settings, side), settings), by_block[block]
        width = required_ft(
            rule,
            fuel_height_ft=_known(burn["fuel_height_ft"]),
            flame_length_ft=_known(burn["flame_length_ft"]),
            wind_mph=settings.wind_mph,
        )
        if width is None:
            return None
        demands.append(Demand(block, rule, width))
    return demands


def sides_asked(stretch: dict[Any, Any]) -> list[tuple[str, str]]:
    """Each block at the stretch with the sides whose rules it asks for.

    These are the side that it is held as, and all less exposed ones, so that a line does not grow
    worse where it is needed most. A block whose wind is not known may burn in any: it asks for all.
    """
    pairs = (("block", "held_side"), ("neighbor_block", "neighbor_held_side"))
    return [
        (stretch[block], side)
        for block, held in pairs
        if stretch[block] is not None
        for side in SIDES[SIDES.index(stretch[held] or SIDES[0]) :]
    ]


def rule_of_side(settings: FirebreakSettings, side: str) -> str:
    """Name of the width rule for a side of the wind."""
    return {
        "downwind": settings.downwind_rule,
        "flank": settings.flank_rule,
        "upwind": settings.upwind_rule,
    }[side]


def _known(value: float) -> float | None:
    return None if pd.isna(value) else float(value)
