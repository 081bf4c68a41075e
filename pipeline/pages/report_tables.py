"""Tables of the report: which columns of a layer people read, under which heading, how rounded."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.table import Table
from pipeline.pages.markup import Markup, escaped, given, joined, tag
from pipeline.pages.words import (
    cell_words,
    date_words,
    flag_words,
    number_words,
    signed_words,
    text_words,
)

MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shown:
    """A column as shown. ``total`` adds it up in the last row."""

    column: str
    heading: str
    words: Callable[[Any], str]
    unit: str = ""
    kind: str = "n"
    total: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as shown: the layer, its caption, its columns; the first one names the row."""

    layer: str
    caption: str
    columns: tuple[Shown, ...]
    about: str = ""


def number(
    column: str, heading: str, unit: str = "", places: int = 0, *, total: bool = False
) -> Shown:
    """A column of numbers, right-aligned."""
    return Shown(column, heading, lambda value: number_words(value, places), unit, "n", total)


def year(column: str, heading: str) -> Shown:
    """A column of years, which have no thousands to set apart."""
    return Shown(column, heading, lambda value: number_words(value, 0).replace(",", ""))


def signed(column: str, heading: str, unit: str = "", places: int = 3) -> Shown:
    """A column of changes, each with its sign."""
    return Shown(column, heading, lambda value: signed_words(value, places), unit)


def text(column: str, heading: str) -> Shown:
    """A column of words."""
    return Shown(column, heading, text_words, kind="t")


def long(column: str, heading: str) -> Shown:
    """A column of sentences: they stand under the row, where they have room."""
    return Shown(column, heading, text_words, kind="long")


def day(column: str, heading: str) -> Shown:
    """A column of dates."""
    return Shown(column, heading, date_words, kind="d")


def flag(column: str, heading: str) -> Shown:
    """A column of yes and no."""
    return Shown(column, heading, flag_words, kind="d")


def draw_table(
    sheet: Sheet | Table, rows: pd.DataFrame, *, units: Mapping[str, int] | None = None
) -> Markup:
    """One table, nothing where there are no rows.

    ``units`` gives the number of each unit on the map, so that its name can lead there.
    """
    if not len(rows):
        return Markup("")
    sheet = sheet_of(sheet) if isinstance(sheet, Table) else sheet
    columns = [c for c in sheet.columns if rows[c.column].notna().any() or c is sheet.columns[0]]
    cells = [c for c in columns if c.kind != "long"]
    sentences = [c for c in columns if c.kind == "long"]
    head = tag("thead", tag("tr", *(_heading(c) for c in cells)))
    body = [
        joined((_row(row, cells, units or {}), _sentences(row, sentences, len(cells))))
        for row in rows.to_dict("records")
    ]
    table = tag(
        "table", tag("caption", sheet.caption), head, tag("tbody", *body), _totals(rows, cells)
    )
    told = {
        "class": "wide",
        "role": "region",
        "tabindex": 0,
        "aria-label": f"Table: {sheet.caption}",
    }
    about = tag("p", sheet.about, attributes={"class": "about"}) if sheet.about else ""
    return joined((tag("div", table, attributes=told), about))


def _heading(column: Shown) -> Markup:
    unit = tag("small", column.unit) if column.unit else ""
    told = {"scope": "col", "class": column.kind}
    return tag("th", column.heading, unit, attributes=told)


def _row(row: Mapping[Any, Any], shown: list[Shown], units: Mapping[str, int]) -> Markup:
    cells = []
    for place, column in enumerate(shown):
        words = column.words(row[column.column])
        cell: Markup = given(words) if column.kind in ("t", "sha") else escaped(words)
        if column.column == "unit_id" and row[column.column] in units:
            told: dict[str, object] = {
                "type": "button", "class": "find", "data-find": units[row[column.column]],
            }  # fmt: skip
            cell = tag("button", cell, attributes=told)
        if place == 0:
            cells.append(tag("th", cell, attributes={"scope": "row"}))
        else:
            cells.append(tag("td", cell, attributes={"class": column.kind}))
    return tag("tr", *cells)


def _sentences(row: Mapping[Any, Any], shown: list[Shown], columns: int) -> Markup:
    """A second row with what takes sentences to say; nothing where nothing is said."""
    told = [
        tag("p", tag("b", f"{column.heading}: "), given(column.words(row[column.column])))
        for column in shown
        if pd.notna(row[column.column])
    ]
    if not told:
        return Markup("")
    cell = tag("td", tag("div", *told), attributes={"colspan": columns})
    return tag("tr", cell, attributes={"class": "under"})


def _totals(rows: pd.DataFrame, shown: list[Shown]) -> Markup:
    """Last row with the sums, where a column asks for one and there is something to add."""
    if len(rows) < 2 or not any(c.total for c in shown):
        return Markup("")
    cells = [tag("th", "Sum", attributes={"scope": "row"})]
    for column in shown[1:]:
        words = column.words(rows[column.column].sum()) if column.total else ""
        cells.append(tag("td", words, attributes={"class": column.kind}))
    return tag("tfoot", tag("tr", *cells))


def shown(column: Column) -> Shown:
    """A declared column as this page shows it."""
    kind = {"text": "t", "date": "d", "flag": "d"}.get(column.kind, "n")
    return Shown(
        column.name, column.heading, partial(cell_words, column=column), column.symbol, kind
    )


def sheet_of(table: Table) -> Sheet:
    """A declared table as this page draws it."""
    columns = [replace(shown(c), total=c.name in table.totals) for c in table.declared]
    below = [replace(shown(table.layer.column(name)), kind="long") for name in table.below]
    made = [long(name, heading) for name, heading in table.sentences]
    return Sheet(table.layer.name, table.title, (*columns, *made, *below), table.about)
