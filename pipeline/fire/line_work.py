"""What is to be made of the lines of each block: feet, acres and hours by the way it is made."""

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.units import SQFT_PER_AC
from pipeline.fire.layers import LINE_WORK
from pipeline.fire.mowing import line_hours, pass_count
from pipeline.fire.settings import MowingSettings

COLUMN_OF_WAY = {"bare": "make_bare_ft", "mown": "make_mown_ft", "burned": "make_black_ft"}
"""Width to be made of each way, by its name in the setting order."""


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
