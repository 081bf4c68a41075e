"""The page of one burn block, for the crew: facts, map, stretches, places, smoke, blank lines."""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.run import Paper
from pipeline.fire.layers import BURN_BLOCKS, FIREBREAKS, PLACE_KINDS
from pipeline.fire.sheets import (
    PACKET_FACTS,
    PACKET_FACTS_IF_ANY,
    PACKET_LINES,
    PACKET_PLACES,
    PACKET_SLOPE_SUMS,
    PACKET_SMOKE,
    PACKET_STRETCHES,
    PACKET_STRIPS,
    left_words,
    places,
    slopes_around,
    smoke_near,
)
from pipeline.fire.slope.layers import BREAK_SLOPES
from pipeline.pages.cautions import subjects_by_message
from pipeline.pages.packet.block_map import draw_block_map
from pipeline.pages.packet.conflict_notes import of_block, told_conflicts
from pipeline.pages.packet.crew_facts import crew_facts, units_of
from pipeline.pages.packet.driving_words import driving_words, route_words
from pipeline.pages.packet.map_frames import map_words
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
    code_words,
    figure_words,
    number_words,
    plain,
    row_words,
    rows,
    wind_words,
)

PAPER_PT: dict[str, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}


SIDE_PT = 36.0


MOST_MAP_PT = {"letter": 276.0, "a4": 320.0}


LEAST_MAP_PT = 238.0
"""Below this the key beside the map has no room."""


ROWS_BESIDE_MAP = 20
"""Rows of stretches and places that have room below a map of that height."""


ROW_PT = 10.5
"""Height of such a row [point]; the map of a block with more of them is lower."""


ROOM_FOR_SLOPE_PT = 36.0
"""What the map gives up where slope is told: a row of facts, and a warning of two lines."""


ROOM_FOR_STOP_PT = 30.0
"""What the map gives up for each conflict that is told in the frame on top."""


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


WIDTHS_ASKED = ("required_ft", "planned_ft", "short_ft")


STRETCH_BOXES = ("Mown", "Raked", "Wet", "Walked")


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


MOST_SMOKE_PLACES = 12
"""Places on a block's page, the nearest first."""


FOR_THE_CREW = {"winds_planned", "break_condition"}
"""Codes of findings that are no warnings and are told to the crew all the same."""


UNKNOWN_WIND = "unknown: needs a planned wind"


def block_page(
    block: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame], paper: Paper
) -> dict[str, Any]:
    """Page of one burn block."""
    name = block["block"]
    breaks = breaks_around(frames["firebreaks"], name)
    slope_facts = _slope_facts(frames["break_slopes"], name)
    width_pt = PAPER_PT[paper][0] - 2 * SIDE_PT
    listed = len(breaks) + int((frames["tie_ins"]["block"] == name).sum())
    most_height_pt = MOST_MAP_PT[paper] - ROW_PT * max(0, listed - ROWS_BESIDE_MAP)
    most_height_pt -= ROOM_FOR_SLOPE_PT * bool(slope_facts)
    told = told_conflicts(of_block(frames["conflicts"], name))
    most_height_pt -= ROOM_FOR_STOP_PT * len(told["stops"])
    drawn = draw_block_map(
        block, frames, breaks, width_pt=width_pt, most_height_pt=max(LEAST_MAP_PT, most_height_pt)
    )
    return {
        "name": name_words(name),
        "units": name_words(", ".join(units_of(block))),
        **told,
        "facts": [*_facts(block, breaks), *slope_facts],
        "map": map_words(drawn) | {"note": drawn.note},
        "stretches": _stretches(breaks),
        "rules": _rules(breaks),
        "places": _places(frames["tie_ins"], name),
        "strips": _strips(frames["mow_strips"], name),
        "lines": _lines(frames["made_lines"], name),
        **_driving(frames, name),
        **_smoke(frames, name),
        **crew_facts(block, frames),
        "findings": _findings(frames["findings"], block, frames["mow_strips"]),
        "blanks": list(DECIDED_ON_SITE),
    }


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


def _facts(block: dict[str, Any], breaks: pd.DataFrame) -> list[list[str]]:
    """Figures of the block, each with its words."""
    once = number_words(block["overlap_ac"], 1) == number_words(0, 1)
    facts = [
        [bare_heading(BURN_BLOCKS.column(name)), row_words(block, BURN_BLOCKS, name)]
        for name in PACKET_FACTS
        if not (once and name in SUMMED) and (name not in PACKET_FACTS_IF_ANY or block[name] > 0)
    ]
    if pd.isna(block["wind_from_deg"]):
        wind = lengths = widths = UNKNOWN_WIND
    else:
        wind = wind_words(block["wind_from_deg"])
        downwind = breaks[breaks["wind_side"] == "downwind"]
        lengths = figure_words(downwind["length_ft"].sum(), FIREBREAKS.column("length_ft"))
        widths = _range_words(downwind["blackline_ft"], FIREBREAKS.column("blackline_ft"))
    return [
        *facts,
        ["Planned wind from", wind],
        ["Downwind edges", lengths],
        ["Blackline planned there", widths],
    ]


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
    columns = PACKET_STRETCHES.declared
    grouped = (*WIDTHS_TO_MAKE, *WIDTHS_ASKED)
    headings = [stacked_heading(c, with_unit=c.name not in grouped) for c in columns]
    return {
        "headings": headings + list(STRETCH_BOXES),
        "align": [aligned_to(column) for column in columns],
        "groups": [
            ["", len(columns) - len(grouped)],
            ["to make, ft", len(WIDTHS_TO_MAKE)],
            ["width, ft", len(WIDTHS_ASKED)],
            ["done", len(STRETCH_BOXES)],
        ],
        "boxes": len(STRETCH_BOXES),
        "sums": False,
        "wide": PACKET_STRETCHES.columns.index("adjoining"),
        "rows": [_stretch(row) for row in rows(breaks)],
        "keys": list(breaks["status"]),
        "short": [bool(s > 0) for s in breaks["short_ft"]],
    }


def _stretch(row: dict[str, Any]) -> list[str]:
    """Cells of one stretch, the kind of its break put to its status, its ring to what adjoins."""
    cells = {c.name: name_words(cell_words(row[c.name], c)) for c in PACKET_STRETCHES.declared}
    if pd.notna(row["kind"]):
        cells["status"] += f": {name_words(row['kind'])}"
    if row["ring"] == "inner":
        cells["adjoining"] = f"hole: {cells['adjoining']}"
    return list(cells.values())


def _rules(breaks: pd.DataFrame) -> str:
    """What ground each rule of the stretches counts."""
    pairs = breaks[["rule", "counted_ground"]].dropna().drop_duplicates().sort_values("rule")
    rules = [
        f"“{code_words(row['rule'])}” counts {code_words(row['counted_ground'])}"
        for row in rows(pairs)
    ]
    return plain("; ".join(rules) + ".") if rules else ""


def _places(tie_ins: pd.DataFrame, block: str) -> Filled:
    around = places(tie_ins[tie_ins["block"] == block])
    return declared_table(PACKET_PLACES, around, wide="what_to_do", boxes=("Done",))


def _strips(strips: pd.DataFrame, block: str) -> Filled:
    inside = strips[strips["block"] == block]
    return declared_table(PACKET_STRIPS, inside, wide="strip_id", boxes=("Mown", "Raked"))


def _lines(lines: pd.DataFrame, block: str) -> Filled:
    of_block = lines[lines["block"] == block]
    return declared_table(PACKET_LINES, of_block, wide="line_id", boxes=("Made",))


def _driving(frames: Mapping[str, gpd.GeoDataFrame], block: str) -> dict[str, Any]:
    """The driver's way through the block: its sum, and what is driven, in order."""
    passes, moves, routes = (
        frames[layer][frames[layer]["block"] == block]
        for layer in ("mow_passes", "mow_moves", "mow_routes")
    )
    summed = [name_words(route_words(row)) for row in rows(routes) if len(passes)]
    return {
        "route": "".join(summed),
        "driving": [name_words(words) for words in driving_words(passes, moves)],
    }


def _smoke(frames: Mapping[str, pd.DataFrame], block: str) -> dict[str, Any]:
    """Places near that smoke must not drift onto, the nearest of them, and the winds left."""
    near = smoke_near(frames["smoke_places"], frames["smoke_arcs"])
    near = near[near["block"] == block]
    left_out = len(near) - MOST_SMOKE_PLACES
    return {
        "smoke": declared_table(PACKET_SMOKE, near[:MOST_SMOKE_PLACES], wide="winds"),
        "smoke_more": f"{left_out} more in the report." if left_out > 0 else "",
        "winds_left": left_words(frames["winds_left"], block),
    }


def _findings(findings: pd.DataFrame, block: dict[str, Any], strips: pd.DataFrame) -> list[str]:
    """What is told of the block or one of its units and stands in no table of the page.

    These are the warnings, and what the crew has to know or to check on the day.
    """
    block_strips = strips.loc[strips["block"] == block["block"], "strip_id"]
    names = {block["block"], *str(block["unit_ids"]).split(", "), *block_strips}
    warned = (findings["severity"] == "warning") & ~findings["code"].isin(IN_TABLES)
    told = findings[warned | findings["code"].isin(FOR_THE_CREW)]
    about = [row for row in rows(told) if names & _named(row["subject"])]
    said = subjects_by_message(about)
    return [f"{', '.join(subjects)}: {message}" for message, subjects in said.items()]


def _named(subject: Any) -> set[str]:
    """Everything that a finding speaks of."""
    return set() if pd.isna(subject) else {subject, *subject.split(", ")}
