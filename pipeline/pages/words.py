"""Cells as a person reads them: numbers rounded once, dates, and a dash where nothing is known."""

import math
import unicodedata
from typing import Any

import pandas as pd

from pipeline.core.layer import Column, Layer
from pipeline.core.units import UNIT_BY_SUFFIX, half_up
from pipeline.fire import words as fire_words

# Decimals shown, by unit. Lengths to the foot, acres to a tenth, seed to a hundredth of a pound.
PLACES_BY_UNIT = {
    "acre": 1,
    "foot": 0,
    "degree, clockwise from true north": 0,
    "hour": 1,
    "percent": 0,
    "pound": 1,
    "pound per acre": 2,
    "day": 0,
    "year": 0,
    "pixel, counted by covered share": 0,
    "inch": 2,
    "mile": 2,
    "U.S. dollar": 2,
}


WORDS_BY_SUFFIX = {
    "ac": "ac",
    "ft": "ft",
    "pct": "%",
    "deg": "°",
    "angle_deg": "°",
    "lb": "lb",
    "lb_ac": "lb/ac",
}


def unit_suffix(name: str) -> str | None:
    """Longest end of a column's name that is a unit, None where there is none."""
    parts = name.split("_")
    for start in range(len(parts)):
        if (suffix := "_".join(parts[start:])) in UNIT_BY_SUFFIX:
            return suffix
    return None


def label(column: Column) -> str:
    """Heading of a column: its name in words, its unit in brackets."""
    suffix = unit_suffix(column.name) if column.unit else None
    if suffix is None:
        return _sentence(column.name)
    stem = column.name.removesuffix(suffix).strip("_")
    if not stem:
        return _sentence(UNIT_BY_SUFFIX[suffix])
    return f"{_sentence(stem)} ({WORDS_BY_SUFFIX.get(suffix, suffix.replace('_', '/'))})"


def _sentence(name: str) -> str:
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


def places(column: Column) -> int:
    """Decimals that a column is shown with; a number without a unit gets three."""
    return PLACES_BY_UNIT.get(column.unit or "", 2 if column.unit else 3)


def figure(value: float, decimals: int) -> str:
    """Number for a reader: rounded half up, thousands parted, a true minus sign."""
    text = f"{half_up(value, decimals):,}"
    if not text.strip("-0.,"):
        text = text.lstrip("-")
    return text.replace("-", "−")


def missing(value: Any) -> bool:
    """Whether a cell is empty, in any of the ways a frame has for it."""
    return (
        value is None
        or (isinstance(value, float) and math.isnan(value))
        or str(value) in ("NaT", "<NA>")
    )


def shown(value: Any, column: Column) -> str:
    """Cell as a person reads it; empty stays empty."""
    if missing(value):
        return ""
    if column.kind == "number":
        return figure(float(value), places(column))
    if column.kind == "integer":
        return str(int(value))
    if column.kind == "date":
        return str(value)[:10]
    if column.kind == "flag":
        return "yes" if value else "no"
    return plain(str(value))


def cell(layer: Layer, row: Any, name: str) -> str:
    """Cell of one row, by the name of its column."""
    return shown(row[name], layer.column(name))


def plain(text: str) -> str:
    """Text without control characters and without marks that turn the reading direction.

    Right-to-left letters stay; only the invisible characters that could reorder what stands
    beside a name are dropped.
    """
    turning = "\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    return "".join(
        " " if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp", "Cn", "Co") else c
        for c in text
        if c not in turning
    )


NOTHING = "–"


def number_words(value: Any, places: int) -> str:
    """Number with its thousands set apart, rounded half up."""
    return NOTHING if pd.isna(value) else f"{half_up(float(value), places):,f}"


def signed_words(value: Any, places: int) -> str:
    """The same with its sign, as a change is written; zero has none."""
    if pd.isna(value):
        return NOTHING
    rounded = half_up(float(value), places)
    sign = "" if rounded == 0 else "+" if rounded > 0 else "−"
    return f"{sign}{abs(rounded):,f}"


def date_words(value: Any) -> str:
    """Date as 2027-04-15."""
    return NOTHING if pd.isna(value) else str(pd.Timestamp(value).date())


def text_words(value: Any) -> str:
    """Text, or the dash."""
    return NOTHING if value is None or pd.isna(value) else str(value)


def flag_words(value: Any) -> str:
    """Yes, no, or the dash."""
    return NOTHING if pd.isna(value) else "yes" if value else "no"


def wind_words(degrees: Any) -> str:
    """Direction the wind comes from, as its compass point and degrees from north."""
    if pd.isna(degrees):
        return "no wind planned"
    return f"{compass_point(degrees)} ({number_words(degrees, 0)}°)"


DIRECTION = UNIT_BY_SUFFIX["deg"]


def compass_point(degrees: float) -> str:
    """The nearest of eight points of the compass."""
    points = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
    return points[round(float(degrees) / 45) % 8]


def direction_words(degrees: float) -> str:
    """Direction in whole degrees from north, north as 0, and its compass point."""
    return f"{int(half_up(float(degrees), 0)) % 360} {compass_point(degrees)}"


CODE_WORDS: dict[str, str] = {**fire_words.CODE_WORDS}
"""Words for codes whose underscores alone do not make words of them."""


def code_words(code: str) -> str:
    """A code that a layer declares among its choices, as a person reads it."""
    return CODE_WORDS.get(code, code.replace("_", " "))


def cell_words(value: Any, column: Column) -> str:
    """One cell of a layer as a person reads it: rounded once, half up, codes as words.

    Nothing known is a dash. This is the only way from a layer to print.
    """
    if pd.isna(value):
        return NOTHING
    if column.unit == DIRECTION:
        return direction_words(value)
    if column.kind == "number":
        places = 0 if column.places is None else column.places
        return (signed_words if column.signed else number_words)(value, places)
    if column.kind == "integer":
        return str(int(value)) if column.places is None else number_words(value, 0)
    if column.kind == "date":
        return date_words(value)
    if column.kind == "flag":
        return flag_words(value)
    return code_words(str(value)) if column.choices else str(value)
