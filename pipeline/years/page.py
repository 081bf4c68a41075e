"""The page of a property's years: plans against what was done, and each unit's line drawn."""

from collections.abc import Mapping
from dataclasses import replace
from urllib.parse import quote

import pandas as pd

from pipeline.core.layer import Layer
from pipeline.core.table import Table
from pipeline.pages.cautions import CAUTION
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.report_page import COLORS, draw_page_head
from pipeline.pages.report_tables import draw_table
from pipeline.pages.road.road_section import KEY
from pipeline.pages.road.unit_years import unit_years, years_words
from pipeline.pages.road.years_drawing import draw_years
from pipeline.pages.words import code_words
from pipeline.years.layers import (
    CLASS_ACRES,
    NOTES,
    OPTION_YEARS,
    OUTCOME_ROWS,
    SEASONS,
    SPECIES_YEARS,
    TASK_YEARS,
    UNIT_CHANGES,
    UNIT_YEARS,
)

CLASSES = ("planned_ac", *(column.name for column in CLASS_ACRES), "without_plan_ac")


SEASONS_TABLE = Table(
    SEASONS,
    "Planned and done, season by season, in acres",
    ("season", "as_of", "plans", *CLASSES, "planned_pls_lb", "done_pls_lb", "units", "ground_ac"),
    totals=("plans", *CLASSES, "planned_pls_lb", "done_pls_lb"),
    about="Acres as planned, otherwise, not done, not told and carried over add up to the acres "
    "planned. Not told: no later log speaks of the days. Carried over: a later season plans it "
    "again for the same days. Otherwise: another day, part of the acres, another method, mix or "
    "number of animals. Seed sown is that planned for the acres sown: a log tells no pounds.",
)


OUTCOMES_TABLE = Table(
    OUTCOME_ROWS,
    "Each plan and what came of it, the newest season first",
    (
        "unit_id",
        "season",
        "kind",
        "outcome",
        "differs",
        "first_day",
        "last_day",
        "start",
        "end",
        *CLASSES,
        "done_ac",
        "planned_pls_lb",
        "done_pls_lb",
        "taken_lb",
        "told_in",
        "work_id",
    ),
    totals=(*CLASSES, "planned_pls_lb", "done_pls_lb", "taken_lb"),
)


CHANGES_TABLE = Table(
    UNIT_CHANGES,
    "Units that were renamed, split, merged or redrawn",
    tuple(name for name in UNIT_CHANGES.column_names if name != "number"),
    about="By outline, on the ellipsoid. Outlines that share 95 percent of both are one; less than "
    "5 percent of either is the width of a line.",
)


YEARS_TABLE = Table(
    UNIT_YEARS,
    "Each piece of ground, year by year",
    tuple(name for name in UNIT_YEARS.column_names if name != "done"),
    below=("done",),
)


OPTIONS_TABLE = Table(
    OPTION_YEARS,
    "Options and whether they were taken",
    ("season", "unit_id", "rank", "leads_to", "taken", "suggestion"),
    about="An option is something to talk over, never an order. Not asked: nothing that a log "
    "would tell.",
)


TASKS_TABLE = Table(
    TASK_YEARS,
    "Tasks and what shows that they were done",
    ("kind", "season", "place", "due", "outcome", "done_on"),
    about="Lines, orders and letters stand in no log and are not told.",
)


NOTES_TABLE = Table(NOTES, "To look at first", ("code", "season", "about", "note"))


FAILED_TABLE = Table(SEASONS, "Runs that were not read", ("run", "state"), below=("reasons",))


def years_page(name: str, tables: Mapping[str, pd.DataFrame], *, style: str, script: str) -> str:
    """The whole page; it asks nothing of a network and sorts by its own script."""
    seasons = tables["seasons"]
    read = seasons[seasons["state"].isin(["read", "read_in_part"])]
    changes, years = tables["unit_changes"], tables["unit_years"]
    title = f"{name}: {span_words(read)}" if len(read) else "No season could be read"
    drawn = [
        draw_table(FAILED_TABLE, seasons[seasons["state"].isin(["failed", "left_out"])]),
        draw_table(NOTES_TABLE, tables["notes"]),
        draw_table(SEASONS_TABLE, read),
        draw_table(CHANGES_TABLE, changes[changes["change"] != "same"]),
        _drawings(tables),
        side_by_side(UNIT_YEARS, years, ("line",), GREENER, "greenness_gap"),
        side_by_side(UNIT_YEARS, years, ("line",), NATIVE, "native_share_pct"),
        side_by_side(
            SPECIES_YEARS,
            tables["species_years"],
            ("line", "species", "group"),
            SPECIES,
            "cover_pct",
        ),
        draw_table(OUTCOMES_TABLE, tables["outcomes"]),
        *(
            _folded(table, tables[table.layer.name])
            for table in (YEARS_TABLE, OPTIONS_TABLE, TASKS_TABLE)
        ),
    ]
    body = tag(
        "body",
        tag("header", tag("h1", given(title)), _reports(read)),
        tag("main", *drawn),
        tag("footer", tag("p", CAUTION)),
        tag("script", Markup(script)),
    )
    head = draw_page_head(title, COLORS + style, script)
    return f'<!DOCTYPE html>\n<html lang="en">{head}{body}</html>\n'


def _folded(table: Table, rows: pd.DataFrame) -> Markup:
    """A long table under its title, which unfolds it; nothing without rows."""
    if not len(rows):
        return Markup("")
    heading = tag("summary", tag("h2", table.title))
    return tag("details", heading, draw_table(table, rows), attributes={"class": "section"})


def span_words(read: pd.DataFrame) -> str:
    """The seasons that were read, in words."""
    first, last = int(read["season"].min()), int(read["season"].max())
    count = len(read)
    return f"season {first}" if count == 1 else f"{count} seasons, {first} to {last}"


def _reports(read: pd.DataFrame) -> Markup:
    """Links to the reports of the runs; a GeoPackage that stands alone has none."""
    links = [
        tag("li", tag("a", str(row["season"]), attributes={"href": _way(row["run"])}))
        for row in read.to_dict("records")
        if not row["run"].endswith(".gpkg")
    ]
    words = tag("p", "The report of each season:") if links else ""
    return tag("div", words, tag("ul", *links, attributes={"class": "reports"}) if links else "")


def _way(run: str) -> str:
    return quote(f"{run}/report.html")


GREENER = "Greener in midsummer than units without a burn, side by side"


NATIVE = "Native plants in the cover, side by side"


SPECIES = "Cover of each species by its newest survey of the year, side by side"


def side_by_side(
    layer: Layer, rows: pd.DataFrame, names: tuple[str, ...], title: str, figure: str
) -> Markup:
    """A table of one figure of a layer with a column a year; nothing where it is nowhere known."""
    known = rows[rows[figure].notna()]
    if known.empty:
        return Markup("")
    source = layer.column(figure)
    wide = known.pivot_table(index=list(names), columns="year", values=figure, sort=True)
    years = tuple(
        replace(source, name=f"{year}_{figure}", heading=str(year), nullable=True)
        for year in wide.columns
    )
    wide.columns = pd.Index([column.name for column in years])
    drawn = Layer("side_by_side", None, title, (*map(layer.column, names), *years))
    return draw_table(Table(drawn, title, tuple(drawn.column_names)), wide.reset_index())


def _drawings(tables: Mapping[str, pd.DataFrame]) -> Markup:
    """All ground as small drawings on the same axes, with a key."""
    told = unit_years(drawn_frames(tables))
    if told is None:
        return Markup("")
    lines, scales = told
    figures = []
    for place, line in enumerate(lines):
        words, state = years_words(line), code_words(line.runs[-1].state) if line.runs else ""
        title = f"{line.name}: {state}" if state else line.name
        drawing = draw_years(line, scales, key=f"line-{place}", title=title, words=words)
        caption = tag("figcaption", given(line.name), f": {state}" if state else "")
        figures.append(tag("figure", caption, drawing))
    return joined(
        (
            tag("h2", f"The years {scales.first_year} to {scales.last_year}, unit by unit"),
            tag("p", KEY, attributes={"class": "about"}),
            tag("div", *figures, attributes={"class": "charts"}),
        )
    )


def drawn_frames(tables: Mapping[str, pd.DataFrame]) -> dict[str, pd.DataFrame]:
    """The years in the form in which the report draws those of one run.

    A state is told at the end of a year; it is drawn from there until the next one that differs.
    Nothing is drawn after the day that the newest plan is looked at from.
    """
    as_of = tables["seasons"]["as_of"].max()
    years = tables["unit_years"].rename(columns={"line": "unit_id", "done": "treatments"})
    years = years[years["state"].notna() & years["year"].le(as_of.year)]
    moved = years[years["state"] != years.groupby("unit_id")["state"].shift()]
    number = moved.groupby("unit_id").cumcount() + 1
    ends = pd.to_datetime(moved["year"].astype(str) + "-12-31").astype("datetime64[s]")
    moves = pd.DataFrame(
        {
            "unit_id": moved["unit_id"],
            "number": number,
            "day": ends.mask(number == 1),
            "to_state": moved["state"],
        }
    )
    lines, records = tables["ground_lines"], tables["line_records"]
    return {
        "road": years,
        "road_years": years,
        "road_moves": moves,
        "treatment_log": records.drop(columns="unit_id").rename(columns={"line": "unit_id"}),
        "units": pd.DataFrame(
            {"unit_id": lines["line"], "name": lines["name"], "gross_ac": lines["line_ac"]}
        ),
        "property": pd.DataFrame({"as_of": [as_of]}),
    }
