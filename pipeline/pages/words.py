"""From a cell to words: the one way by which report, packet, map, sheets and GPS files print.

A column's declaration says all that is needed: heading, sign of the unit, decimal places, whether
a change shows its sign, and which texts are codes.
"""

import unicodedata
from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.ahead.words import CODE_WORDS as AHEAD_WORDS
from pipeline.core.layer import Column, Layer
from pipeline.core.units import UNIT_BY_SUFFIX, half_up
from pipeline.fire.words import CODE_WORDS as FIRE_WORDS
from pipeline.fire.words import compass_point, degrees_words

NOTHING = "–"
"""What is printed where nothing is known."""


UNDECLARED_PLACES = 2
"""Decimals of a number whose column declares none."""


DIRECTION = UNIT_BY_SUFFIX["deg"]


CODE_WORDS: dict[str, str] = {
    **FIRE_WORDS,
    **AHEAD_WORDS,
    "cool_ground_in_shoulder": "cool-season ground in a shoulder (common practice, no source; "
    "it is ready before native range: NDSU R1061)",
    "native_ground_in_summer": "ground not known as cool-season, between the shoulders (common "
    "practice, no source)",
    "next_open": "an open unit with feed, no other fits better (common practice, no source)",
    "stays_on": "open and with feed still: the herd stays, with other head",
    "none_open": "the plan leaves no unit open: a place elsewhere, or hay",
    "no_feed": "the feed of the open units is used or unknown: fewer head, or hay",
    "not_told": "the log does not tell where the herd was",
    "row_on_record": "the log, done",
    "row_planned": "the log, planned",
    "heavy": "heavy: look at the widths of the breaks again",
    "measured": "last measured load of the unit times the harvest efficiency",
    "no_places": "not known: plant records have no place",
    "needs_herd": "unknown: needs head and weight_lb (or animal_unit_equivalent) of [herd]",
    "needs_load": "unknown: needs a clip plot, pole reading or stated load of the last two years",
    "needs_load_and_herd": "unknown: needs a clip plot, pole reading or stated load of the last "
    "two years, and head and weight_lb (or animal_unit_equivalent) of [herd]",
    "left_over": "what was left, the least that grew: what was taken before is not told",
    "left_and_grazed": "what was left and what animals had taken",
    "cropped": "cropland",
    "establishing": "seeded",
    "ndvi": "NDVI",
    "grown": "measured as growth",
    "untold": "not told",
    "stood": "what stood on ground not grazed",
    "one_transect": "none with one transect",
    "reflectance": "NDVI, from reflectance",
    "rests_on_three_or_more": "rests on three or more transects",
}
"""Words for codes whose underscores alone do not make words of them."""


TURNING_MARKS = "\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a layer as dictionaries from column to cell."""
    return frame.to_dict("records") if len(frame) else []


def cell_words(value: Any, column: Column) -> str:
    """One cell of a layer as a person reads it: rounded once, half up, codes as words.

    Nothing known is a dash. The sign of the unit stands in the heading. A sentence that a page has
    put in the place of a code stays as it is.
    """
    if pd.isna(value):
        return NOTHING
    if column.kind == "date":
        return date_words(value)
    if column.kind == "flag":
        return "yes" if value else "no"
    if column.kind == "text":
        return code_words(value) if value in column.choices else plain(str(value))
    if column.unit == DIRECTION:
        return degrees_words(value)
    if column.kind == "integer" and column.places is None:
        return str(int(value))
    places = UNDECLARED_PLACES if column.places is None else column.places
    return number_words(value, places, signed=column.signed)


def figure_words(value: Any, column: Column) -> str:
    """A cell with the sign of its unit behind it, for a figure that stands under no heading."""
    words = cell_words(value, column)
    if words == NOTHING or not column.symbol:
        return words
    if column.unit == DIRECTION:
        return wind_words(value)
    return words + ("" if column.symbol == "°" else " ") + column.symbol


def row_words(row: Mapping[Any, Any], layer: Layer, name: str) -> str:
    """The figure in one column of a row of a layer, with the sign of its unit."""
    return figure_words(row[name], layer.column(name))


def bare_heading(column: Column) -> str:
    """Heading of a column without its unit; its name in words where none is declared."""
    return column.heading or sentence(column.name.replace("_", " "))


def heading_words(column: Column) -> str:
    """Heading of a column with the sign of its unit in brackets."""
    has_unit = column.heading and column.symbol
    return f"{column.heading} ({column.symbol})" if has_unit else bare_heading(column)


def number_words(value: Any, places: int, *, signed: bool = False) -> str:
    """A number rounded half up, its thousands set apart, with a true minus sign.

    A ``signed`` one shows its plus as well; what is rounded to zero has no sign.
    """
    if pd.isna(value):
        return NOTHING
    rounded = half_up(float(value), places)
    sign = "−" if rounded < 0 else "+" if signed and rounded > 0 else ""
    return f"{sign}{abs(rounded):,f}"


def date_words(value: Any) -> str:
    """A day as year, month and day: 2027-04-15."""
    return NOTHING if pd.isna(value) else str(pd.Timestamp(value).date())


def code_words(code: str) -> str:
    """A code that a layer declares among its choices, as a person reads it."""
    return CODE_WORDS.get(code, code.replace("_", " "))


def sentence(words: str) -> str:
    """Words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def plain(text: str) -> str:
    """Text without control characters and without marks that turn the reading direction.

    Right-to-left letters stay; only the invisible characters that could reorder what stands
    beside a name are dropped.
    """
    return "".join(
        " " if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp", "Cn", "Co") else c
        for c in text
        if c not in TURNING_MARKS
    )


def wind_words(degrees: Any) -> str:
    """Direction the wind comes from, where it stands under no heading."""
    if pd.isna(degrees):
        return "no wind planned"
    return f"{compass_point(degrees)} ({int(half_up(float(degrees), 0)) % 360}°)"
