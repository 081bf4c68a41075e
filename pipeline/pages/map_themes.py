"""Quantities that the units of the map are filled by, one at a time."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.words import NOTHING, number_words, signed_words

Frames = Mapping[str, "pd.DataFrame"]


@dataclass(frozen=True, slots=True)
class FilledArea:
    """A shape, its color, the texture of a doubt (or none), and the value to print on it."""

    shape: Any
    color: str
    texture: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Theme:
    """One quantity: its areas and its key, rows of color, texture and words."""

    name: str
    title: str
    about: str
    areas: tuple[FilledArea, ...]
    key: tuple[tuple[str, str | None, str], ...]
    below_the_name: bool = True


def map_themes(frames: Frames) -> list[Theme]:
    """Every theme that the layers allow: the greenness changes first."""
    greenness = frames["greenness"]
    themes = [
        _change_theme(number, str(name), rows)
        for number, (name, rows) in enumerate(greenness.groupby("comparison", sort=True))
    ]
    if len(frames["fire_history"]) or frames["history"]["last_burn"].notna().any():
        themes.append(_years_theme(frames))
    if len(frames["fuel"]):
        themes.append(_fuel_theme(frames["fuel"]))
    return themes


def in_doubt(row: Mapping[str, Any]) -> bool:
    """Whether the interval of a change holds zero, or the change lies within the noise floor."""
    return bool(
        row["interval_low"] <= 0 <= row["interval_high"]
        or abs(row["change_vs_reference"]) <= row["noise_floor"]
        or pd.isna(row["interval_low"])
    )


def _change_theme(number: int, name: str, rows: pd.DataFrame) -> Theme:
    floor = float(rows["noise_floor"].max())
    scale = palette.change_scale(rows["change_vs_reference"], noise_floor=floor)
    return Theme(
        name=f"change{number}",
        title=f"Greenness change, {name}",
        about="Change beyond that of the unburned units, in index units. It tells greenness, "
        "not plants and not success.",
        areas=tuple(_change_area(row, scale) for row in rows.to_dict("records")),
        key=(
            *((color, None, words) for color, words in reversed(scale.classes())),
            (palette.NO_CLEAR_CHANGE, "doubt", "in doubt: the interval holds zero"),
            (palette.UNKNOWN, "unjudged", "cannot be judged"),
        ),
    )


def _change_area(row: Mapping[Any, Any], scale: palette.ChangeScale) -> FilledArea:
    change = row["change_vs_reference"]
    if pd.isna(change):
        return FilledArea(row["geometry"], palette.UNKNOWN, "unjudged", "?")
    texture = "doubt" if in_doubt(row) else None
    return FilledArea(row["geometry"], scale.color(change), texture, signed_words(change, 2))


def _years_theme(frames: Frames) -> Theme:
    """Years since the last burn, by the faces of the burn map where there is one."""
    faces, history = frames["fire_history"], frames["history"]
    whole = history[~history["unit_id"].isin(faces["unit_id"])]
    rows = [*whole.to_dict("records"), *faces.to_dict("records")]
    return Theme(
        name="years",
        title="Years since the last burn",
        about="From the records given; a burn that was not written down is not in it.",
        areas=tuple(_years_area(row) for row in rows),
        key=(
            *((color, None, words) for color, words in palette.years_classes()),
            (palette.UNKNOWN, "unjudged", "no burn on record"),
        ),
    )


def _years_area(row: Mapping[Any, Any]) -> FilledArea:
    years = row["years_since_burn"]
    if pd.isna(years):
        return FilledArea(row["geometry"], palette.UNKNOWN, "unjudged")
    words = f"{number_words(years, 0)} y"
    return FilledArea(row["geometry"], palette.years_color(float(years)), None, words)


def _fuel_theme(fuel: pd.DataFrame) -> Theme:
    words = {
        "yes": "likely carries a fire", "patchy": "patchy", "no": "likely does not carry",
        "unknown": "unknown",
    }  # fmt: skip
    return Theme(
        name="fuel",
        title="Standing fuel in spring",
        about="Dry load at the likely winter loss, in pounds an acre. Not a permission to ignite.",
        areas=tuple(_fuel_area(row) for row in fuel.to_dict("records")),
        key=tuple(
            (color, "unjudged" if carries == "unknown" else None, words[carries])
            for carries, color in palette.CARRIES_COLORS.items()
        ),
    )


def _fuel_area(row: Mapping[Any, Any]) -> FilledArea:
    carries = row["carries"]
    load = number_words(row["spring_load_lb_ac"], 0)
    return FilledArea(
        row["geometry"],
        palette.CARRIES_COLORS[carries],
        "unjudged" if carries == "unknown" else None,
        "" if load == NOTHING else load,
    )
