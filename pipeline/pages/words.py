"""Cells as a person reads them: numbers rounded once, dates, and a dash where nothing is known."""

from typing import Any

import pandas as pd

from pipeline.units import half_up

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
    points = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
    return f"{points[round(float(degrees) / 45) % 8]} ({number_words(degrees, 0)}°)"
