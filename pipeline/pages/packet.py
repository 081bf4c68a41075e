"""The crew packet as data: one page for each burn block and one for each seeding area.

Everything on the pages is text made here from the layers; the template only places it.
"""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.run import Paper
from pipeline.core.units import half_up
from pipeline.fire.layers import BURN_BLOCKS, FIREBREAKS, TIE_INS
from pipeline.pages.block_map import draw_block_map
from pipeline.pages.cautions import CAUTIONS, subjects_by_message
from pipeline.pages.packet_seed import SEED_CAUTIONS, seed_page
from pipeline.pages.packet_table import Filled, filled, name_words, rows, words_table
from pipeline.pages.words import (
    NOTHING,
    bare_heading,
    cell_words,
    figure_words,
    number_words,
    plain,
    row_words,
    wind_words,
)

PAPER_PT: dict[str, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}


SIDE_PT = 36.0


MOST_MAP_PT = {"letter": 276.0, "a4": 320.0}


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


STRETCH_HEADINGS = (
    "Stretch", "Status", "Feet", "Faces", "Side", "Beyond", "Rule", "Bare", "Mown", "Black",
    "Needs", "Counts", "Short", "Mown", "Raked", "Wet", "Walked",
)  # fmt: skip


STRETCH_GROUPS: list[list[Any]] = [["", 7], ["planned, ft", 3], ["width, ft", 3], ["done", 4]]


BOXES = 4


IN_TABLES = frozenset({"break_too_narrow", *TIE_INS.column("kind").choices})
"""Codes of the findings whose figures stand in the tables of places and stretches."""


FACTS = (
    "gross_ac",
    "excluded_ac",
    "break_ac",
    "burnable_ac",
    "perimeter_ft",
    "existing_ft",
    "gap_ft",
    "prepare_ft",
    "shared_ft",
)
"""Columns of the block that stand at the head of its page."""


UNKNOWN_WIND = "unknown: needs a planned wind"


def packet_pages(frames: Mapping[str, gpd.GeoDataFrame], *, paper: Paper) -> dict[str, Any]:
    """Everything the template needs, as plain text and numbers."""
    info = rows(frames["property"])[0]
    return {
        "title": f"{name_words(info['name'])}: crew packet {info['season']}",
        "property": name_words(info["name"]),
        "season": str(info["season"]),
        "paper": {"letter": "us-letter", "a4": "a4"}[paper],
        "blocks": [_block_page(row, frames, paper) for row in rows(frames["burn_blocks"])],
        "areas": [seed_page(row, frames) for row in rows(frames["seed_areas"])],
        "burn_cautions": list(CAUTIONS),
        "seed_cautions": list(SEED_CAUTIONS),
    }


def _block_page(
    block: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame], paper: Paper
) -> dict[str, Any]:
    """Page of one burn block."""
    breaks = breaks_around(frames["firebreaks"], block["block"])
    drawn = draw_block_map(
        block,
        frames,
        breaks,
        width_pt=PAPER_PT[paper][0] - 2 * SIDE_PT,
        most_height_pt=MOST_MAP_PT[paper],
    )
    return {
        "name": name_words(block["block"]),
        "units": name_words(block["unit_ids"]),
        "facts": _facts(block, breaks),
        "map": {
            "svg": drawn.svg,
            "width": drawn.width_pt,
            "height": drawn.height_pt,
            "alt": drawn.spoken,
            "note": drawn.note,
            "scale": f"1 inch = {drawn.scale_ft:,} feet",
        },
        "stretches": _stretches(breaks),
        "rules": _rules(breaks),
        "places": _places(frames["tie_ins"], block["block"]),
        "strips": _strips(frames["mow_strips"], block["block"]),
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
        beyond="block " + other["block"].astype("string").fillna(""),
        bearing_deg=(other["bearing_deg"] + 180) % 360,
        wind_side=other["neighbor_wind_side"],
        neighbor_wind_side=other["wind_side"],
        geometry=other.geometry.reverse(),
    )
    if not len(turned):
        return listed
    both: gpd.GeoDataFrame = pd.concat([listed, turned]) if len(listed) else turned
    return both.sort_values("break_id", kind="stable")


def _facts(block: dict[str, Any], breaks: pd.DataFrame) -> list[list[str]]:
    """Figures of the block, each with its words."""
    facts = [
        [bare_heading(BURN_BLOCKS.column(name)), row_words(block, BURN_BLOCKS, name)]
        for name in FACTS
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


def _range_words(widths: pd.Series, column: Column) -> str:
    """Width of the stretches, or the least and the most where they differ."""
    if not widths.max() > 0:
        return "none"
    least, most = (figure_words(width, column) for width in (widths.min(), widths.max()))
    return most if least == most else f"{cell_words(widths.min(), column)} to {most}"


def _stretches(breaks: pd.DataFrame) -> Filled:
    """One line for each stretch, boxes to be ticked at its end."""
    lines = []
    for row in rows(breaks):
        kind = "" if pd.isna(row["kind"]) else f": {name_words(row['kind'])}"
        ring = "hole: " if row["ring"] == "inner" else ""
        side = name_words(row["wind_side"])
        lines.append([
            name_words(row["break_id"]), row["status"] + kind, number_words(row["length_ft"], 0),
            _facing(row["bearing_deg"]), side, ring + name_words(row["beyond"]),
            name_words(row["rule"]),
            *(number_words(row[c], 0) for c in (
                "bare_ft", "mown_ft", "blackline_ft", "required_ft", "planned_ft", "short_ft")),
        ])  # fmt: skip
    return {
        "headings": list(STRETCH_HEADINGS),
        "align": ["l", "l", "r", "r", "l", "l", "l", *"r" * 6],
        "groups": STRETCH_GROUPS,
        "boxes": BOXES,
        "sums": False,
        "wide": STRETCH_HEADINGS.index("Beyond"),
        "rows": lines,
        "keys": list(breaks["status"]),
        "short": [bool(s > 0) for s in breaks["short_ft"]],
    }


def _rules(breaks: pd.DataFrame) -> str:
    """What ground each rule of the stretches counts."""
    pairs = breaks[["rule", "counts"]].dropna().drop_duplicates().sort_values("rule")
    rules = [f"“{row['rule']}” counts {row['counts']}" for row in rows(pairs)]
    return plain("; ".join(rules) + ".") if rules else ""


def _facing(bearing_deg: float) -> str:
    """Bearing in whole degrees, north as 0."""
    return NOTHING if pd.isna(bearing_deg) else f"{int(half_up(bearing_deg, 0)) % 360}°"


def _places(tie_ins: pd.DataFrame, block: str) -> Filled:
    return words_table(
        tie_ins[tie_ins["block"] == block],
        (("Place", "tie_in_id", "l", name_words), ("Kind", "kind", "l", name_words),
         ("What to look for", "message", "l", name_words)),
        wide="message",
        boxes=("Done",),
    )  # fmt: skip


def _strips(strips: pd.DataFrame, block: str) -> Filled:
    return words_table(
        strips[strips["block"] == block],
        (("Strip", "strip_id", "l", name_words), filled("Width ft", "width_ft", 0),
         filled("Acres", "area_ac", 2), filled("Passes", "passes", 0),
         filled("Pass feet", "pass_length_ft", 0), filled("Hours", "hours", 1)),
        wide="strip_id",
        boxes=("Mown", "Raked"),
        totals=("area_ac", "pass_length_ft", "hours"),
    )  # fmt: skip


def _findings(findings: pd.DataFrame, block: dict[str, Any], strips: pd.DataFrame) -> list[str]:
    """Warnings that name the block or one of its units and stand in no table of the page."""
    block_strips = strips.loc[strips["block"] == block["block"], "strip_id"]
    names = {block["block"], *str(block["unit_ids"]).split(", "), *block_strips}
    warnings = findings[(findings["severity"] == "warning") & ~findings["code"].isin(IN_TABLES)]
    about = [row for row in rows(warnings) if names & _named(row["subject"])]
    said = subjects_by_message(about)
    return [f"{', '.join(subjects)}: {message}" for message, subjects in said.items()]


def _named(subject: Any) -> set[str]:
    """Everything that a finding speaks of."""
    return set() if pd.isna(subject) else {subject, *subject.split(", ")}
