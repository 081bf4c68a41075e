"""The page of one seeding area, for the cab: map, boxes, catches, lots, and lines to fill in."""

from collections.abc import Mapping
from functools import partial
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.run import Paper
from pipeline.pages.packet.conflict_notes import of_area, told_conflicts
from pipeline.pages.packet.coordinates import zone_of
from pipeline.pages.packet.map_frames import map_words
from pipeline.pages.packet.numbered_places import gates_near, places_table
from pipeline.pages.packet.packet_table import (
    Filled,
    aligned_to,
    declared_table,
    declared_words,
    name_words,
    stacked_heading,
    words_table,
)
from pipeline.pages.packet.seed_map import draw_seed_map
from pipeline.pages.packet.sheet_layout import body_pt
from pipeline.pages.words import bare_heading, cell_words, figure_words
from pipeline.seed.field_layers import SEED_AREAS, SEED_BOXES
from pipeline.seed.order_layers import COMMON_NAME, SEED_COMPANIONS, SEED_USE
from pipeline.seed.sheets import DRILL_BOXES_TABLE, DRILL_CATCH_TABLE, DRILL_LOTS_TABLE

NOTED_WHILE_SOWING = (
    "Operator",
    "Date",
    "Drill or spreader",
    "Ground, soil moisture",
    "Depth",
    "Wind, weather",
    "Acres on the meter, start",
    "Acres on the meter, end",
)


FACTS = (
    "mix",
    "method",
    "planting",
    "gross_ac",
    "net_ac",
    "seeds_sqft",
    "pls_lb_ac",
    "pls_lb",
    "bulk_lb",
    "companion_lb",
)
"""Columns of the area that stand at the head of its page."""


SEED_CAUTIONS = (
    "Weigh what the drill drops before sowing: catch the seed, change the setting until it weighs "
    "what it should, catch it again. Settings from a chart are a start only.",
    "Rates are for pure live seed of the lots listed. Another lot weighs differently: run the "
    "figures again.",
    "Seed “to order” is not held and has no lot yet: its weights stand on an assumed quality.",
    "Keep every tag and this page: a weed found later is traced by them. Treated seed is poison.",
    "Fluffy seed bridges: look into the boxes on every round, and at the acres on the meter.",
    "Ground under a conservation contract: its office says which mix and dates it takes.",
)
"""*Source*: calibration of drills and care of tags as extension guides teach them; common
practice, the wording is our own."""


def seed_page(
    area: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame], paper: Paper
) -> dict[str, Any]:
    """Page of one seeding area."""
    name = area["area"]
    boxes, use, companions = (
        frames[layer][frames[layer]["area"] == name]
        for layer in ("seed_boxes", "seed_use", "seed_companions")
    )
    of_mix = use["role"].isin(["seed", "bag"])
    return {
        "name": name_words(name),
        "units": name_words(area["unit_ids"]),
        **told_conflicts(of_area(frames["conflicts"], name)),
        "drill": area["method"] == "drill",
        "facts": [_fact(area, SEED_AREAS.column(fact)) for fact in FACTS],
        **_map_and_gates(area, frames, paper),
        "readings": _readings(boxes[boxes["catch_g"].notna()]),
        "boxes": declared_table(
            DRILL_BOXES_TABLE,
            boxes,
            wide="contents",
            boxes=("Left over\nlb",),
        ),
        "lots": _lots(use[of_mix], frames["seed_rates"]),
        "companions": _companions(use[~of_mix], companions),
        "blanks": list(NOTED_WHILE_SOWING),
    }


def _fact(area: dict[str, Any], column: Column) -> list[str]:
    """Heading and value of one column, with its unit."""
    return [bare_heading(column), name_words(figure_words(area[column.name], column))]


def _lots(use: pd.DataFrame, rates: pd.DataFrame) -> Filled:
    """Lots as weighed out, with the names people use; keep the page, it traces each lot."""
    known = rates[rates["species"].isin(use["species"])]
    common = known.drop_duplicates("species").set_index("species")["common_name"]
    named = use.assign(common_name=use["species"].map(common).astype(object))
    species, *others = DRILL_LOTS_TABLE.declared
    return words_table(
        named,
        declared_words((species, COMMON_NAME, *others), wide="common_name"),
        wide="common_name",
        boxes=("Tag seen", "Weighed"),
        totals=DRILL_LOTS_TABLE.totals,
    )


MAP_HEIGHT_PT = 268.0


def _map_and_gates(
    area: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame], paper: Paper
) -> dict[str, Any]:
    """The map of the area, and the table of its numbered gates."""
    gates = gates_near(area["geometry"], frames["gates"])
    width, _ = body_pt(paper, lying=False)
    drawn = draw_seed_map(area, frames, gates, width_pt=width, height_pt=MAP_HEIGHT_PT)
    table = places_table(gates, zone_of(frames["units"]), frames["gates"].crs, box="Open")
    return {"map": map_words(drawn), "gates": table}


CATCH_TOLERANCE = 0.1
"""A catch that is off by more than this is caught again. Common practice, no source."""


READINGS = ("Set\nat", "Caught\ng") * 3


def _readings(boxes: pd.DataFrame) -> Filled:
    """What each box should drop, from and to, with room for three catches."""
    ((_, _, _, weight),) = declared_words((SEED_BOXES.column("catch_g"),), wide="box")
    catch = [
        (
            stacked_heading(column),
            column.name,
            aligned_to(column),
            partial(cell_words, column=column),
        )
        for column in DRILL_CATCH_TABLE.declared
    ]
    weights = [
        ("from g", "least_g", "r", weight),
        ("weighs g", "catch_g", "r", weight),
        ("to g", "most_g", "r", weight),
    ]
    frame = boxes.assign(
        least_g=boxes["catch_g"] * (1 - CATCH_TOLERANCE),
        most_g=boxes["catch_g"] * (1 + CATCH_TOLERANCE),
    )
    return words_table(frame, [*catch, *weights], wide="box", boxes=READINGS)


def _companions(use: pd.DataFrame, companions: pd.DataFrame) -> Filled:
    """Nurse crops and carriers of one area, each with its box, its rate and the lots it is from."""
    boxes = companions[["species", "role", "box"]]
    of_area = [SEED_COMPANIONS.column(name) for name in ("species", "role", "box")]
    of_lots = [SEED_USE.column(name) for name in ("bulk_lb_ac", "lot", "stock", "bulk_lb")]
    named = use.merge(boxes, on=["species", "role"]) if len(use) else use.assign(box=None)
    return words_table(
        named,
        declared_words((*of_area, *of_lots), wide="species"),
        wide="species",
        boxes=("Tag seen", "Weighed"),
    )
