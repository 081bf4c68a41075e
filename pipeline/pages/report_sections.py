"""The sections of the report, each from the layers that it speaks of."""

from collections.abc import Mapping
from typing import NamedTuple

import pandas as pd

from pipeline.core.sheets import ALL_SETTINGS_TABLE, CHANGED_SETTINGS_TABLE, SOURCES_TABLE
from pipeline.fire import sheets as fire
from pipeline.greenness.sheets import (
    BURN_EFFECTS_TABLE,
    BURNED_SHARES_TABLE,
    COOL_SEASON_CHANGES_TABLE,
    COOL_SEASON_TABLE,
    GREENNESS_TABLE,
    SCENES_TABLE,
    WITHIN_UNIT_TABLE,
)
from pipeline.ground.sheets import EXCLUDED_TABLE, TOTALS_TABLE, UNITS_TABLE
from pipeline.pages.ahead.ahead_section import ahead_section
from pipeline.pages.finding_words import draw_findings
from pipeline.pages.greenness.burn_cards import draw_burn_cards
from pipeline.pages.greenness_words import with_greenness_words
from pipeline.pages.map_frame import frame_around
from pipeline.pages.map_svg import draw_map, unit_facts
from pipeline.pages.map_themes import draw_switches
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.packet.block_map import arcs_of_block
from pipeline.pages.packet.wind_ring import wind_figure
from pipeline.pages.photo_series import draw_photo_series
from pipeline.pages.records_section import draw_records
from pipeline.pages.report_charts import JOINED_DAYS, USABLE_PCT, draw_series
from pipeline.pages.report_tables import draw_table
from pipeline.pages.road.road_section import draw_road, road_rows
from pipeline.pages.season_words import fuel_rows, option_rows, plan_rows
from pipeline.pages.section_parts import folded, off_paper, tables
from pipeline.pages.words import wind_words
from pipeline.pages.work import work_tables as work
from pipeline.pages.work.first_screen import plan_day
from pipeline.pages.work.task_list import task_sheet
from pipeline.pages.work_words import TASK_WORDS
from pipeline.season.phenology.sheets import PHENOLOGY_TABLE
from pipeline.season.photos.sheets import PHOTOS_TABLE, POINTS_TABLE, WINDOWS_TABLE
from pipeline.season.plants.groups import in_group_order
from pipeline.season.plants.sheets import (
    ALL_CHANGES_TABLE,
    ALL_GROUPS_TABLE,
    ALL_SURVEYS_TABLE,
    CHANGES_TABLE,
    COVER_TABLE,
    GROUPS_TABLE,
    PATCH_YEARS_TABLE,
    PATCHES_TABLE,
)
from pipeline.season.road.sheets import ROAD_MOVES_TABLE, ROAD_TABLE, ROAD_YEARS_TABLE
from pipeline.season.sheets import (
    COMMUNITY_TABLE,
    FORAGE_TABLE,
    FUEL_TABLE,
    HERD_TABLE,
    HISTORY_TABLE,
    OPTIONS_TABLE,
    SEASON_TABLE,
)
from pipeline.seed.sheets import (
    AREAS_TABLE,
    BOXES_TABLE,
    HARVEST_TABLE,
    ORDER_TABLE,
    RATES_TABLE,
)
from pipeline.work.sheets import CONFLICTS_TABLE
from pipeline.work.stock.sheets import (
    CLOSED_DAYS_TABLE,
    HERD_FEED_TABLE,
    HERD_MOVES_TABLE,
    PLAN_FEED_TABLE,
)

Frames = Mapping[str, pd.DataFrame]


class Section(NamedTuple):
    """One section: where links lead, its heading, what stands in it, whether it is printed."""

    key: str
    title: str
    content: Markup
    on_paper: bool = True


def report_sections(frames: Frames, *, stamp: str, crs_name: str) -> list[Section]:
    """Every section that some layer has rows for, findings first."""
    as_of = plan_day(frames, stamp)
    worded = {"season_plan": plan_rows, "season_options": option_rows, "fuel": fuel_rows}
    frames = {**frames, **{name: words(frames) for name, words in worded.items()}}
    sections = [
        Section(
            "findings",
            "Look at this first",
            draw_findings(frames["findings_by_cause"], frames["findings"]),
        ),
        Section("map-section", "Map", _map(frames, crs_name)),
        Section("conflicts", "Conflicts", tables(frames, CONFLICTS_TABLE), on_paper=False),
        Section("tasks", "Tasks", _tasks(frames, as_of), on_paper=False),
        Section("costs", "Costs", _costs(frames), on_paper=False),
        Section("units", "Units", tables(frames, TOTALS_TABLE, UNITS_TABLE, EXCLUDED_TABLE)),
        Section("road", "Road of recovery", _road(frames), on_paper=False),
        Section(
            "season",
            "Season",
            joined((tables(frames, SEASON_TABLE), off_paper(tables(frames, OPTIONS_TABLE)))),
        ),
        Section("ahead", "The years ahead", ahead_section(frames), on_paper=False),
        Section("burning", "Burn blocks and breaks", _burning(frames)),
        Section("slope", "Slope", _slope(frames), on_paper=False),
        Section("seed", "Seed", _seed(frames), on_paper=False),
        Section(
            "fuel",
            "Fuel",
            joined(
                (
                    tables(frames, FUEL_TABLE, PHENOLOGY_TABLE),
                    off_paper(tables(frames, fire.WEATHER_TABLE)),
                )
            ),
        ),
        Section("history", "History", tables(frames, HISTORY_TABLE)),
        Section("records", "Records", draw_records(frames), on_paper=False),
        Section("grazing", "Grazing", _grazing(frames), on_paper=False),
        Section("greenness", "Greenness", _greenness(frames)),
        Section("plants", "Plants", _plants(frames), on_paper=False),
        Section(
            "patches", "Patches", tables(frames, PATCH_YEARS_TABLE, PATCHES_TABLE), on_paper=False
        ),
        Section("photos", "Photo points", _photos(frames), on_paper=False),
        Section(
            "provenance",
            "Where the figures come from",
            _provenance(frames, stamp, crs_name),
            on_paper=False,
        ),
    ]
    return [section for section in sections if section.content]


def _map(frames: Frames, crs_name: str) -> Markup:
    tools = [
        tag("button", words, attributes={"type": "button", "data-do": do})
        for words, do in (("Closer", "+"), ("Farther", "-"), ("Whole property", "0"))
    ]
    about: dict[str, object] = {"class": "about"}
    keys = (
        "Tab goes from unit to unit, Enter holds one, arrows move, + and − zoom, 0 shows all. "
        "Ctrl and the wheel zoom too."
    )
    touch = "Tap a unit to hold it; two fingers zoom, one moves a map that is near."
    hints = [
        tag("p", words, attributes={"class": f"about {by}"})
        for by, words in (("keys", keys), ("touch", touch))
    ]
    crosses = "Crosses stand a quarter mile apart, with 40 acres between four. "
    has_crosses = bool(frame_around(frames["units"]).quarter_mile_crosses())
    ground = f"{crosses * has_crosses}{crs_name}, meters; north is up."
    hint = (
        tag("p", f"{do} a unit, a break or a strip to read its figures.", attributes={"class": by})
        for by, do in (("keys", "Point at"), ("touch", "Tap"))
    )
    card: dict[str, object] = {"id": "card", "class": "card", "aria-live": "polite"}
    drawing = tag(
        "div",
        tag("div", draw_map(frames), attributes={"class": "plat"}),
        tag("div", *tools, *hints, attributes={"class": "tools"}),
        tag("p", ground, attributes=about),
    )
    beside = tag("div", tag("div", *hint, attributes=card), draw_switches(frames))
    return tag("div", drawing, beside, unit_facts(frames), attributes={"class": "sheet"})


def _road(frames: Frames) -> Markup:
    """The years of each unit drawn, where it stands, and behind folds every step and figure."""
    every = tables(frames, ROAD_YEARS_TABLE)
    return joined(
        (
            draw_road(frames),
            tables({**frames, "road": road_rows(frames)}, ROAD_TABLE),
            folded("The years in figures", every),
            folded("Every step", tables(frames, ROAD_MOVES_TABLE)),
        )
    )


def _tasks(frames: Frames, as_of: pd.Timestamp) -> Markup:
    return tables({**frames, "task_sheet": task_sheet(frames["tasks"], as_of)}, work.TASKS_TABLE)


def _costs(frames: Frames) -> Markup:
    """What the season costs by task and by place; what has no price is counted and named."""
    costs = frames["season_costs"]
    by_task = work.sum_costs(costs, "kind")
    by_task["kind"] = by_task["kind"].map(TASK_WORDS)
    return joined(
        (
            draw_table(work.COSTS_BY_TASK, by_task),
            draw_table(work.COSTS_BY_PLACE, work.sum_costs(costs, "place")),
        )
    )


def _burning(frames: Frames) -> Markup:
    return joined(
        (
            tables(frames, fire.BLOCKS_TABLE),
            _smoke(frames),
            draw_table(fire.BREAK_SUMS_TABLE, fire.break_sums(frames["firebreaks"])),
            tables(frames, fire.WORK_TABLE),
            off_paper(draw_table(fire.PLACES_TABLE, fire.places(frames["tie_ins"]))),
            off_paper(tables(frames, fire.STRIPS_TABLE, fire.LINES_TABLE, fire.ROUTES_TABLE)),
            folded("Every stretch of break", tables(frames, fire.BREAKS_TABLE)),
        )
    )


GROUPED = ("plant_cover", "plant_groups", "plant_changes")
"""Tables of the plants that have a column of groups."""


def _plants(frames: Frames) -> Markup:
    """The newest survey of each unit and how groups changed; behind folds all there is.

    Species that came or went stand with the groups.
    """
    frames = {**frames, **{name: in_group_order(frames[name]) for name in GROUPED}}
    newest = {name: _newest(frames[name]) for name in ("community", "plant_groups")}
    changes = frames["plant_changes"]
    named = changes.assign(species=changes["species"].fillna("the whole group"))
    first = named[changes["species"].isna() | (changes["seen"] != "both_times")]
    every = {**frames, "plant_changes": named}
    return joined(
        (
            tables({**frames, **newest}, COMMUNITY_TABLE, GROUPS_TABLE),
            tables({**frames, "plant_changes": first}, CHANGES_TABLE),
            folded("All species", tables(every, COVER_TABLE, ALL_CHANGES_TABLE)),
            folded("All surveys", tables(frames, ALL_SURVEYS_TABLE, ALL_GROUPS_TABLE)),
        )
    )


def _photos(frames: Frames) -> Markup:
    """Where to stand and look, when, and the photos of each point by year."""
    return joined(
        (
            tables(frames, POINTS_TABLE, WINDOWS_TABLE),
            draw_photo_series(frames),
            folded("Every photo", tables(frames, PHOTOS_TABLE)),
        )
    )


def _newest(frame: pd.DataFrame) -> pd.DataFrame:
    """Rows of the newest day of each unit."""
    return frame[frame["date"] == frame.groupby("unit_id")["date"].transform("max")]


def _smoke(frames: Frames) -> Markup:
    """Places near each block, the winds that reach them on a compass, and the winds left."""
    if not len(frames["smoke_places"]) or not len(frames["burn_blocks"]):
        return Markup("")
    near = fire.smoke_near(frames["smoke_places"], frames["smoke_arcs"])
    rings = []
    for block, wind_deg in zip(*(frames["burn_blocks"][c] for c in BLOCK_WIND), strict=True):
        arcs = arcs_of_block(frames, block)
        left = fire.left_words(frames["winds_left"], block)
        words = (tag("b", given(block)), f": planned wind from {wind_words(wind_deg)}. {left}")
        rings.append(wind_figure(arcs, wind_deg, joined(words)))
    about = (
        "Thick arcs: where the winds come from that carry smoke of the block onto a place. Arrow: "
        "the planned wind. North is up."
    )
    return joined(
        (
            tag("h3", "Smoke and wind"),
            tag("div", *rings, attributes={"class": "rings"}),
            tag("p", about, attributes={"class": "about"}),
            draw_table(fire.SMOKE_TABLE, near),
        )
    )


def _slope(frames: Frames) -> Markup:
    stretches = tables(frames, fire.BREAK_SLOPES_TABLE)
    return joined(
        (
            tables(frames, fire.UNIT_SLOPES_TABLE),
            folded("Slope along every stretch of break", stretches),
        )
    )


BLOCK_WIND = ("block", "wind_from_deg")


def _seed(frames: Frames) -> Markup:
    return joined(
        (
            tables(frames, AREAS_TABLE, ORDER_TABLE, BOXES_TABLE, HARVEST_TABLE),
            folded("Rates of each species", tables(frames, RATES_TABLE)),
        )
    )


def _greenness(frames: Frames) -> Markup:
    names = {
        unit: unit if pd.isna(name) else f"{unit}, {name}"
        for unit, name in zip(frames["units"]["unit_id"], frames["units"]["name"], strict=True)
    }
    charts = draw_series(frames["zone_scenes"], frames["history"], names)
    about = (
        f"Dots: the unit's mean on each day, hollow where fewer than {USABLE_PCT:.0f} % of its "
        f"pixels are usable, joined only where at most {JOINED_DAYS} days apart. Gray bars: the "
        "range of all other units on that day. Dashed: burns on record. Thick lines at the foot: "
        "grazing, mowing and other work on record."
    )
    drawn = [
        tag("h3", "Each unit through the years"),
        tag("p", about, attributes={"class": "about"}),
        tag("div", *charts, attributes={"class": "charts"}),
    ]
    worded = with_greenness_words(frames)
    figures = tables(worded, GREENNESS_TABLE, BURN_EFFECTS_TABLE, WITHIN_UNIT_TABLE)
    readings = _readings(worded)
    stands = tables(worded, COOL_SEASON_CHANGES_TABLE, COOL_SEASON_TABLE)
    return joined(
        (
            draw_burn_cards(frames),
            folded("Every figure of each burn", figures),
            tables(worded, BURNED_SHARES_TABLE),
            *(drawn if charts else []),
            folded("Cool-season or warm-season stands", stands),
            folded("Every reading behind the charts", readings),
        )
    )


MOST_READINGS = 600
"""Rows of the table of readings that a page still opens quickly with."""


def _readings(frames: Frames) -> Markup:
    """Every reading; very many are told where they stand instead."""
    count = len(frames["zone_scenes"])
    if count <= MOST_READINGS:
        return tables(frames, SCENES_TABLE)
    return tag("p", f"{count:,} readings: see zone_scenes in the GeoPackage.")


def _grazing(frames: Frames) -> Markup:
    """Feed under the plan first; what it would be if every unit were grazed is folded."""
    return joined(
        (
            tables(frames, HERD_FEED_TABLE, HERD_MOVES_TABLE, PLAN_FEED_TABLE),
            folded(
                "If every open unit were grazed all season",
                tables(frames, HERD_TABLE, FORAGE_TABLE),
            ),
            folded("Days on which units are closed", tables(frames, CLOSED_DAYS_TABLE)),
        )
    )


def _provenance(frames: Frames, stamp: str, crs_name: str) -> Markup:
    settings = frames["settings"]
    changed = settings[settings["origin"] == "property_file"]
    words = (
        f"Made from {len(frames['sources'])} files, the newest of {stamp[:10]}. {len(changed)} of "
        f"{len(settings)} settings were set in the property file. Drawn in {crs_name}."
    )
    every = draw_table(ALL_SETTINGS_TABLE, settings)
    return joined(
        (
            tag("p", words),
            draw_table(CHANGED_SETTINGS_TABLE, changed),
            draw_table(SOURCES_TABLE, frames["sources"]),
            folded("Every setting of this run", every),
        )
    )
