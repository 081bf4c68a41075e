"""Photo points in words: where to look, which days are due."""

from typing import Any

import pandas as pd

from pipeline.fire.words import compass_point
from pipeline.pages.words import date_words, number_words, plain, row_words
from pipeline.season.photos.layers import PHOTO_POINTS

NORTH_NOTE = (
    "Bearings are counted from true north; a compass shows magnetic north: set the declination of "
    "place and year on it"
)


def look_words(point: Any) -> str:
    """What to do at a photo point: ``stand here, look 245° (WSW) from true north``."""
    told = ["stand here"]
    if pd.notna(point["bearing_deg"]):
        degrees = number_words(point["bearing_deg"], 0)
        told.append(f"look {degrees}° ({compass_point(point['bearing_deg'])}) from true north")
    if pd.notna(point["compass_deg"]):
        told.append(f"{number_words(point['compass_deg'], 0)}° on a compass that is not set")
    if pd.notna(point["height_ft"]):
        told.append(f"camera at {row_words(point, PHOTO_POINTS, 'height_ft')}")
    return ", ".join(told)


def due_words(point: str, windows: pd.DataFrame) -> str:
    """Days of the season on which a point is due; what is taken already is said."""
    return "; ".join(
        f"{date_words(row.first_day)} to {date_words(row.last_day)}{', taken' * bool(row.taken)}"
        for row in windows[windows["point"] == point].itertuples(index=False)
    )


def place_words(point: Any) -> str:
    """Name of a point and its unit."""
    unit = "" if pd.isna(point["unit_id"]) else f", unit {plain(point['unit_id'])}"
    return f"{plain(point['point'])}{unit}"
