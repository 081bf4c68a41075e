"""The page of one burn block, for the crew: facts, map, stretches, places, smoke, blank lines."""

import math
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.names import natural_key
from pipeline.core.run import Paper
from pipeline.fire.layers import BURN_BLOCKS, FIREBREAKS, PLACE_KINDS
from pipeline.fire.sheets import (
    PACKET_FACTS,
    PACKET_FACTS_IF_ANY,
    PACKET_LINES,
    PACKET_SLOPE_SUMS,
    PACKET_STRETCHES,
    PACKET_STRIPS,
    left_words,
    slopes_around,
)
from pipeline.fire.slope.layers import BREAK_SLOPES
from pipeline.pages.cautions import subjects_by_message
from pipeline.pages.packet.block_map import draw_block_map
from pipeline.pages.packet.burned_ground import Burned, burned_of_block
from pipeline.pages.packet.conflict_notes import Entry, of_block, told_conflicts
from pipeline.pages.packet.coordinates import zone_of
from pipeline.pages.packet.crew_facts import crew_facts, units_of
from pipeline.pages.packet.driving_words import driving_words, route_words
from pipeline.pages.packet.map_frames import map_words
from pipeline.pages.packet.numbered_places import (
    MOST_SMOKE_PLACES,
    places_of_block,
    places_table,
)
from pipeline.pages.packet.packet_table import (
    Filled,
    aligned_to,
    declared_table,
    name_words,
    stacked_heading,
)
from pipeline.pages.words import (
    bare_heading,
    cell_words,
    figure_words,
    number_words,
    row_words,
    rows,
    wind_words,
)

FRONT_FACTS = ("burnable_ac", "prepare_ft", "gap_ft")
"""Figures of the block that stand above its map; the others stand with its tables."""


FRONT_COLUMNS = 3


DECIDED_ON_SITE = (
    "Burn boss",
    "Date",
    "Permit no.",
    "Spot forecast, time",
    "Wind on site",
    "Temperature",
    "Relative humidity",
    "Told: dispatch",
    "Told: neighbors",
    "Escape route, safety zone",
    "Water",
    "Ignition plan",
)
"""Blank lines. What stands on them is for the burn boss and the authority, never for a program."""


WIDTHS_TO_MAKE = ("make_bare_ft", "make_mown_ft", "make_black_ft")


STRETCH_BOXES = ("Made", "Wet", "Walked")


SUMMED = ("units_ac", "overlap_ac")
"""Facts that are told where they differ from the ground covered."""


IN_TABLES = {
    *PLACE_KINDS,
    "break_too_narrow",
    "limit_in_window",
    "no_wind_fits",
    "too_steep_to_mow",
}
"""Codes of the findings whose figures stand in the tables of places and stretches, or whose words
stand with the places near or with the limits of the units."""


FOR_THE_CREW = {"winds_planned", "break_condition"}
"""Codes of findings that are no warnings and are told to the crew all the same."""


UNKNOWN_WIND = "unknown: needs a planned wind"


def block_page(
    block: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame], paper: Paper
) -> dict[str, Any]:
    """Sheets of one burn block: its map in front, its tables on the back, that of its mower."""
    name, units = block["block"], units_of(block, frames)
    breaks = breaks_around(frames["firebreaks"], name)
    numbered = places_of_block(block, frames)
    burned = burned_of_block(block, frames)
    told = told_conflicts(of_block(frames["conflicts"], name))
    front, back = _facts(block, breaks)
    head = partial(
        head_pt,
        stops=told["stops"],
        burned=burned.words,
        facts=math.ceil(len(front) / FRONT_COLUMNS),
    )
    drawn, note = draw_block_map(block, frames, breaks, numbered, burned, paper=paper, head_pt=head)
    return {
        "name": name_words(name),
        "units": name_words(", ".join(units)),
        **told,
        "burned": burned.words,
        "facts": front,
        "more_facts": [*back, *_slope_facts(frames["break_slopes"], name)],
        "map": map_words(drawn) | {"note": note},
        "stretches": _stretches(breaks),
        "places": places_table(numbered, zone_of(frames["units"]), frames["burn_blocks"].crs),
        "strips": _strips(frames["mow_strips"], name, burned),
        "lines": _lines(frames["made_lines"], name, burned),
        **_driving(frames, name, burned),
        **_smoke(block, frames),
        **crew_facts(block, frames),
        "findings": _findings(frames["findings"], block, units, frames["mow_strips"]),
        "blanks": list(DECIDED_ON_SITE),
    }


TITLE_PT, BOX_PT, LINE_PT, ROW_PT = 29.0, 28.0, 10.6, 11.0
"""Heights on a sheet [point]: its title with the line below, an empty frame on top, a line of
words, a row of facts."""


LETTER_PT = 4.35
"""Width of a letter of words of 9.2 points, on the large side: a map may be a little smaller."""


def head_pt(width_pt: float, *, stops: Sequence[Entry], burned: str, facts: int) -> float:
    """Height [point] of what stands above the map of a block, never less than it takes."""
    told = [" ".join(map(str, entry.values())) + " Who decides: To resolve it: " for entry in stops]
    lines = [math.ceil(len(words) * LETTER_PT / (width_pt - 14)) for words in told]
    box = BOX_PT + sum(line * LINE_PT + 5 for line in lines) if stops else 0.0
    note = math.ceil(len(burned) * LETTER_PT / width_pt) * ROW_PT
    return TITLE_PT + box + note + facts * ROW_PT + 6


def breaks_around(breaks: gpd.GeoDataFrame, block: str) -> gpd.GeoDataFrame:
    """Stretches around a block as seen from it, in their order.

    A stretch shared by two blocks is there once, with one of them on its left hand; for the other
    it is turned around: its sides are swapped and it faces the other way.
    """
    listed = breaks[breaks["block"] == block]
    other = breaks[breaks["neighbor_block"] == block]
    turned = other.assign(
        block=other["neighbor_block"],
        neighbor_block=other["block"],
        adjoining="block " + other["block"].astype("string").fillna(""),
        bearing_deg=(other["bearing_deg"] + 180) % 360,
        wind_side=other["neighbor_wind_side"],
        neighbor_wind_side=other["wind_side"],
        held_side=other["neighbor_held_side"],
        neighbor_held_side=other["held_side"],
        geometry=other.geometry.reverse(),
    )
    if not len(turned):
        return listed
    both: gpd.GeoDataFrame = pd.concat([listed, turned]) if len(listed) else turned
    return both.sort_values("break_id", kind="stable")


Facts = list[list[str]]
"""Figures, each with its words."""


def _facts(block: dict[str, Any], breaks: pd.DataFrame) -> tuple[Facts, Facts]:
    """Figures of the block: those above its map, and the others."""
    once = number_words(block["overlap_ac"], 1) == number_words(0, 1)
    told = {
        name: [bare_heading(BURN_BLOCKS.column(name)), row_words(block, BURN_BLOCKS, name)]
        for name in PACKET_FACTS
        if not (once and name in SUMMED) and (name not in PACKET_FACTS_IF_ANY or block[name] > 0)
    }
    if pd.isna(block["wind_from_deg"]):
        wind = lengths = widths = UNKNOWN_WIND
    else:
        wind = wind_words(block["wind_from_deg"])
        downwind = breaks[breaks["wind_side"] == "downwind"]
        lengths = figure_words(downwind["length_ft"].sum(), FIREBREAKS.column("length_ft"))
        widths = _range_words(downwind["blackline_ft"], FIREBREAKS.column("blackline_ft"))
    front = [
        *(told[name] for name in FRONT_FACTS),
        ["Planned wind from", wind],
        ["Downwind edges", lengths],
        ["Blackline planned there", widths],
    ]
    return front, [fact for name, fact in told.items() if name not in FRONT_FACTS]


def _slope_facts(break_slopes: pd.DataFrame, block: str) -> list[list[str]]:
    """Slope of the ground along the block's edges; nothing where no heights were given."""
    around = slopes_around(break_slopes, block)
    if around.empty:
        return []
    sums = {name: around[name].sum(min_count=1) for name in PACKET_SLOPE_SUMS}
    figures = {"rise_pct": around["rise_pct"].max()} | sums
    return [
        [bare_heading(column), name_words(figure_words(figures[column.name], column))]
        for column in map(BREAK_SLOPES.column, figures)
    ]


def _range_words(widths: pd.Series, column: Column) -> str:
    """Width of the stretches, or the least and the most where they differ."""
    if not widths.max() > 0:
        return "none"
    least, most = (figure_words(width, column) for width in (widths.min(), widths.max()))
    return most if least == most else f"{cell_words(widths.min(), column)} to {most}"


def _stretches(breaks: pd.DataFrame) -> Filled:
    """One line for each stretch, boxes to be ticked at its end."""
    made = [name for name in WIDTHS_TO_MAKE if (breaks[name] > 0).any()]
    short = ["short_ft"] if (breaks["short_ft"] > 0).any() else []
    left_out = {*WIDTHS_TO_MAKE, "short_ft"} - {*made, *short}
    columns = [c for c in PACKET_STRETCHES.declared if c.name not in left_out]
    headings = [stacked_heading(c, with_unit=c.name not in made) for c in columns]
    before = len(columns) - len(made) - len(short)
    groups = [
        ["", before],
        ["to make, ft", len(made)],
        ["", len(short)],
        ["done", len(STRETCH_BOXES)],
    ]
    return {
        "headings": headings + list(STRETCH_BOXES),
        "align": [aligned_to(column) for column in columns],
        "groups": [group for group in groups if group[1]],
        "boxes": len(STRETCH_BOXES),
        "sums": False,
        "wide": [column.name for column in columns].index("adjoining"),
        "rows": [_stretch(row, columns) for row in rows(breaks)],
        "keys": list(breaks["status"]),
        "short": [bool(s > 0) for s in breaks["short_ft"]],
    }


def _stretch(row: dict[str, Any], columns: Sequence[Column]) -> list[str]:
    """Cells of one stretch, the kind of its break put to its status, its ring to what adjoins."""
    cells = {c.name: name_words(cell_words(row[c.name], c)) for c in columns}
    if pd.notna(row["kind"]):
        cells["status"] += f": {name_words(row['kind'])}"
    if row["ring"] == "inner":
        cells["adjoining"] = f"hole: {cells['adjoining']}"
    return list(cells.values())


def _strips(strips: pd.DataFrame, block: str, burned: Burned) -> Filled:
    inside = strips[(strips["block"] == block) & (not burned.whole)]
    return declared_table(
        PACKET_STRIPS, _counted(inside, "strip_id"), wide="strip_id", boxes=("Mown", "Raked")
    )


def _lines(lines: pd.DataFrame, block: str, burned: Burned) -> Filled:
    of_block = lines[(lines["block"] == block) & (not burned.whole)]
    return declared_table(
        PACKET_LINES, _counted(of_block, "line_id"), wide="line_id", boxes=("Made",)
    )


def _counted(frame: pd.DataFrame, name: str) -> pd.DataFrame:
    """Rows in the order in which people count their names."""
    return frame.sort_values(name, key=lambda names: names.map(natural_key), kind="stable")


def _driving(frames: Mapping[str, gpd.GeoDataFrame], block: str, burned: Burned) -> dict[str, Any]:
    """The driver's way through the block: its sum, and what is driven, in order."""
    passes, moves, routes = (
        frames[layer][(frames[layer]["block"] == block) & (not burned.whole)]
        for layer in ("mow_passes", "mow_moves", "mow_routes")
    )
    summed = [name_words(route_words(row)) for row in rows(routes) if len(passes)]
    return {
        "route": "".join(summed),
        "driving": [name_words(words) for words in driving_words(passes, moves)],
    }


def _smoke(block: Mapping[Any, Any], frames: Mapping[str, gpd.GeoDataFrame]) -> dict[str, Any]:
    """How many places near are not numbered, and the winds left."""
    near = frames["smoke_places"]["block"] == block["block"]
    left_out = int(near.sum()) - MOST_SMOKE_PLACES
    return {
        "smoke_more": f"{left_out} more places to keep smoke off stand in the report."
        if left_out > 0
        else "",
        "winds_left": left_words(frames["winds_left"], str(block["block"])),
    }


def _findings(
    findings: pd.DataFrame, block: dict[str, Any], units: list[str], strips: pd.DataFrame
) -> list[str]:
    """What is told of the block or one of its units and stands in no table of the page.

    These are the warnings, and what the crew has to know or to check on the day.
    """
    block_strips = strips.loc[strips["block"] == block["block"], "strip_id"]
    names = {block["block"], *units, *block_strips}
    warned = (findings["severity"] == "warning") & ~findings["code"].isin(IN_TABLES)
    told = findings[warned | findings["code"].isin(FOR_THE_CREW)]
    about = [row for row in rows(told) if names & _named(row["subject"])]
    said = subjects_by_message(about)
    return [f"{', '.join(subjects)}: {message}" for message, subjects in said.items()]


def _named(subject: Any) -> set[str]:
    """Everything that a finding speaks of."""
    return set() if pd.isna(subject) else {subject, *subject.split(", ")}
