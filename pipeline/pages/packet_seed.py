"""Drill sheet of one seeding area, as data for the packet."""

from collections.abc import Mapping, Sequence
from functools import partial
from textwrap import wrap
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.table import Table
from pipeline.pages.packet_table import ColumnWords, Filled, name_words, words_table
from pipeline.pages.words import cell_words
from pipeline.seed.order_layers import COMMON_NAME, SEED_AREAS
from pipeline.seed.sheets import DRILL_BOXES_TABLE, DRILL_COMPANIONS_TABLE, DRILL_LOTS_TABLE

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


NUMBER_WIDTH = 11
"""Letters of a heading over figures; a longer one takes another line."""


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


def seed_page(area: dict[str, Any], frames: Mapping[str, gpd.GeoDataFrame]) -> dict[str, Any]:
    """Page of one seeding area."""
    name = area["area"]
    boxes, lots, companions = (
        frames[layer][frames[layer]["area"] == name]
        for layer in ("seed_boxes", "seed_use", "seed_companions")
    )
    return {
        "name": name_words(name),
        "units": name_words(area["unit_ids"]),
        "drill": area["method"] == "drill",
        "facts": [_fact(area, SEED_AREAS.column(fact)) for fact in FACTS],
        "boxes": _filled(
            DRILL_BOXES_TABLE,
            boxes,
            wide="contents",
            blanks=("Caught\ng", "Set at", "Left over\nlb"),
        ),
        "lots": _lots(lots, frames["seed_rates"]),
        "companions": _filled(
            DRILL_COMPANIONS_TABLE, companions, wide="species", blanks=("Weighed",)
        ),
        "blanks": list(NOTED_WHILE_SOWING),
    }


def _fact(area: dict[str, Any], column: Column) -> list[str]:
    """Heading and value of one column, with its unit."""
    words = name_words(cell_words(area[column.name], column))
    return [column.heading, f"{words} {column.symbol}".strip()]


def _lots(use: pd.DataFrame, rates: pd.DataFrame) -> Filled:
    """Lots as weighed out, with the names people use; keep the page, it traces each lot."""
    common = rates.drop_duplicates("species").set_index("species")["common_name"]
    named = use.assign(common_name=use["species"].map(common).astype(object))
    species, *others = DRILL_LOTS_TABLE.declared
    return words_table(
        named,
        [_column_words(column) for column in (species, COMMON_NAME, *others)],
        wide="common_name",
        boxes=("Tag seen", "Weighed"),
        totals=DRILL_LOTS_TABLE.totals,
    )


def _filled(table: Table, rows: pd.DataFrame, *, wide: str, blanks: Sequence[str]) -> Filled:
    """A declared table as words, with empty lines to be filled in at the end of each row."""
    columns = [_column_words(column) for column in table.declared]
    return words_table(rows, columns, wide=wide, boxes=blanks, totals=table.totals)


def _column_words(column: Column) -> ColumnWords:
    """Heading with its unit below it, name, side and words of a declared column."""
    is_number = column.kind in ("number", "integer")
    lines = wrap(column.heading, NUMBER_WIDTH) if is_number else [column.heading]
    heading = "\n".join(filter(None, [*lines, column.symbol]))
    side = "r" if is_number else "l"
    return heading, column.name, side, partial(_words, column=column)


def _words(value: Any, column: Column) -> str:
    """A cell as it is printed: a long name may be broken where it has no room."""
    return name_words(cell_words(value, column))
