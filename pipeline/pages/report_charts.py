"""Small charts of the greenness of each unit through the years, with what was done to it."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import date_words, number_words

WIDTH, HEIGHT = 340, 150


LEFT, RIGHT, TOP, BOTTOM = 30, 8, 20, 22


DAY = re.compile(r"\d{4}-\d\d-\d\d")


WORK = re.compile(r"(?P<kind>\w+) (?P<start>\d{4}-\d\d-\d\d)(?: to (?P<end>\d{4}-\d\d-\d\d))?")
"""One treatment in the list of them that the column treated_since_last holds."""


LABEL_WIDTH = 104
"""Room that the date of a burn takes; where two would meet, the earlier one goes without."""


JOINED_DAYS = 32
"""Readings farther apart than this are not joined: what lay between is not known."""


USABLE_PCT = 80.0
"""Readings with less than this share of usable pixels are drawn hollow."""


FEWEST_DATES = 3
"""Fewer pictures than this are no series; their readings stand in the table."""


TITLES = {
    "ndvi": "NDVI",
    "reflectance": "NDVI of reflectance",
    "series": "NDVI, means as told",
}
"""What the readings of a chart were read from."""


BURN_COLOR = palette.BREAK_STROKES["prepare"].color


@dataclass(frozen=True, slots=True)
class Axes:
    """From dates and index values to places in a chart."""

    first: pd.Timestamp
    days: int
    low: float
    high: float

    def x(self, when: Any) -> float:
        """Place of a date."""
        share = (pd.Timestamp(when) - self.first).days / self.days
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        """Place of an index value."""
        share = (value - self.low) / (self.high - self.low)
        return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)


def draw_series(
    scenes: pd.DataFrame, history: pd.DataFrame, names: Mapping[str, str]
) -> list[Markup]:
    """One chart for each unit and index: its readings before the range of all other units.

    What all charts of an index have alike is drawn once, with the first of them.
    """
    usable = scenes[scenes["mean"].notna()]
    burns = {
        unit: [pd.Timestamp(day) for day in DAY.findall(str(days))]
        for unit, days in zip(history["unit_id"], history["burn_dates"], strict=True)
    }
    figures = []
    for kind, of_kind in usable.groupby("kind", sort=True):
        if of_kind["date"].nunique() < FEWEST_DATES:
            continue
        shared = Shared(str(kind), _axes(of_kind))
        for unit, of_unit in of_kind.groupby("unit_id", sort=True):
            others = of_kind[of_kind["unit_id"] != unit].groupby("date")["mean"]
            spread = others.agg(["min", "max"]).reset_index()
            title = joined((given(names.get(str(unit), str(unit))), f", {TITLES[str(kind)]}"))
            readings = of_unit.sort_values("date")
            figures.append(_figure(title, readings, spread, burns.get(unit, []), shared))
    return figures


class Shared:
    """What charts of one index have alike: axes, and ranges of the other units.

    Each is defined where it is first asked for and used from there on.
    """

    def __init__(self, kind: str, axes: "Axes") -> None:
        self.axes = axes
        self._kind = kind
        self._names: dict[str, str] = {}

    def once(self, marks: list[Markup]) -> Markup:
        """Marks as a group; the same marks asked for again are those of the first time."""
        drawn = joined(marks)
        if drawn in self._names:
            return tag("use", attributes={"href": f"#{self._names[drawn]}"})
        name = self._names[drawn] = f"{self._kind}-{len(self._names)}"
        return tag("g", drawn, attributes={"id": name, "class": "chart"})


def _axes(scenes: pd.DataFrame) -> Axes:
    """Axes that all charts of an index share, so that they compare: whole years, 0 to 0.9."""
    years = scenes["date"].dt.year
    first = pd.Timestamp(int(years.min()), 1, 1)
    last = pd.Timestamp(int(years.max()) + 1, 1, 1)
    lowest, highest = float(scenes["mean"].min()), float(scenes["mean"].max())
    return Axes(first, (last - first).days, min(0.0, lowest), max(0.9, highest))


def _figure(
    title: Markup, readings: pd.DataFrame, spread: pd.DataFrame, burns: list[Any], shared: Shared
) -> Markup:
    """Chart of one unit with all of it in words, for those who do not see it."""
    axes = shared.axes
    end = axes.first + pd.Timedelta(days=axes.days)
    drawn = sorted(burn for burn in burns if axes.first <= burn < end)
    works = _works(readings)
    values = "; ".join(
        f"{date_words(day)} {number_words(mean, 2)}"
        for day, mean in zip(readings["date"], readings["mean"], strict=True)
    )
    words = [f"Readings: {values}.", *(f"Burned {date_words(burn)}." for burn in drawn)]
    words += [f"Other work: {'; '.join(works)}."] if works else []
    drawing = tag(
        "svg",
        tag("title", " ".join(words)),
        shared.once(_grid(axes)),
        shared.once(_ranges(spread, axes)) if len(spread) else "",
        *_foot(works, axes),
        *_burns(drawn, axes),
        *_readings(readings, axes),
        attributes={"class": "chart", "viewBox": f"0 0 {WIDTH} {HEIGHT}", "role": "img"},
    )
    return tag("figure", tag("figcaption", title), drawing)


def _stroke(data: str, color: str, width: float, dash: str | None = None) -> Markup:
    attributes = {
        "d": data,
        "stroke": color,
        "stroke-width": width,
        "fill": "none",
        "stroke-dasharray": dash,
    }
    return tag("path", attributes=attributes)


def _words(words: str, x: float, y: float, anchor: str = "middle") -> Markup:
    return tag("text", words, attributes={"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor})


def _grid(axes: Axes) -> list[Markup]:
    """Index lines each 0.3, and a tick with its number for each year."""
    levels = [level / 10 for level in range(-9, 10, 3) if axes.low <= level / 10 <= axes.high]
    marks = []
    for level in levels:
        y = axes.y(level)
        marks.append(_stroke(f"M{LEFT} {y:.1f}H{WIDTH - RIGHT}", "#ddd4c0", 1))
        marks.append(_words(f"{level:.1f}".replace("-", "−"), LEFT - 5, y + 4, "end"))
    last = (axes.first + pd.Timedelta(days=axes.days)).year
    many = max(1, (last - axes.first.year) // 6)
    for year in range(axes.first.year, last):
        x, next_x = axes.x(date(year, 1, 1)), axes.x(date(year + 1, 1, 1))
        marks.append(_stroke(f"M{x:.1f} {HEIGHT - BOTTOM}v5", palette.FAINT_INK, 1))
        if (year - axes.first.year) % many == 0:
            marks.append(_words(str(year), (x + next_x) / 2, HEIGHT - 6))
    return marks


def _ranges(spread: pd.DataFrame, axes: Axes) -> list[Markup]:
    """The range of the other units on each day, as a broad bar."""
    data = "".join(
        f"M{axes.x(row['date']):.1f} {axes.y(row['min']):.1f}V{axes.y(row['max']) - 0.5:.1f}"
        for row in spread.to_dict("records")
    )
    return [_stroke(data, "#c9c2b2", 7)] * bool(data)


def _works(readings: pd.DataFrame) -> dict[str, tuple[pd.Timestamp, pd.Timestamp]]:
    """Treatments other than burns since a year before the first reading: words, first, last day."""
    found = {}
    for listed in readings["treated_since_last"].dropna():
        for work in WORK.finditer(listed):
            if work["kind"] != "burn":
                start, end = work["start"], work["end"] or work["start"]
                found[work.group()] = (pd.Timestamp(start), pd.Timestamp(end))
    return found


def _foot(works: Mapping[str, tuple[pd.Timestamp, pd.Timestamp]], axes: Axes) -> list[Markup]:
    """A thick line along the foot for each treatment, as long as it lasted."""
    end = axes.first + pd.Timedelta(days=axes.days)
    spans = [(max(a, axes.first), min(b, end)) for a, b in works.values()]
    data = "".join(
        f"M{axes.x(a) - 1:.1f} {HEIGHT - BOTTOM - 3}H{axes.x(b) + 1:.1f}"
        for a, b in spans
        if a <= b
    )
    return [_stroke(data, palette.FAINT_INK, 4)] * bool(data)


def _burns(burns: list[Any], axes: Axes) -> list[Markup]:
    """A dashed line for each burn; dates only where they do not run into each other."""
    marks, room = [], math.inf
    for burn in reversed(burns):
        x = axes.x(burn)
        marks.append(_stroke(f"M{x:.1f} {TOP - 14}V{HEIGHT - BOTTOM}", BURN_COLOR, 1.6, "5 3"))
        starts = x < WIDTH * 0.6
        left = x if starts else x - LABEL_WIDTH
        if left + LABEL_WIDTH <= room:
            anchor, shift = ("start", 4) if starts else ("end", -4)
            marks.append(_words(f"burned {date_words(burn)}", x + shift, TOP - 6, anchor))
            room = left
    return marks


def _readings(readings: pd.DataFrame, axes: Axes) -> list[Markup]:
    """Dots, joined only where readings are close in time; hollow ones have few usable pixels."""
    days = list(readings["date"])
    places = [(axes.x(d), axes.y(m)) for d, m in zip(days, readings["mean"], strict=True)]
    close = [(later - day).days <= JOINED_DAYS for day, later in pairwise(days)]
    line = "".join(
        f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"
        for ((x1, y1), (x2, y2)), near in zip(pairwise(places), close, strict=True)
        if near
    )
    few = [share < USABLE_PCT for share in readings["valid_pct"]]
    hollow = [place for place, unsure in zip(places, few, strict=True) if unsure]
    return [
        *([_stroke(line, palette.INK, 1.4)] if line else []),
        *_dots(places, palette.INK, DOT),
        *_dots(hollow, palette.PAPER, DOT - 3),
    ]


DOT = 8.2
"""Width of a dot; a hollow one has another on it in the color of the paper."""


def _dots(places: list[tuple[float, float]], color: str, width: float) -> list[Markup]:
    """Dots as round ends of lines all but without length, which take few letters each."""
    if not places:
        return []
    data = "".join(f"M{x:.1f} {y:.1f}h.01" for x, y in places)
    look = {"stroke": color, "stroke-width": width, "stroke-linecap": "round", "fill": "none"}
    return [tag("path", attributes={"d": data, **look})]
