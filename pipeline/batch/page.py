"""The page of a batch: where to look first, in tables that sort by a click on their headings."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

import pandas as pd

from pipeline.batch.layers import (
    CREW_WEEKS,
    PROPERTIES,
    SEASON_COSTS,
    SEED_WEEKS,
    UNITS,
    WORK_FIGURES,
)
from pipeline.core.table import Table
from pipeline.pages.cautions import CAUTION, CAUTIONS
from pipeline.pages.markup import Markup, given, tag
from pipeline.pages.report_page import LOOKS, draw_page_head
from pipeline.pages.report_tables import draw_table
from pipeline.pages.words import number_words

CONFLICTS = ("stop_and_ask", "think_again", "know")


WORK = tuple(column.name for column in WORK_FIGURES)


FAILED_TABLE = Table(PROPERTIES, "Properties that failed", ("property_file",), below=("reasons",))


PROPERTIES_TABLE = Table(
    PROPERTIES,
    "Properties, those with most to stop and ask for first",
    (
        "property",
        "season",
        "state",
        *CONFLICTS,
        "warnings",
        "units",
        "units_ac",
        "ground_ac",
        "burnable_ac",
        "prepare_ft",
        *WORK,
        "without_price",
        "greener",
        "less_green",
        "not_clear",
    ),
    totals=("units", "units_ac", "ground_ac", "burnable_ac", "prepare_ft", *WORK, *CONFLICTS),
    about="Acres summed count ground twice where outlines overlap; acres covered do not. Dollars "
    "are those of known prices.",
)


UNITS_TABLE = Table(
    UNITS,
    "Units, those with most to stop and ask for first",
    (
        "unit_id",
        "property",
        "season",
        "name",
        "blocks",
        "areas",
        *CONFLICTS,
        "gross_ac",
        "burnable_ac",
        "carries",
        "last_burn",
        "verdict",
    ),
)


CREW_TABLE = Table(
    CREW_WEEKS,
    "Crew by week",
    ("week", "tasks", "properties", "work_hours", "crew_days"),
    totals=("tasks", "work_hours", "crew_days"),
    about=CREW_WEEKS.column("crew_days").meaning,
)


SEED_TABLE = Table(
    SEED_WEEKS,
    "Seed to buy by vendor and week",
    (
        "vendor",
        "week",
        "species",
        "common_name",
        "properties",
        "pls_to_order_lb",
        "bulk_to_order_lb",
        "cost_usd",
        "without_price",
    ),
    totals=("pls_to_order_lb", "bulk_to_order_lb", "cost_usd"),
)


COSTS_TABLE = Table(
    SEASON_COSTS,
    "Hours, feet, pounds and dollars by place",
    ("place", "property", "season", "kind", "work_ac", "length_ft", *WORK),
    totals=("work_ac", "length_ft", *WORK),
)


def batch_page(tables: Mapping[str, pd.DataFrame], *, style: str, script: str) -> str:
    """The whole page; it asks nothing of a network, and without its script it is only not sorted.

    What could hurt stands first: stop and ask before think again, before all else.
    """
    properties = tables["properties"]
    failed, done = (
        properties[properties["state"].eq("failed") == is_so] for is_so in (True, False)
    )
    drawn = [
        draw_table(FAILED_TABLE, failed),
        draw_table(PROPERTIES_TABLE, gravest_first(done)),
        draw_table(CREW_TABLE, tables["crew_weeks"]),
        draw_table(SEED_TABLE, tables["seed_weeks"]),
        draw_table(UNITS_TABLE, gravest_first(tables["units"])),
        draw_table(COSTS_TABLE, tables["season_costs"]),
    ]
    body = tag(
        "body",
        tag("header", tag("h1", f"{len(properties)} properties"), _places(done)),
        tag("main", *drawn, _cautions()),
        tag("footer", tag("p", CAUTION)),
        tag("script", Markup(script)),
    )
    head = draw_page_head(f"{len(properties)} properties", LOOKS + style, script)
    return f'<!DOCTYPE html>\n<html lang="en">{head}{body}</html>\n'


def gravest_first(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows by their conflicts, the most and most serious first."""
    return rows.sort_values(list(CONFLICTS), ascending=False, kind="stable")


def _places(done: pd.DataFrame) -> Markup:
    """Links to the reports of the run folders."""
    links = [
        tag("li", tag("a", given(f"{row['property']} {row['season']}"), attributes=_link(row)))
        for row in done.to_dict("records")
    ]
    acres = number_words(done["ground_ac"].sum(), 1)
    words = tag("p", f"{acres} acres of ground covered; the report of each:")
    return tag("div", words, tag("ul", *links, attributes={"class": "reports"}))


def _link(row: Mapping[Any, Any]) -> dict[str, object]:
    """Attributes of a link to the report in a run folder, whatever letters are in its name."""
    return {"href": quote(f"{row['folder']}/report.html")}


def _cautions() -> Markup:
    items = [tag("li", words) for words in CAUTIONS]
    title = tag("h2", "Cautions", attributes={"id": "cautions"})
    return tag("section", title, tag("ul", *items), attributes={"class": "caution"})
