"""The road of recovery in the report: where each unit stands, and its years drawn."""

from typing import Any

import pandas as pd

from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.road.unit_years import (
    Frames,
    Scales,
    UnitYears,
    newest_state,
    unit_years,
    years_words,
)
from pipeline.pages.road.years_drawing import draw_years
from pipeline.pages.words import code_words

KEY = (
    "The band climbs as a unit comes along the road, to full height and dark where it is recovered "
    "or established. ▲ burn, hollow where it took less than half; ∴ seeding; = hay or mowing; "
    "× spray; zigzag: tillage. Grazed: full bars are animals, taller for more animal-unit months "
    "an acre, open bars rest on record. Natives: full dots, in percent of the cover, the line at "
    "50; hollow dots are exotic cool-season grasses. Greener: midsummer NDVI less that of units "
    "without a burn in that year or the one before, up and dark where greener. Fuel: dry load, "
    "lb/ac."
)


def draw_road(frames: Frames) -> Markup:
    """All units as small drawings on the same axes, with a key; nothing without any years."""
    told = unit_years(frames)
    if told is None:
        return Markup("")
    units, scales = told
    figures = [_figure(unit, scales, frames) for unit in units]
    return joined(
        (
            tag("h3", f"The years {scales.first_year} to {scales.last_year}, unit by unit"),
            tag("p", KEY, attributes={"class": "about"}),
            tag("div", *figures, attributes={"class": "charts"}),
        )
    )


def _figure(unit: UnitYears, scales: Scales, frames: Frames) -> Markup:
    """The drawing of a unit under its name and state."""
    state = state_words(newest_state(frames, unit.unit_id))
    key = f"years-{list(frames['units']['unit_id']).index(unit.unit_id)}"
    title = f"{unit.name}: {state}"
    drawing = draw_years(unit, scales, key=key, title=title, words=years_words(unit))
    return tag("figure", tag("figcaption", given(unit.name), f": {state}"), drawing)


MISSING_WORDS = {
    "record": "what was done here: nothing is on record",
    "survey": "what grows there since: no survey",
    "survey_before_burn": "what stood there before the burn: no survey on the same transects",
    "fuel": "its fuel",
}


def road_rows(frames: Frames) -> pd.DataFrame:
    """Layer ``road`` with what is missing in words."""
    missing = frames["road"]["missing"].map(
        lambda codes: "; ".join(MISSING_WORDS.get(code, code) for code in codes.split(", ")),
        na_action="ignore",
    )
    return frames["road"].assign(missing=missing)


def state_words(row: dict[str, Any]) -> str:
    """A state and since what year, in a few words."""
    since = row["since"]
    words = code_words(str(row["state"]))
    return words if pd.isna(since) else f"{words} since {since.year}"
