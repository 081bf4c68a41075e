"""The sections of the report, each from the layers that it speaks of."""

from collections.abc import Mapping
from typing import NamedTuple

import pandas as pd

from pipeline.core.table import Table
from pipeline.core.units import FT_PER_MI
from pipeline.greenness.sheets import (
    BURNED_SHARES_TABLE,
    COOL_SEASON_CHANGES_TABLE,
    COOL_SEASON_TABLE,
    GREENNESS_TABLE,
    SCENES_TABLE,
)
from pipeline.ground.sheets import EXCLUDED_TABLE, UNITS_TABLE
from pipeline.pages import report_record_sheets as records
from pipeline.pages import report_seed_sheets as seed_sheets
from pipeline.pages import report_sheets as sheets
from pipeline.pages.findings_list import draw_findings
from pipeline.pages.greenness_words import with_greenness_words
from pipeline.pages.map_paths import frame_around
from pipeline.pages.map_svg import draw_map
from pipeline.pages.map_switches import draw_switches, unit_facts
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.report_charts import JOINED_DAYS, USABLE_PCT, draw_series
from pipeline.pages.report_tables import Sheet, draw_table

Frames = Mapping[str, "pd.DataFrame"]


class Section(NamedTuple):
    """One section: where links lead, its heading, what stands in it."""

    key: str
    title: str
    content: Markup


def report_sections(frames: Frames, *, stamp: str, crs_name: str) -> list[Section]:
    """Every section that some layer has rows for, findings first."""
    told = [
        Section("findings", "Look at this first", draw_findings(frames["findings"])),
        Section("map-section", "Map", _map(frames, crs_name)),
        Section("units", "Units", _tables(frames, UNITS_TABLE, EXCLUDED_TABLE)),
        Section("season", "Season", _tables(frames, sheets.SEASON)),
        Section("burning", "Burn blocks and breaks", _burning(frames)),
        Section("seed", "Seed", _seed(frames)),
        Section("fuel", "Fuel", _tables(frames, sheets.FUEL, sheets.WEATHER)),
        Section("history", "History", _tables(frames, sheets.HISTORY)),
        Section("grazing", "Grazing", _tables(frames, sheets.HERD, sheets.FORAGE)),
        Section("greenness", "Greenness", _greenness(frames)),
        Section("plants", "Plants", _tables(frames, sheets.COMMUNITY)),
        Section("provenance", "Where the figures come from", _provenance(frames, stamp, crs_name)),
    ]
    return [section for section in told if section.content]


def _tables(frames: Frames, *wanted: Sheet | Table) -> Markup:
    """Tables one below the other; unit names lead to the map."""
    numbers = {unit: n for n, unit in enumerate(frames["units"]["unit_id"])}
    names = [s.layer.name if isinstance(s, Table) else s.layer for s in wanted]
    pairs = zip(wanted, names, strict=True)
    return joined(draw_table(s, frames[name], units=numbers) for s, name in pairs)


def _folded(title: str, content: Markup, *, on_paper: bool = True) -> Markup:
    """Content that is folded until asked for; on paper it is unfolded where that is wanted."""
    if not content:
        return content
    told: dict[str, object] = {"data-print": on_paper}
    return tag("details", tag("summary", title), content, attributes=told)


def _map(frames: Frames, crs_name: str) -> Markup:
    tools = [
        tag("button", words, attributes={"type": "button", "data-do": do})
        for words, do in (("Closer", "+"), ("Farther", "-"), ("Whole property", "0"))
    ]
    about: dict[str, object] = {"class": "about"}
    keys = (
        "Tab goes from unit to unit, Enter holds one, arrows move, + and − zoom, 0 shows all. "
        "Ctrl and the wheel, or two fingers, zoom too."
    )
    crosses = "Crosses stand a quarter mile apart, with 40 acres between four. "
    has_crosses = bool(frame_around(frames["units"]).quarter_mile_crosses())
    ground = f"{crosses * has_crosses}{crs_name}, meters; north is up."
    hint = tag("p", "Point at a unit, a break or a strip to read its figures.")
    card: dict[str, object] = {"id": "card", "class": "card", "aria-live": "polite"}
    drawing = tag(
        "div",
        tag("div", draw_map(frames), attributes={"class": "plat"}),
        tag("div", *tools, tag("p", keys, attributes=about), attributes={"class": "tools"}),
        tag("p", ground, attributes=about),
    )
    beside = tag("div", tag("div", hint, attributes=card), draw_switches(frames))
    return tag("div", drawing, beside, *unit_facts(frames), attributes={"class": "sheet"})


def _burning(frames: Frames) -> Markup:
    return joined(
        (
            _tables(frames, sheets.BLOCKS),
            draw_table(sheets.BREAK_SUMS, break_sums(frames["firebreaks"])),
            _tables(frames, sheets.TIE_INS, sheets.STRIPS),
            _folded("Every stretch of break", _tables(frames, sheets.BREAKS)),
        )
    )


def break_sums(breaks: pd.DataFrame) -> pd.DataFrame:
    """Length [foot, mile] of break by block and status, with what is too narrow of it.

    A stretch between two blocks is counted once, with the block that it is listed under.
    """
    plain = pd.DataFrame(breaks.drop(columns="geometry"))
    short = plain["short_ft"].fillna(0.0)
    plain = plain.assign(
        narrow_ft=plain["length_ft"].where(short > 0, 0.0),
        most_short_ft=short,
    )
    sums = plain.groupby(["block", "status"], sort=True, dropna=False).agg(
        stretches=("length_ft", "size"),
        length_ft=("length_ft", "sum"),
        narrow_ft=("narrow_ft", "sum"),
        most_short_ft=("most_short_ft", "max"),
    )
    return sums.reset_index().assign(length_mi=lambda f: f["length_ft"] / FT_PER_MI)


def _seed(frames: Frames) -> Markup:
    return joined(
        (
            _tables(
                frames,
                seed_sheets.SEED_AREAS,
                seed_sheets.SEED_ORDER,
                seed_sheets.SEED_BOXES,
                seed_sheets.OWN_HARVEST,
            ),
            _folded("Rates of each species", _tables(frames, seed_sheets.SEED_RATES)),
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
    readings = _tables(worded, SCENES_TABLE)
    stands = _tables(worded, COOL_SEASON_CHANGES_TABLE, COOL_SEASON_TABLE)
    return joined(
        (
            _tables(worded, GREENNESS_TABLE, BURNED_SHARES_TABLE),
            *(drawn if charts else []),
            _folded("Cool-season or warm-season stands", stands, on_paper=False),
            _folded("Every reading behind the charts", readings, on_paper=False),
        )
    )


def _provenance(frames: Frames, stamp: str, crs_name: str) -> Markup:
    told = frames["settings"]
    changed = told[told["origin"] == "property file"]
    words = (
        f"Made from {len(frames['sources'])} files, the newest of {stamp}. {len(changed)} of "
        f"{len(told)} settings were set in the property file. Drawn in {crs_name}."
    )
    every = draw_table(records.ALL_SETTINGS, told)
    return joined(
        (
            tag("p", words),
            draw_table(records.SETTINGS, changed),
            draw_table(records.SOURCES, frames["sources"]),
            _folded("Every setting of this run", every, on_paper=False),
        )
    )
