"""The charts of a burn with their captions, keys and notes, and all of each in words."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.names import listed
from pipeline.pages import palette
from pipeline.pages.greenness.burn_lines import used_though_unlike
from pipeline.pages.greenness.interval_chart import Left, draw_left
from pipeline.pages.greenness.slope_chart import LOOKS, MOST_NAMED, Line, draw_slopes
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import date_words, number_words


def slopes_figure(
    key: str, name: str, days: Sequence[Any], lines: Sequence[Line], burns: Mapping[str, Any]
) -> Markup:
    """Chart of the readings with its key; nothing where no unit has a reading."""
    if not lines:
        return Markup("")
    title, words = f"Greenness of each unit before and after: {name}", _line_words(lines, days)
    drawn = draw_slopes(lines, days, burns, key=key, title=title, words=words)
    return tag("figure", tag("figcaption", "How green each unit was, NDVI"), _key(lines), drawn)


def chart_notes(rows: pd.DataFrame, lines: Sequence[Line], left_out: Mapping[str, str]) -> Markup:
    """What the chart cannot say: lines without a name, and which references are not alike."""
    unnamed = len(lines) - MOST_NAMED
    used = used_though_unlike(rows)
    told = [
        *([f"{unnamed} more lines have no name here; the table names all."] * (unnamed > 0)),
        *([f"{USED_THOUGH_UNLIKE}: {listed(used)}."] * bool(used)),
        *(["Left out, dashed:"] * bool(left_out)),
    ]
    reasons = [tag("li", given(unit), f": {why}") for unit, why in left_out.items()]
    about = {"class": "about"}
    drawn = [tag("p", given(words), attributes=about) for words in told]
    return joined([*drawn, tag("ul", *reasons, attributes=about)] if reasons else drawn)


USED_THOUGH_UNLIKE = "Used, though handled or grown otherwise, since too few others are left"


def left_figure(key: str, name: str, rows: Sequence[Left]) -> Markup:
    """Chart of what is left, with its key; nothing where no unit has a figure."""
    if all(np.isnan(row.left) for row in rows):
        return Markup("")
    title = f"What is left beyond unburned ground: {name}"
    drawn = draw_left(rows, key=key, title=title, words=_left_words(rows))
    key_words = LEFT_KEY + SQUARE_KEY * any(row.pooled for row in rows)
    caption = tag("figcaption", "What is left for the fire, beyond unburned ground, NDVI")
    return joined(
        (tag("figure", caption, drawn), tag("p", key_words, attributes={"class": "about"}))
    )


LEFT_KEY = "Line: the range it may lie in. Full dot and line: clear. Hollow and dashed: in doubt."


SQUARE_KEY = " Square: all burned units together."


KEY_WORDS = {"burned": "burned", "reference": "not burned", "left_out": "not burned, left out"}


def _key(lines: Sequence[Line]) -> Markup:
    """A sample of each kind of line that is on the chart."""
    items = []
    for role in (role for role in LOOKS if any(line.role == role for line in lines)):
        look = LOOKS[role]
        stroke = {"stroke": look.color, "stroke-width": look.width, "stroke-dasharray": look.dash}
        dot = {"cx": 20, "cy": 7, "r": look.radius, "stroke": look.color}
        fill = look.color if look.filled else palette.PAPER
        box = {"width": 40, "height": 14, "viewBox": "0 0 40 14", "aria-hidden": "true"}
        sample = tag(
            "svg",
            tag("path", attributes={"d": "M0 7H40", **stroke}),
            tag("circle", attributes={**dot, "fill": fill}),
            attributes=box,
        )
        items.append(tag("li", sample, KEY_WORDS[role]))
    return tag("ul", *items, attributes={"class": "linekey"})


def _line_words(lines: Sequence[Line], days: Sequence[Any]) -> str:
    """All readings of the chart in words."""
    told = []
    for line in lines:
        values = ", ".join(
            f"{date_words(day)} {number_words(value, 3)}"
            for day, value in zip(days, line.values, strict=True)
            if not np.isnan(value)
        )
        told.append(f"{line.name} ({KEY_WORDS[line.role]}): {values}.")
    return " ".join(told)


def _left_words(rows: Sequence[Left]) -> str:
    """All figures of the chart of what is left in words."""
    told = []
    for row in rows:
        figure, low, high = (number_words(v, 3, signed=True) for v in (row.left, row.low, row.high))
        interval = "" if np.isnan(row.low) else f", from {low} to {high}"
        told.append(f"{row.name}: {'no figure' if np.isnan(row.left) else figure}{interval}.")
    return " ".join(told)
