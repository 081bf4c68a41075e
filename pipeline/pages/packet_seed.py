"""Drill sheet of one seeding area, as data for the packet."""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.pages.packet_table import Filled, filled, name_words, words_table
from pipeline.pages.words import date_words, number_words

NOTED_WHILE_SOWING = (
    "Operator", "Date", "Drill or spreader", "Ground, soil moisture", "Depth", "Wind, weather",
    "Acres on the meter, start", "Acres on the meter, end",
)  # fmt: skip


SEED_CAUTIONS = (
    "Weigh what the drill drops before sowing: catch the seed, change the setting until it weighs "
    "what it should, catch it again. Settings from a chart are a start only.",
    "Rates are for pure live seed of the lots listed. Another lot weighs differently: run the "
    "figures again.",
    "Lots marked “to order” are not held: their weights stand on an assumed quality.",
    "Keep every tag and this page: a weed found later is traced by them. Treated seed is poison.",
    "Fluffy seed bridges: look into the boxes on every round, and at the acres on the meter.",
    "Ground under a conservation contract: its office says which mix and dates it takes.",
)
"""*Source*: calibration of drills and care of tags as extension guides teach them; common
practice, the wording is our own."""


def seed_page(area: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame]) -> dict[str, Any]:
    """Page of one seeding area."""
    name = area["area"]
    return {
        "name": name_words(name),
        "units": name_words(area["unit_ids"]),
        "drill": area["method"] == "drill",
        "facts": _facts(area),
        "boxes": _boxes(_of(frames["seed_boxes"], name)),
        "lots": _lots(_of(frames["seed_use"], name), _of(frames["seed_rates"], name)),
        "companions": _companions(_of(frames["seed_companions"], name)),
        "blanks": list(NOTED_WHILE_SOWING),
    }


def _of(frame: pd.DataFrame, area: str) -> pd.DataFrame:
    return frame[frame["area"] == area]


def _facts(area: dict[str, Any]) -> list[list[str]]:
    return [
        ["Mix", name_words(area["mix"])],
        ["Method", name_words(area["method"])],
        ["Planned", date_words(area["planting"])],
        ["Gross", f"{number_words(area['gross_ac'], 1)} ac"],
        ["To be sown", f"{number_words(area['net_ac'], 1)} ac"],
        ["Live seeds", f"{number_words(area['seeds_sqft'], 1)} per sq ft"],
        ["Rate", f"{number_words(area['pls_lb_ac'], 2)} lb PLS per ac"],
        ["Pure live seed", f"{number_words(area['pls_lb'], 1)} lb"],
        ["Bulk seed", f"{number_words(area['bulk_lb'], 1)} lb"],
        ["Nurse crop and carrier", f"{number_words(area['companion_lb'], 1)} lb"],
    ]


def _boxes(boxes: pd.DataFrame) -> Filled:
    """What goes into each box, and blanks for what was set and caught."""
    return words_table(
        boxes,
        (
            ("Box", "box", "l", name_words),
            ("What goes in", "contents", "l", name_words),
            filled("Bulk seed\nlb/ac", "seed_bulk_lb_ac", 2),
            filled("Nurse, carrier\nlb/ac", "companion_lb_ac", 2),
            filled("Set to\nlb/ac", "setting_lb_ac", 2),
            filled("Whole area\nlb", "fill_lb", 1),
            filled("Row spacing\nin", "row_spacing_in", 1),
            filled("Live seeds\nper row ft", "seeds_row_ft", 1),
            filled("Catch over\nft", "catch_distance_ft", 0),
            filled("Catch weighs\ng", "catch_g", 1),
        ),
        wide="contents",
        boxes=("Caught\ng", "Set at", "Left over\nlb"),
    )


def _lots(use: pd.DataFrame, rates: pd.DataFrame) -> Filled:
    """Lots as weighed out, with the names people use; keep the page, it traces each lot."""
    common = dict(zip(rates["species"], rates["common_name"], strict=True))
    named = use.assign(common_name=use["species"].map(common).astype(object))
    return words_table(
        named,
        (
            ("Species", "species", "l", name_words),
            ("Common name", "common_name", "l", name_words),
            ("Lot", "lot", "l", name_words),
            ("From", "stock", "l", name_words),
            filled("PLS %", "pls_pct", 1),
            filled("lb PLS", "pls_lb", 2),
            filled("lb bulk", "bulk_lb", 2),
        ),
        wide="common_name",
        boxes=("Tag seen", "Weighed"),
        totals=("pls_lb", "bulk_lb"),
    )


def _companions(companions: pd.DataFrame) -> Filled:
    return words_table(
        companions,
        (
            ("Nurse crop or carrier", "species", "l", name_words),
            ("Role", "role", "l", name_words),
            ("Box", "box", "l", name_words),
            filled("lb/ac", "bulk_lb_ac", 2),
            filled("lb", "bulk_lb", 1),
        ),
        wide="species",
        boxes=("Weighed",),
    )
