"""The sheet of what was seen: photo points to go to, plants unit by unit, patches."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.names import natural_key
from pipeline.core.table import Table
from pipeline.pages.packet.packet_table import (
    ColumnWords,
    Filled,
    declared_table,
    name_words,
    words_table,
)
from pipeline.pages.photo_words import NORTH_NOTE, due_words, look_words
from pipeline.pages.words import sentence
from pipeline.season.plants.sheets import (
    CHANGES_TABLE,
    COVER_TABLE,
    GROUPS_TABLE,
    PATCH_YEARS_TABLE,
    PATCHES_TABLE,
)

Frames = Mapping[str, pd.DataFrame]


DEGREES = 6  # decimals: about four inches


TITLE = "What was seen: photo points, plants, patches"


def records_page(frames: Frames) -> dict[str, Any] | None:
    """Tables with their headings and notes; None where nothing of it is known."""
    changes = frames["plant_changes"]
    named = changes.assign(species=changes["species"].fillna("the whole group"))
    told = named[changes["species"].isna() | (changes["seen"] != "both_times")]
    tables = [
        ("Photo points", _points(frames), f"{NORTH_NOTE}. Places in degrees of WGS 84."),
        _declared(GROUPS_TABLE, newest(frames["plant_groups"]), "group"),
        _declared(COVER_TABLE, newest(frames["plant_cover"]), "species"),
        _declared(CHANGES_TABLE, told, "species"),
        _declared(PATCH_YEARS_TABLE, frames["patch_years"], "kind"),
        _declared(PATCHES_TABLE, frames["patch_ground"], "kind"),
    ]
    tables = [(title, table, about) for title, table, about in tables if table["rows"]]
    return {"name": TITLE, "tables": tables} if tables else None


def _declared(table: Table, frame: pd.DataFrame, wide: str) -> tuple[str, Filled, str]:
    """A declared table with its title and what is said beside it."""
    return table.title, declared_table(table, frame, wide=wide), table.about


def newest(frame: pd.DataFrame) -> pd.DataFrame:
    """Rows of the newest day of each unit."""
    return frame[frame["date"] == frame.groupby("unit_id")["date"].transform("max")]


def _points(frames: Frames) -> Filled:
    """Where to stand and where to look, the days that are due, and a box for the photo."""
    points = frames["photo_points"]
    points = points.iloc[sorted(range(len(points)), key=_place_of(points["point"]))]
    degrees = points.geometry.to_crs(4326) if len(points) else points.geometry
    frame = pd.DataFrame(
        {
            "point": points["point"],
            "unit_id": points["unit_id"],
            "latitude": [f"{place.y:.{DEGREES}f}" for place in degrees],
            "longitude": [f"{place.x:.{DEGREES}f}" for place in degrees],
            "look": [sentence(look_words(row)) for row in points.to_dict("records")],
            "due": [due_words(point, frames["photo_windows"]) or None for point in points["point"]],
            "note": points["note"],
        },
        dtype=object,
    )
    columns: list[ColumnWords] = [
        ("Point", "point", "l", name_words),
        ("Unit", "unit_id", "l", name_words),
        ("Latitude", "latitude", "r", str),
        ("Longitude", "longitude", "r", str),
        ("Stand and look", "look", "l", name_words),
        ("Due", "due", "l", name_words),
        ("Note", "note", "l", name_words),
    ]
    return words_table(frame, columns, wide="look", boxes=("Taken",))


def _place_of(names: pd.Series) -> Any:
    """Key that puts positions in the order in which people count their names."""
    return lambda position: natural_key(names.iloc[position])
