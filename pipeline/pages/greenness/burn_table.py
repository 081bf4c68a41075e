"""The figures of a burn's charts as a table: the same, to three decimals, and they add up."""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from pipeline.core.layer import Column, Layer
from pipeline.core.table import Table
from pipeline.greenness.columns import UNIT_ID, index_value, words
from pipeline.pages.greenness.accounts import TABLE_PLACES, Account, printed
from pipeline.pages.greenness.slope_chart import Line
from pipeline.pages.markup import Markup
from pipeline.pages.report_tables import draw_table
from pipeline.pages.words import date_words

GROUND_WORDS = {"burned": "burned", "reference": "not burned", "left_out": "left out"}


CHANGES = (
    index_value("change", "Change from before to after.", "Change", signed=True),
    index_value("expected", "The part unburned ground leads to.", "Expected unburned", signed=True),
    index_value("left", "What is left of the change.", "Left", signed=True),
    index_value("low", "Lower end of the interval around it.", "from", signed=True),
    index_value("high", "Upper end of the interval around it.", "to", signed=True),
)


TOGETHER = "all together"


def draw_figures(
    name: str,
    days: Sequence[Any],
    lines: Sequence[Line],
    accounts: Mapping[str, Account],
    pooled: Account | None,
    settings: Mapping[str, str],
    units: Mapping[str, int],
) -> Markup:
    """The table: burned units, all of them together, then the units they are held against.

    ``units`` gives the number of each unit on the map.
    """
    readings = _reading_columns(days)
    rows = [_row(line, readings, accounts.get(line.name)) for line in _burned_first(lines)]
    if pooled is not None:
        count = sum(line.role == "burned" for line in lines)
        rows.insert(count, {"unit_id": TOGETHER, "ground": "burned", **_changes(pooled)})
    ground = words("ground", "What the unit stands for.", "Ground")
    columns = (UNIT_ID, ground, *readings, *CHANGES)
    layer = Layer("burn_figures", None, "Figures of the charts of a burn.", columns)
    confidence = settings["confidence_pct"].removesuffix(".0")
    about = (
        f"Before: {date_words(days[-2])}; after: {date_words(days[-1])}. Expected unburned: the "
        "change that unburned ground leads to from where the unit stood; it and what is left make "
        "the change as printed, and are the unit's as it burned, not of ground that burned whole. "
        f"From, to: the range made to hold {confidence} times in 100."
    )
    table = Table(layer, f"Figures of {name}", tuple(c.name for c in columns), about=about)
    return draw_table(table, pd.DataFrame(rows, columns=layer.column_names), units=units)


def _burned_first(lines: Sequence[Line]) -> list[Line]:
    """Burned units, then those held against, then those left out, each in their order."""
    return sorted(lines, key=lambda line: list(GROUND_WORDS).index(line.role))


def _reading_columns(days: Sequence[Any]) -> list[Column]:
    """A column for each earlier year, and those of the pictures before and after."""
    earlier = [index_value(f"ndvi_{d.year}", f"NDVI of {d.year}.", f"{d.year}") for d in days[:-2]]
    before = index_value("before", "NDVI before.", "Before")
    return [*earlier, before, index_value("after", "NDVI after.", "After")]


def _row(line: Line, readings: Sequence[Column], account: Account | None) -> dict[str, object]:
    """Row of a unit: its readings, its change, and what is left of that where it burned."""
    values = {column.name: v for column, v in zip(readings, line.values, strict=True)}
    own = {"change": line.values[-1] - line.values[-2]} if account is None else _changes(account)
    return {"unit_id": line.name, "ground": GROUND_WORDS[line.role], **values, **own}


def _changes(account: Account) -> dict[str, float | None]:
    """Figures of an account as printed."""
    told = printed(account, TABLE_PLACES)
    figures = (told.change, told.expected, told.left, told.low, told.high)
    return {
        column.name: None if figure is None else float(figure)
        for column, figure in zip(CHANGES, figures, strict=True)
    }
