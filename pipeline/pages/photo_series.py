"""The photos of each point side by side, year by year."""

from collections.abc import Mapping
from itertools import accumulate
from typing import Any

import pandas as pd

from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.photo_words import due_words, look_words, place_words
from pipeline.pages.words import date_words, plain, rows, sentence

Frames = Mapping[str, pd.DataFrame]


NOT_ASKED = "The photos themselves are shown where thumbnails = true stands under [photos]."


def draw_photo_series(frames: Frames) -> Markup:
    """Each point with its photos by day; a year without one has an empty place."""
    photos = frames["photos"]
    counted = photos[photos["standing"] == "counts"]
    if not len(counted):
        return Markup("")
    small, left = _shown(frames["photo_thumbnails"], counted)
    years, windows = frames["photo_years"], frames["photo_windows"]
    parts = [
        _series(point, of_point, small, years[years["point"] == point["point"]], windows)
        for point in rows(frames["photo_points"])
        if len(of_point := counted[counted["point"] == point["point"]])
    ]
    if note := f"{left:,} {LEFT_OUT}" if left else "" if small else NOT_ASKED:
        parts.append(tag("p", note, attributes={"class": "about"}))
    return joined(parts)


MOST_LETTERS = 400_000
"""Letters of all photos of a page, which is to stay light enough for a phone."""


LEFT_OUT = "older photos are named but not shown, so that this page stays light."


def _shown(thumbnails: pd.DataFrame, photos: pd.DataFrame) -> tuple[dict[str, dict[str, Any]], int]:
    """Small pictures by their file, the newest first as far as they go; how many are left out."""
    newest = photos.sort_values("date", ascending=False, kind="stable")["file"]
    by_file = {row["file"]: row for row in rows(thumbnails)}
    ordered = [by_file[file] for file in newest if file in by_file]
    letters = accumulate(len(row["jpeg"]) for row in ordered)
    shown = sum(so_far <= MOST_LETTERS for so_far in letters)
    return {row["file"]: row for row in ordered[:shown]}, len(ordered) - shown


def _series(
    point: dict[str, Any],
    photos: pd.DataFrame,
    small: Mapping[str, dict[str, Any]],
    years: pd.DataFrame,
    windows: pd.DataFrame,
) -> Markup:
    """One point: where to stand and look, when it is due, and its photos."""
    by_year = {int(y): rows(of_year) for y, of_year in photos.groupby(photos["date"].dt.year)}
    figures = []
    for year in years["year"]:
        taken = [_figure(photo, small.get(photo["file"])) for photo in by_year.get(year, [])]
        figures += taken or [_empty(year)]
    due = due_words(point["point"], windows)
    about = f"{sentence(look_words(point))}. Due {due}." if due else sentence(look_words(point))
    return joined(
        (
            tag("h3", given(place_words(point))),
            tag("p", about, attributes={"class": "about"}),
            tag("div", *figures, attributes={"class": "photos"}),
        )
    )


def _figure(photo: dict[str, Any], small: Mapping[str, Any] | None) -> Markup:
    """One photo with its day, and its name as long as it is not shown."""
    day = date_words(photo["date"])
    name = tag("small", given(plain(photo["file"])))
    if small is None:
        return tag("figure", tag("figcaption", day, " ", name))
    attributes = {
        "src": f"data:image/jpeg;base64,{small['jpeg']}",
        "width": small["width"],
        "height": small["height"],
        "loading": "lazy",
        "alt": f"{plain(photo['point'])}, {day}",
        "title": plain(photo["file"]),
    }
    return tag("figure", tag("img", attributes=attributes), tag("figcaption", day))


def _empty(year: int) -> Markup:
    """The place of a year without a photo."""
    hole = tag("div", "No photo", attributes={"class": "hole"})
    return tag("figure", hole, tag("figcaption", str(year)))
