"""The plan of years in the report: what is chosen and why, drawn and in tables."""

import pandas as pd

from pipeline.ahead.settings import PLANNED_CASE
from pipeline.ahead.sheets import (
    BURN_DAYS_TABLE,
    NO_SEASON,
    PLAN_CASES_TABLE,
    PLAN_ROAD_TABLE,
    PLAN_STATES_TABLE,
    PLAN_SUMMARY_TABLE,
    PLAN_TOTALS_TABLE,
    PLAN_UNITS_TABLE,
    PLAN_YEARS_TABLE,
)
from pipeline.pages.ahead.ahead_words import worded_units, worded_years
from pipeline.pages.ahead.calendar import draw_calendar
from pipeline.pages.ahead.case_years import draw_cases, plan_first
from pipeline.pages.ahead.year_choices import Frames, unit_plans
from pipeline.pages.ahead.year_maps import draw_year_maps
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.section_parts import folded, tables

KEY = (
    "A mark stands where the work falls in its year: ▲ burn, ∴ seeding, = hay; a bar along the "
    "foot is grazing, an empty year is rest. ? not known enough to choose. Underlined: done, "
    "planned or fixed by you. Shaded: past the longest return of the unit without a burn. Dashed: "
    "the most that may burn in a year, less the margin. Short: what the herd is short of."
)


def draw_ahead(frames: Frames) -> Markup:
    """Caution, calendar and a map a year; nothing where no years are planned."""
    if frames["plan_years"].empty or frames["plan_totals"].empty:
        return Markup("")
    years = frames["plan_totals"]["year"]
    title = f"The years {int(years.min())} to {int(years.max())}, unit by unit"
    calendar = draw_calendar(unit_plans(frames), frames["plan_totals"], title=title)
    scroll = {"class": "wide", "tabindex": 0, "role": "region", "aria-label": title}
    return joined(
        (
            tag("p", NO_SEASON),
            tag("h3", title),
            tag("p", KEY, attributes={"class": "about"}),
            tag("div", calendar, attributes=scroll),
            tag("h3", "A map a year"),
            draw_year_maps(frames),
        )
    )


def ahead_section(frames: Frames) -> Markup:
    """The plan of years drawn, its sums, and behind folds every choice and what it rests on."""
    worded = {
        **frames,
        "plan_years": worded_years(frames["plan_years"]),
        "plan_units": worded_units(frames["plan_units"]),
        "plan_cases": plan_first(frames["plan_cases"]),
        "plan_states": plan_first(frames["plan_states"]),
        "plan_road": _steps(frames["plan_road"]),
    }
    return joined(
        (
            draw_ahead(frames),
            tables(frames, PLAN_TOTALS_TABLE, PLAN_SUMMARY_TABLE),
            draw_cases(frames),
            tables(worded, PLAN_CASES_TABLE, PLAN_STATES_TABLE),
            folded("Every choice and its reason", tables(worded, PLAN_YEARS_TABLE)),
            folded("Steps on the road, expected", tables(worded, PLAN_ROAD_TABLE)),
            folded("What the plan rests on", tables(worded, PLAN_UNITS_TABLE, BURN_DAYS_TABLE)),
        )
    )


def _steps(plan_road: pd.DataFrame) -> pd.DataFrame:
    """Table ``plan_road``: the years of the plan in which a unit would move."""
    return plan_road[(plan_road["case"] == PLANNED_CASE) & plan_road["rule"].notna()]
