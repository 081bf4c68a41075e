"""Chart of a burn: how green each unit was in earlier years, before the burn and after it.

Burned units are thick, unburned ones thin, those left out dashed, so that nothing rests on color.
Names stand at the ends of the lines and are moved apart where they would run into each other.
"""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle, pairwise
from typing import Any

import numpy as np
import pandas as pd

from pipeline.pages import palette
from pipeline.pages.markup import Markup, isolated, tag
from pipeline.pages.words import date_words, number_words

WIDTH, LEFT, TOP, BOTTOM = 370.0, 34.0, 24.0, 36.0


PLOT_HEIGHT = 220.0


LINE_PX = 14.0
"""Height that a name takes."""


LETTER_PX = 6.8
"""Width of a letter; wide letters, as of Chinese, take twice that."""


LONGEST_NAME = 10
"""Letters of a name on a chart; a longer one is cut there and stands in full in the table."""


MOST_NAMED = 24
"""Lines that are named at their ends: the burned units first, then the others."""


@dataclass(frozen=True, slots=True)
class Line:
    """A unit on the chart: its name, what it stands for, and NDVI of each column, NaN for none.

    ``role`` is burned, reference or left_out.
    """

    name: str
    role: str
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Look:
    """How lines of a role are drawn: color, width, dash, radius and filling of their dots."""

    color: str
    width: float
    dash: str | None
    radius: float
    filled: bool


LOOKS = {
    "burned": Look(palette.BREAK_STROKES["prepare"].color, 2.8, None, 4.0, True),
    "reference": Look(palette.INK, 1.1, None, 2.4, True),
    "left_out": Look(palette.FAINT_INK, 1.1, "4 3", 2.6, False),
}


def shown_name(name: str) -> str:
    """A name as the chart has room for it."""
    return name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1] + "…"


def name_width(name: str) -> float:
    """Width of a name on a chart."""
    wide = sum(unicodedata.east_asian_width(letter) in "WF" for letter in name)
    return LETTER_PX * (len(name) + wide)


@dataclass(frozen=True, slots=True)
class SlopeAxes:
    """From columns and NDVI to places in the chart."""

    columns: int
    low: float
    high: float
    right: float
    height: float

    def x(self, column: int) -> float:
        """Place of a column: the last two, before and after, take at least half of the width."""
        last, width = self.columns - 1, WIDTH - LEFT - self.right - 30.0
        step = width / last if last <= 2 else 0.5 * width / (last - 1)
        left = LEFT + 20.0
        return left + width if column == last else left + step * column

    def y(self, value: float) -> float:
        """Place of an NDVI."""
        return TOP + self.height * (self.high - value) / (self.high - self.low)

    @property
    def foot(self) -> float:
        """Lower end of the plot."""
        return TOP + self.height


def slope_axes(lines: Sequence[Line]) -> SlopeAxes:
    """Axes around all readings, with a twentieth of their spread to spare, and room for names.

    The plot is as high as the names beside it.
    """
    values = np.array([line.values for line in lines], dtype=float)
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    spare = max(0.05 * (high - low), 0.01)
    right = 16.0 + max(name_width(shown_name(line.name)) for line in lines)
    height = max(PLOT_HEIGHT, LINE_PX * min(len(lines), MOST_NAMED))
    return SlopeAxes(values.shape[1], low - spare, high + spare, right, height)


def levels(low: float, high: float, most: int = 6) -> list[float]:
    """Round values between two, at most ``most``, for the lines of an axis."""
    steps = (base * 10.0**power for power in range(-3, 2) for base in (1, 2, 5))
    step = next(s for s in steps if (high - low) / s <= most)
    first, last = int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9))
    return [round(n * step, 4) for n in range(first, last + 1)]


def apart(places: Sequence[float], gap: float, top: float, foot: float) -> list[float]:
    """Places of labels moved apart so that none is nearer to another than ``gap``.

    Each stays in its order and as near to its own as the others let it: labels that meet become a
    group around the mean of their places. Where ``top`` to ``foot`` is too short it is exceeded
    downward.
    """
    order = sorted(range(len(places)), key=lambda n: places[n])
    groups: list[list[int]] = []
    starts: list[float] = []
    for number in order:
        group = [number]
        while True:
            middle = sum(places[n] for n in group) / len(group)
            length = gap * (len(group) - 1)
            start = max(top, min(middle - length / 2, foot - length))
            if not groups or starts[-1] + gap * len(groups[-1]) <= start:
                break
            group = groups.pop() + group
            starts.pop()
        groups.append(group)
        starts.append(start)
    moved = [0.0] * len(places)
    for group, start in zip(groups, starts, strict=True):
        for place, number in enumerate(group):
            moved[number] = start + gap * place
    return moved


def draw_slopes(
    lines: Sequence[Line],
    days: Sequence[Any],
    burns: Mapping[str, Any],
    *,
    key: str,
    title: str,
    words: str,
) -> Markup:
    """The chart. ``days`` are those of the columns, earlier years first, then before and after.

    ``burns`` are the days of burns between the two pictures. ``key`` makes its ids, ``title`` and
    ``words`` tell all of it to those who do not see it.
    """
    axes = slope_axes(lines)
    ordered = sorted(lines, key=lambda line: list(LOOKS).index(line.role), reverse=True)
    named = [line for line in reversed(ordered) if not np.isnan(line.values[-1])][:MOST_NAMED]
    burned = [line.name for line in lines if line.role == "burned"]
    shapes = dict(zip(burned, cycle(SHAPES), strict=False))
    labels = {"aria-labelledby": f"{key}-title", "aria-describedby": f"{key}-words"}
    box = f"0 0 {WIDTH:.0f} {axes.foot + BOTTOM:.0f}"
    return tag(
        "svg",
        tag("title", title, attributes={"id": f"{key}-title"}),
        tag("desc", words, attributes={"id": f"{key}-words"}),
        *_grid(axes),
        *_columns(axes, days),
        *_burn_lines(axes, days, burns),
        *(_line(line, axes, shapes.get(line.name, SHAPES[0])) for line in ordered),
        *_names(named, axes),
        attributes={"class": "chart slopes", "viewBox": box, "role": "img", **labels},
    )


def _path(data: str, color: str, width: float, dash: str | None = None) -> Markup:
    look = {"stroke": color, "stroke-width": width, "stroke-dasharray": dash, "fill": "none"}
    return tag("path", attributes={"d": data, **look})


def text(words: object, x: float, y: float, anchor: str = "middle", **more: object) -> Markup:
    """Words in a chart."""
    place = {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor, **more}
    return tag("text", words, attributes=place)


def _grid(axes: SlopeAxes) -> list[Markup]:
    """Lines of round NDVI with their figures."""
    marks = []
    for level in levels(axes.low, axes.high):
        y = axes.y(level)
        marks.append(_path(f"M{LEFT} {y:.1f}H{WIDTH - axes.right:.1f}", "#ddd4c0", 1))
        marks.append(text(number_words(level, 2), LEFT - 4, y + 4, "end"))
    return marks


def _columns(axes: SlopeAxes, days: Sequence[Any]) -> list[Markup]:
    """What each column is: the days before and after, and the years where they have room."""
    before, after = axes.columns - 2, axes.columns - 1
    marks, room = [], WIDTH
    for column in reversed(range(axes.columns)):
        x = axes.x(column)
        marks.append(_path(f"M{x:.1f} {TOP}V{axes.foot + 4:.1f}", "#ddd4c0", 1))
        words = date_words(days[column]) if column >= before else str(days[column].year)
        half = LETTER_PX * len(words) / 2
        if x + half <= room:
            marks.append(text(words, x, axes.foot + 30))
            room = x - half - 4
        if column >= before:
            marks.append(text("after" if column == after else "before", x, axes.foot + 17))
    return marks


def _burn_lines(axes: SlopeAxes, days: Sequence[Any], burns: Mapping[str, Any]) -> list[Markup]:
    """A dashed line for each day of a burn between the two pictures; the last one is named."""
    before, after = pd.Timestamp(days[-2]), pd.Timestamp(days[-1])
    near, far = axes.x(axes.columns - 2), axes.x(axes.columns - 1)
    places = [near + (far - near) * ((day - before) / (after - before)) for day in burns.values()]
    marks = [
        _path(f"M{x:.1f} {TOP - 6}V{axes.foot:.1f}", LOOKS["burned"].color, 1.4, "5 3")
        for x in sorted(set(places))
    ]
    return [*marks, text("burn", max(places), TOP - 10)] if places else []


SHAPES = ("circle", "square", "diamond", "triangle")
"""Shapes of the dots of burned units, one after the other, so that lines which cross are told."""


def _dot(shape: str, x: float, y: float, look: Look) -> Markup:
    """One reading."""
    r = look.radius
    drawn = {"stroke": look.color, "fill": look.color if look.filled else palette.PAPER}
    if shape == "circle":
        return tag("circle", attributes={"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": r, **drawn})
    outline = {
        "square": f"m{-r} {-r}h{2 * r}v{2 * r}h{-2 * r}z",
        "diamond": f"m0 {-1.5 * r}l{1.4 * r} {1.5 * r}l{-1.4 * r} {1.5 * r}l{-1.4 * r} {-1.5 * r}z",
        "triangle": f"m0 {-1.4 * r}l{1.4 * r} {2.4 * r}h{-2.8 * r}z",
    }[shape]
    place = {"data-x": f"{x:.1f}", "data-y": f"{y:.1f}"}
    return tag("path", attributes={"d": f"M{x:.1f} {y:.1f}{outline}", **drawn, **place})


def _line(line: Line, axes: SlopeAxes, shape: str) -> Markup:
    """Line of a unit with a dot for each reading; it is broken where a reading is missing."""
    look = LOOKS[line.role]
    places = [
        None if np.isnan(value) else (axes.x(column), axes.y(value))
        for column, value in enumerate(line.values)
    ]
    data = "".join(
        f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}" for a, b in pairwise(places) if a and b
    )
    drawn = [_path(data, look.color, look.width, look.dash)] if data else []
    dots = [_dot(shape, *place, look) for place in places if place]
    about = {"class": line.role, "data-line": isolated(line.name)}
    return tag("g", *drawn, *dots, attributes=about)


def _names(named: Sequence[Line], axes: SlopeAxes) -> list[Markup]:
    """Names at the ends of the lines, each led to its own where it was moved."""
    if not named:
        return []
    ends = [axes.y(line.values[-1]) for line in named]
    x, marks = axes.x(axes.columns - 1), []
    half = LINE_PX / 2
    for line, end, place in zip(
        named, ends, apart(ends, LINE_PX, TOP + half, axes.foot - half), strict=True
    ):
        look = LOOKS[line.role]
        lead = f"M{x + 5:.1f} {end:.1f}L{x + 13:.1f} {place:.1f}"
        marks.append(_path(lead, look.color, 0.7))
        weight = {"font-weight": 700, "class": "own"} if line.role == "burned" else {}
        name = isolated(shown_name(line.name))
        marks.append(text(name, x + 15, place + 4, "start", **weight))
    return marks
