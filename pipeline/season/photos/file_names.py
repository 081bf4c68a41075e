"""Which photo point and which day a photo is of, from its list, its name and its camera."""

import re
from collections.abc import Iterable

import geopandas as gpd
import pandas as pd

from pipeline.core.names import spelling
from pipeline.season.photos.layers import PHOTOS
from pipeline.season.photos.points import placed_points
from pipeline.season.photos.settings import PhotoSettings

DAY_IN_NAME = re.compile(r"(?<!\d)(?:19|20)\d\d([-_]?)\d\d\1\d\d(?!\d)")
"""A day as it stands in the name of a file; the number of a point may look like a part of it."""


WORD = re.compile(r"[^\W_]+")


def list_photos(
    units: gpd.GeoDataFrame,
    drawn_photo_points: gpd.GeoDataFrame,
    photo_files: pd.DataFrame,
    photo_list: pd.DataFrame,
    property: pd.DataFrame,
    settings: PhotoSettings,
) -> pd.DataFrame:
    """Table ``photos``: every file of the folder, and every row of the list that has none."""
    names = {spelling(point): point for point in drawn_photo_points["point"]}
    listed = _by_file(photo_list, photo_files["file"])
    rows = [
        _row(file, listed.pop(file["file"], {}), names, property["as_of"].iloc[0])
        for file in photo_files.to_dict("records")
    ]
    rows += [
        {"file": told["file"], "point": _point_told(told, names), "date": told["date"]}
        | {"standing": "no_file"}
        for told in listed.values()
    ]
    frame = pd.DataFrame(rows, columns=[*PHOTOS.column_names])
    frame["date"] = pd.to_datetime(frame["date"]).astype("datetime64[s]")
    placed = placed_points(units, drawn_photo_points, settings).set_index("point")["unit_id"]
    frame["unit_id"] = frame["point"].map(placed)
    told = frame.sort_values(["point", "date", "file"], na_position="last", ignore_index=True)
    return told.assign(number=range(1, len(told) + 1))


def _by_file(photo_list: pd.DataFrame, files: Iterable[str]) -> dict[str, dict[str, object]]:
    """Rows of the list by the file that they mean: by its path, or by its name where one has it."""
    paths = {file.casefold(): file for file in files}
    by_name: dict[str, list[str]] = {}
    for path in paths.values():
        by_name.setdefault(path.rsplit("/", 1)[-1].casefold(), []).append(path)
    meant = {}
    for row in photo_list.to_dict("records"):
        key = row["file"].replace("\\", "/").casefold()
        alone = by_name.get(key, [])
        file = paths.get(key) or (alone[0] if len(alone) == 1 else row["file"])
        meant[file] = row
    return meant


def _row(
    file: dict[str, object],
    told: dict[str, object],
    names: dict[str, str],
    as_of: pd.Timestamp,
) -> dict[str, object]:
    """One file: its point and its day, or why it is left out."""
    days = {
        "list": told.get("date"),
        "file_name": file["name_date"],
        "camera": file["camera_date"],
    }
    source, day = next(((s, d) for s, d in days.items() if pd.notna(d)), (None, pd.NaT))
    point = _point_told(told, names)
    points = points_named(str(file["file"]), names) if point is None else [point]
    row = {name: file[name] for name in ("file", "width", "height")}
    return row | {
        "point": points[0] if len(points) == 1 else None,
        "date": day,
        "date_from": source,
        "standing": _standing(file["problem"], points, day, as_of),
    }


def _standing(problem: object, points: list[str], day: object, as_of: pd.Timestamp) -> str:
    """Code of what a file is used for."""
    if pd.notna(problem):
        return str(problem)
    if len(points) != 1:
        return "several_points" if points else "no_point"
    if pd.isna(day):
        return "no_date"
    return "ahead" if pd.notna(as_of) and day > as_of else "counts"


def _point_told(told: dict[str, object], names: dict[str, str]) -> str | None:
    """The point that a row of the list names; None where it names none."""
    point = told.get("point")
    return None if pd.isna(point) else names[spelling(str(point))]


def points_named(file: str, names: dict[str, str]) -> list[str]:
    """Points whose name stands in the path of a file, by their spelling; the longest alone.

    A name counts where no letter or digit touches it: P1 is not in ``P10_2026.jpg``. The day in
    the name is not looked at.
    """
    path = _worded(DAY_IN_NAME.sub(" ", file.rsplit(".", 1)[0]))
    there = [s for s in names if (word := _worded(s)).strip() and word in path]
    inside = {s for s in there for t in there if s != t and _worded(s) in _worded(t)}
    return sorted(names[s] for s in there if s not in inside)


def _worded(text: str) -> str:
    """Letters and digits of a text in one case, a blank between and around its words."""
    words = " ".join(WORD.findall(text.casefold()))
    return f" {words} "
