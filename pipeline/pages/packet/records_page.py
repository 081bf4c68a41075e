"""The sheet of what was seen: photo points to go to, plants unit by unit, patches."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.table import Table
from pipeline.pages.packet.map_frames import map_words
from pipeline.pages.packet.packet_table import (
    ColumnWords,
    Filled,
    declared_table,
    name_words,
    words_table,
)
from pipeline.pages.packet.records_map import draw_records_map, numbered_points
from pipeline.pages.photo_words import NORTH_NOTE, due_words, look_words
from pipeline.pages.words import sentence
from pipeline.season.plants.groups import in_group_order
from pipeline.season.plants.sheets import (
    CHANGES_TABLE,
    COVER_TABLE,
    GROUPS_TABLE,
    PATCH_YEARS_TABLE,
    PATCHES_TABLE,
)
from pipeline.season.sheets import COMMUNITY_TABLE

Frames = Mapping[str, gpd.GeoDataFrame]


WIDTH_PT, HEIGHT_PT = 700.0, 290.0
"""Size of the map on paper."""


DEGREES = 6  # decimals: about four inches


TITLE = "What was seen: photo points, plants, patches"


SHARES_TABLE = replace(
    COMMUNITY_TABLE,
    columns=(
        "unit_id",
        "date",
        "transects",
        "species",
        "native_share_pct",
        "native_low_pct",
        "native_high_pct",
        "cool_exotic_share_pct",
        "unknown_share_pct",
        "lead_invader",
        "mean_c_native",
        "c_list",
    ),
)
"""The shares as they fit on paper."""


def records_page(frames: Frames) -> dict[str, Any] | None:
    """Tables with their headings and notes; None where nothing of it is known."""
    changes = frames["plant_changes"]
    named = changes.assign(species=changes["species"].fillna("the whole group"))
    told = named[changes["species"].isna() | (changes["seen"] != "both_times")]
    tables = [
        ("Photo points", _points(frames), f"{NORTH_NOTE}. Places in degrees of WGS 84."),
        _declared(SHARES_TABLE, newest(frames["community"]), "lead_invader"),
        _declared(GROUPS_TABLE, in_group_order(newest(frames["plant_groups"])), "group"),
        _declared(COVER_TABLE, in_group_order(newest(frames["plant_cover"])), "species"),
        _declared(CHANGES_TABLE, in_group_order(newest(told)), "species"),
        _declared(PATCH_YEARS_TABLE, frames["patch_years"], "kind"),
        _declared(PATCHES_TABLE, frames["patch_ground"], "natives_told"),
    ]
    tables = [(title, table, about) for title, table, about in tables if table["rows"]]
    return {"name": TITLE, "tables": tables, "map": _map(frames)} if tables else None


def _map(frames: Frames) -> dict[str, Any] | None:
    """Map of photo points and patches; none where there is neither."""
    if not len(frames["photo_points"]) and not len(frames["patch_ground"]):
        return None
    drawn = draw_records_map(frames, width_pt=WIDTH_PT, height_pt=HEIGHT_PT)
    return map_words(drawn) | {
        "note": "Numbered dots: photo points and the way they look; patches: the newest ground of "
        "each."
    }


def _declared(table: Table, frame: pd.DataFrame, wide: str) -> tuple[str, Filled, str]:
    """A declared table with its title and what is said beside it."""
    return table.title, declared_table(table, frame, wide=wide), table.about


def newest(frame: pd.DataFrame) -> pd.DataFrame:
    """Rows of the newest day of each unit."""
    return frame[frame["date"] == frame.groupby("unit_id")["date"].transform("max")]


def _points(frames: Frames) -> Filled:
    """Where to stand and where to look, the days that are due, and a box for the photo."""
    crs = frames["photo_points"].crs
    told = []
    for row in numbered_points(frames["photo_points"]):
        place = gpd.GeoSeries([row["geometry"]], crs=crs).to_crs(4326).iloc[0]
        note = "" if pd.isna(row["note"]) else f". {sentence(row['note'])}"
        told.append(
            {
                "number": str(row["number"]),
                "point": row["point"],
                "unit_id": row["unit_id"],
                "latitude": f"{place.y:.{DEGREES}f}",
                "longitude": f"{place.x:.{DEGREES}f}",
                "look": f"{sentence(look_words(row))}{note}",
                "due": due_words(row["point"], frames["photo_windows"]) or None,
            }
        )
    columns: list[ColumnWords] = [
        ("No.", "number", "r", str),
        ("Point", "point", "l", name_words),
        ("Unit", "unit_id", "l", name_words),
        ("Latitude", "latitude", "r", str),
        ("Longitude", "longitude", "r", str),
        ("Stand and look", "look", "l", name_words),
        ("Due", "due", "l", name_words),
    ]
    frame = pd.DataFrame(told, columns=[name for _, name, *_ in columns], dtype=object)
    return words_table(frame, columns, wide="look", boxes=("Taken",))
