"""What is to be made so that a line meets its rules, the cheapest way first, and its sums."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.units import SQFT_PER_AC
from pipeline.fire.breaks.layers import LINE_WORK
from pipeline.fire.mowing.mow_strips import line_hours, pass_count
from pipeline.fire.mowing.settings import MowingSettings, Way
from pipeline.fire.width_rules import COUNTS, Ground

COLUMN_OF_WAY = {"bare": "make_bare_ft", "mown": "make_mown_ft", "burned": "make_black_ft"}
"""Width to be made of each way, by its name in the setting order."""


ENOUGH_FT = 1e-9
"""Widths that differ by less than this are the same: what is left by rounding is not made."""


@dataclass(frozen=True, slots=True)
class Widths:
    """Widths [ft] of bare or wet, mown, and burned-out ground of a line."""

    bare: float = 0.0
    mown: float = 0.0
    burned: float = 0.0

    def counted_ft(self, ground: Ground) -> float:
        """Width [ft] that counts for a rule of that ground; NaN where a part is not known."""
        return sum(getattr(self, way) for way in COUNTS[ground])

    def __add__(self, other: "Widths") -> "Widths":
        return Widths(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(self)))


def planned_line(
    there: Widths,
    least: Widths,
    asked: Sequence[tuple[Ground, float]],
    mowing: MowingSettings,
) -> Widths:
    """Widths [ft] to be made beside what is there, so that every rule asked for is met.

    ``asked`` are the grounds that rules count, each with the width [ft] it asks for. Rules that
    count less ground come first: what is made for them counts for the others too, so that no foot
    is made twice. Where the ways allowed do not reach, all of their width is made.
    """
    made = least
    for ground, width_ft in sorted(asked, key=lambda rule: len(COUNTS[rule[0]])):
        for way in mowing.order:
            missing = width_ft - (there + made).counted_ft(ground)
            if way in COUNTS[ground] and missing > ENOUGH_FT:
                made = replace(made, **{way: _widened(getattr(made, way), missing, way, mowing)})
    return made


def _widened(width_ft: float, missing_ft: float, way: Way, mowing: MowingSettings) -> float:
    """Width [ft] of one way with what is missing put to it, as far as its limit allows."""
    most = {
        "mown": mowing.most_mown_ft,
        "bare": mowing.most_bare_ft,
        "burned": mowing.most_burned_ft,
    }[way]
    wide = width_ft + missing_ft
    return wide if most is None else max(width_ft, min(wide, most))


def sum_line_work(firebreaks: gpd.GeoDataFrame, settings: MowingSettings) -> pd.DataFrame:
    """Table ``line_work``: by block and way, along how many feet and how wide a line is made.

    Acres are feet times width, so that what overlaps at corners counts twice; the strips as drawn
    stand in the layer ``mow_strips``. Hours are told for mowing alone, whose speed is set.
    """
    rows = []
    for way, column in COLUMN_OF_WAY.items():
        made = firebreaks[firebreaks[column] > 0]
        for block, lines in made.groupby("block", sort=True):
            width, feet = lines[column], lines["length_ft"]
            rows.append(
                {
                    "block": block,
                    "way": way,
                    "length_ft": feet.sum(),
                    "least_width_ft": width.min(),
                    "most_width_ft": width.max(),
                    "area_ac": (feet * width).sum() / SQFT_PER_AC,
                    "hours": _mowing_hours(feet, width, settings) if way == "mown" else None,
                }
            )
    return pd.DataFrame(rows) if rows else empty(LINE_WORK)


def _mowing_hours(feet: pd.Series, width_ft: pd.Series, settings: MowingSettings) -> float:
    """Time to drive all passes side by side along lines of these lengths and widths [hour]."""
    passes = [pass_count(w, settings.mower_width_ft, settings.overlap_ft) for w in width_ft]
    return line_hours(float((feet * passes).sum()), settings.speed_mph, settings.efficiency_pct)
