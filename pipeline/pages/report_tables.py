"""A declared table as the report draws it: headings with their units, cells, sums, sentences."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.table import Table
from pipeline.pages.markup import Markup, escaped, given, joined, tag
from pipeline.pages.words import bare_heading, cell_words, plain

STYLE_BY_KIND = {"text": "t", "date": "d", "flag": "d", "number": "n", "integer": "n"}
"""Class of the cells of a column: text, a word that stays on its line, or a number."""


LONG_CODES = ("sha256",)
"""Columns of checksums, which are broken anywhere."""


def draw_table(
    table: Table, rows: pd.DataFrame, *, units: Mapping[str, int] | None = None
) -> Markup:
    """One table, nothing where there are no rows. Columns without any value are left out.

    ``units`` gives the number of each unit on the map, so that its name can lead there.
    """
    if not len(rows):
        return Markup("")
    columns = drawn_columns(table, rows)
    body = [
        joined((_row(row, columns, units or {}), _sentences(row, table, len(columns))))
        for row in rows.to_dict("records")
    ]
    drawn = tag(
        "table",
        tag("caption", tag("span", table.title)),
        tag("thead", tag("tr", *map(_heading, columns, ("t", *map(_style, columns[1:]))))),
        tag("tbody", *body),
        _totals(rows, table, columns),
    )
    region = {
        "class": "wide",
        "role": "region",
        "tabindex": 0,
        "aria-label": f"Table: {table.title}",
    }
    about = tag("p", table.about, attributes={"class": "about"}) if table.about else ""
    return joined((tag("div", drawn, attributes=region), about))


def drawn_columns(table: Table, rows: pd.DataFrame) -> list[Column]:
    """Columns of a table that have a value in some row, and the first one, which names the row."""
    first, *others = table.declared
    return [first, *(column for column in others if rows[column.name].notna().any())]


def _style(column: Column) -> str:
    return "sha" if column.name in LONG_CODES else STYLE_BY_KIND[column.kind]


def _heading(column: Column, style: str) -> Markup:
    unit = tag("small", column.symbol) if column.symbol else ""
    return tag("th", bare_heading(column), unit, attributes={"scope": "col", "class": style})


def _row(row: Mapping[Any, Any], columns: list[Column], units: Mapping[str, int]) -> Markup:
    cells = []
    for place, column in enumerate(columns):
        words = cell_words(row[column.name], column)
        cell = given(words) if column.kind == "text" else escaped(words)
        if column.name == "unit_id" and row["unit_id"] in units:
            number = units[row["unit_id"]]
            leads = {"type": "button", "class": "find", "data-find": number}
            cell = tag("button", cell, attributes=leads)
        if place == 0:
            cells.append(tag("th", cell, attributes={"scope": "row"}))
        else:
            cells.append(tag("td", cell, attributes={"class": _style(column)}))
    return tag("tr", *cells)


def _sentences(row: Mapping[Any, Any], table: Table, columns: int) -> Markup:
    """A second row with what takes sentences to say; nothing where nothing is said."""
    said = [(heading, plain(row[name])) for name, heading in table.sentences if pd.notna(row[name])]
    said += [
        (bare_heading(column), cell_words(row[column.name], column))
        for column in map(table.layer.column, table.below)
        if pd.notna(row[column.name])
    ]
    if not said:
        return Markup("")
    lines = [tag("p", tag("b", f"{heading}: "), given(words)) for heading, words in said]
    cell = tag("td", tag("div", *lines), attributes={"colspan": columns})
    return tag("tr", cell, attributes={"class": "under"})


def _totals(rows: pd.DataFrame, table: Table, columns: list[Column]) -> Markup:
    """Last row with the sums of unrounded figures, where there is something to add.

    It says so where an unknown figure is not in them.
    """
    if len(rows) < 2 or not any(column.name in table.totals for column in columns):
        return Markup("")
    unknown = rows[[c.name for c in columns if c.name in table.totals]].isna().to_numpy().any()
    words = "Sum of what is known" if unknown else "Sum"
    cells = [tag("th", words, attributes={"scope": "row"})]
    for column in columns[1:]:
        summed = column.name in table.totals
        words = cell_words(rows[column.name].sum(), column) if summed else ""
        cells.append(tag("td", words, attributes={"class": _style(column)}))
    return tag("tfoot", tag("tr", *cells))
