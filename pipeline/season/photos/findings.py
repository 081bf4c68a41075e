"""Findings of photo points: places that do not fit, years missed, files that are not used."""

from collections.abc import Iterator
from functools import partial
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.season.photos.layers import PROBLEMS
from pipeline.season.photos.settings import PhotoSettings

MOST = 20
"""Files that one finding names at most."""


PLACE_WORDS = {
    "outside": ("warning", "photo_point_outside", "it lies in no unit, nor near one"),
    "elsewhere": ("warning", "photo_point_elsewhere", "it does not stand in the unit told for it"),
    "on_border": (
        "note",
        "photo_point_on_border",
        "it stands on the border of {near} and belongs to none of them: write its unit_id, or the "
        "bearing that it looks",
    ),
    "by_view": (
        "note",
        "photo_point_on_border",
        "it stands on the border of {near}, and is taken for the one it looks into",
    ),
}


PROBLEM_WORDS = {
    "other_format": "neither .jpg nor .png",
    "empty": "without any bytes",
    "too_large": "larger than 60 MB or 120 million pixels",
    "not_a_photo": "no JPEG or PNG inside",
    "unreadable": "damaged",
    "outside": "a link out of the folder",
    "name_not_utf8": "with a name that is not UTF-8",
}
"""What is wrong with a file, behind its count."""


def find_photos(
    units: gpd.GeoDataFrame,
    photo_points: gpd.GeoDataFrame,
    photos: pd.DataFrame,
    photo_files: pd.DataFrame,
    photo_thumbnails: pd.DataFrame,
    settings: PhotoSettings,
) -> gpd.GeoDataFrame:
    """Findings of photo points and of the files of their photos."""
    has_photos = len(photos) > 0
    findings = [
        *(found for row in photo_points.to_dict("records") for found in _of_point(row, has_photos)),
        *_of_one_day(photos),
        *_files(photos),
        *_dates_differ(photos, photo_files),
        *(_not_shown(photos, photo_thumbnails) if settings.thumbnails else ()),
    ]
    return findings_frame(findings, units.crs)


def _of_point(row: dict[Any, Any], has_photos: bool) -> Iterator[Finding]:
    """What is to say of one point: its place, years without a photo, no photo at all."""
    told = partial(
        Finding, source="photo_points", subject=str(row["point"]), geometry=row["geometry"]
    )
    if row["placed"] in PLACE_WORDS:
        severity, code, words = PLACE_WORDS[str(row["placed"])]
        message = f"photo point {row['point']}: {words.format(near=row['near_units'])}"
        yield told(severity=severity, code=code, message=message)
    if pd.notna(row["missed"]):
        words = f"photo point {row['point']}: no photo of {row['missed']}; there are {row['years']}"
        yield told(severity="note", code="photo_year_missed", message=words)
    if has_photos and row["photos"] == 0:
        words = f"photo point {row['point']}: no photo of it was found"
        yield told(severity="note", code="photo_point_without_photo", message=words)


def _of_one_day(photos: pd.DataFrame) -> Iterator[Finding]:
    """Points with several photos of one day; all of them are kept."""
    counted = photos[photos["standing"] == "counts"]
    for point, of_point in counted.groupby("point"):
        several = of_point[of_point.duplicated("date", keep=False)]
        if len(several):
            days = listed([f"{day:%Y-%m-%d}" for day in several["date"].unique()], MOST)
            words = f"photo point {point}: {len(several)} photos share a day ({days}): "
            words += f"{listed(several['file'], MOST)}; all are kept. Do some look another way?"
            yield _told("note", "photos_of_one_day", words, str(point))


def _files(photos: pd.DataFrame) -> Iterator[Finding]:
    """Files that count for nothing, by why."""
    by_standing = {str(s): rows for s, rows in photos.groupby("standing")}
    if (ahead := by_standing.get("ahead")) is not None:
        days = [f"{r.file} ({r.date:%Y-%m-%d})" for r in ahead.itertuples(index=False)]
        words = f"{len(ahead)} photos of days to come are left out: {listed(days, MOST)}"
        yield _told("warning", "photo_in_future", words)
    for standing, what in (
        ("no_point", "have no photo point's name in theirs"),
        ("several_points", "have the names of several photo points in theirs"),
        ("no_date", "tell no day: neither list nor name nor camera has one"),
        ("no_file", "stand in photo_list and not in the folder"),
    ):
        if (rows := by_standing.get(standing)) is not None:
            words = f"{len(rows)} photos {what}, and are left out: {listed(rows['file'], MOST)}"
            yield _told("warning", "photos_not_placed", words)
    for problem in PROBLEMS:
        if (rows := by_standing.get(problem)) is not None:
            words = f"{len(rows)} files {PROBLEM_WORDS[problem]} are left out: "
            yield _told("warning", "photos_not_used", words + listed(rows["file"], MOST))


def _dates_differ(photos: pd.DataFrame, photo_files: pd.DataFrame) -> Iterator[Finding]:
    """Photos whose camera tells another day than the list or the name, by more than one."""
    told = photos.merge(photo_files[["file", "camera_date"]], on="file")
    apart = told[(told["date"] - told["camera_date"]).abs() > pd.Timedelta(days=1)]
    if len(apart):
        pairs = [
            f"{row.file} ({row.date:%Y-%m-%d}, camera {row.camera_date:%Y-%m-%d})"
            for row in apart.itertuples(index=False)
        ]
        words = f"{len(apart)} photos have another day in their list or name than in the camera's "
        words += f"clock, and the first counts: {listed(pairs, MOST)}"
        yield _told("warning", "photo_dates_differ", words)


def _not_shown(photos: pd.DataFrame, photo_thumbnails: pd.DataFrame) -> Iterator[Finding]:
    """Photos that count and are not in the report."""
    counted = photos.loc[photos["standing"] == "counts", "file"]
    hidden = counted[~counted.isin(photo_thumbnails["file"])]
    if len(hidden):
        words = f"{len(hidden)} of {len(counted)} photos are not shown in the report: there is no "
        words += f"room left (thumbnails_mb), or they are damaged: {listed(hidden, MOST)}"
        yield _told("warning", "photos_not_shown", words)


def _told(severity: str, code: str, message: str, subject: str | None = None) -> Finding:
    return Finding(severity=severity, code=code, source="photos", subject=subject, message=message)
