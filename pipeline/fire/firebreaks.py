"""Width of each stretch of firebreak: what the rules ask for, what is planned, what is missing."""

from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.fire.layers import FIREBREAKS
from pipeline.fire.settings import FirebreakSettings, MowingSettings
from pipeline.fire.width_rules import Ground, WidthRule, counted_ft, required_ft, rule_named
from pipeline.fire.wind_sides import reachable_sides


@dataclass(frozen=True, slots=True)
class Demand:
    """What one rule asks for at one stretch, and what is planned of the ground it counts [ft]."""

    rule: str
    counted_ground: Ground
    required_ft: float
    planned_ft: float

    @property
    def short_ft(self) -> float:
        """Width that is missing [ft]; NaN where the width planned is not known."""
        missing = self.required_ft - self.planned_ft
        return missing if np.isnan(missing) else max(0.0, missing)


def measure_firebreaks(
    stretches: gpd.GeoDataFrame,
    breaks: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    settings: FirebreakSettings,
    mowing: MowingSettings,
) -> gpd.GeoDataFrame:
    """Layer ``firebreaks``: the stretches with the width each has and should have.

    Three kinds of ground are kept apart: bare or wet line, mown strip, and strip burned out
    beforehand. An existing break whose width is not known has no planned width either.
    """
    own = [name for name in FIREBREAKS.column_names if name in stretches]
    result = stretches[[*own, "geometry"]].copy()
    result["break_id"] = [f"B{number:04d}" for number in stretches["stretch"]]
    row = stretches["break_row"].fillna(-1).to_numpy(int)
    is_there = row >= 0
    kinds = np.array([*breaks["kind"], None], dtype=object)
    widths = np.array([*breaks["width_ft"], np.nan], dtype=float)
    result["kind"] = kinds[row]
    # A break drawn narrower than its width was stated has the width drawn.
    there_ft = np.fmin(widths[row], stretches["drawn_ft"])
    result["bare_ft"] = np.where(is_there, there_ft, settings.bare_line_ft)
    result["mown_ft"] = np.where(is_there, 0.0, mowing.mow_width_ft)
    downwind = (result["wind_side"] == "downwind") | (result["neighbor_wind_side"] == "downwind")
    result["blackline_ft"] = np.where(downwind, settings.blackline_ft, 0.0)
    by_block = burns.drop_duplicates("block").set_index("block")
    demands = [widest_demand(row, by_block, settings) for row in result.to_dict("records")]
    for column in ("rule", "counted_ground"):
        result[column] = [getattr(demand, column, None) for demand in demands]
    for column in ("required_ft", "planned_ft", "short_ft"):
        result[column] = [getattr(demand, column, np.nan) for demand in demands]
    return result


def widest_demand(
    stretch: dict[Any, Any], by_block: pd.DataFrame, settings: FirebreakSettings
) -> Demand | None:
    """Demand of the rule that leaves most missing; None where a rule needs what is not known.

    An edge between two blocks must hold the fire of either, so the rules of both are asked.
    """
    demands = []
    for block, side in _sides_to_hold(stretch, by_block, settings):
        rule = rule_named(rule_of_side(settings, side), settings)
        demand = _demand(stretch, rule, by_block.loc[block], settings)
        if demand is None:
            return None
        demands.append(demand)
    return max(demands, key=lambda d: (np.nan_to_num(d.short_ft), d.required_ft), default=None)


def _sides_to_hold(
    stretch: dict[Any, Any], by_block: pd.DataFrame, settings: FirebreakSettings
) -> list[tuple[str, str]]:
    """Blocks that the stretch must hold, each with the sides it may come to lie on."""
    outward_deg, arc_deg = stretch["bearing_deg"], settings.wind_arc_deg
    found = []
    for block, side, turn_deg in (
        (stretch["block"], stretch["wind_side"], 0.0),
        (stretch["neighbor_block"], stretch["neighbor_wind_side"], 180.0),
    ):
        if block is None or side is None:
            continue
        sides = [side]
        if arc_deg and not np.isnan(outward_deg):
            wind_deg = by_block.loc[block, "wind_from_deg"]
            half_deg = settings.downwind_half_angle_deg
            sides += reachable_sides(outward_deg + turn_deg, wind_deg, half_deg, arc_deg)
        found += [(block, reached) for reached in dict.fromkeys(sides)]
    return found


def rule_of_side(settings: FirebreakSettings, side: str) -> str:
    """Name of the width rule for a side of the wind."""
    return {
        "downwind": settings.downwind_rule,
        "flank": settings.flank_rule,
        "upwind": settings.upwind_rule,
    }[side]


def _demand(
    stretch: dict[Any, Any], rule: WidthRule, burn: pd.Series, settings: FirebreakSettings
) -> Demand | None:
    """What the rule asks for, None where it needs what is not known."""
    required = required_ft(
        rule,
        fuel_height_ft=_known(burn["fuel_height_ft"]),
        flame_length_ft=_known(burn["flame_length_ft"]),
        wind_mph=settings.wind_mph,
    )
    if required is None:
        return None
    planned = counted_ft(
        rule,
        bare_ft=stretch["bare_ft"],
        mown_ft=stretch["mown_ft"],
        blackline_ft=stretch["blackline_ft"],
    )
    return Demand(rule.name, rule.ground, required, planned)


def _known(value: float) -> float | None:
    return None if pd.isna(value) else float(value)
