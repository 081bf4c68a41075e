"""A declared table as the report draws it: headings with their units, cells, sums, sentences."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.layer import Column
from pipeline.core.table import Table
from pipeline.pages.markup import Markup, escaped, given, joined, tag
from pipeline.pages.words import bare_heading, cell_words, plain

STYLE_BY_KIND = {"text": "t", "date": "d", "flag": "d", "number": "n", "integer": "n"}
"""Style of a column: text, a word that stays on its line, or a number."""


MOST_COLUMNS = 30
"""Columns of a table that can be told how to stand; none has as many."""


STANDS = {
    "t": "min-width:var(--least,10ch);max-width:34ch;overflow-wrap:break-word",
    "d": "white-space:nowrap",
    "n": "text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums",
    "s": 'font-family:ui-monospace,Consolas,"DejaVu Sans Mono",monospace;font-size:.76rem;'
    "overflow-wrap:anywhere;max-width:34ch;min-width:22ch",
}
"""How the cells of a column stand, by its style; the table names the style of each column."""


def column_looks() -> str:
    """Style sheet of the columns: a class of a table tells how one of its columns stands."""
    lines = []
    for style, look in STANDS.items():
        cells = (f".{style}{n} tr>:nth-child({n})" for n in range(2, MOST_COLUMNS + 1))
        lines.append(f"{','.join(cells)}{{{look}}}\n")
    return "".join(lines)


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
        tag("thead", tag("tr", *map(_heading, columns))),
        tag("tbody", *body),
        _totals(rows, table, columns),
        attributes={"class": " ".join(_style(c) + str(n) for n, c in enumerate(columns, 1))},
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
    return "s" if column.name in LONG_CODES else STYLE_BY_KIND[column.kind]


def _heading(column: Column) -> Markup:
    unit = tag("small", column.symbol) if column.symbol else ""
    return tag("th", bare_heading(column), unit, attributes={"scope": "col"})


def _row(row: Mapping[Any, Any], columns: list[Column], units: Mapping[str, int]) -> Markup:
    cells = []
    for place, column in enumerate(columns):
        cell = escaped(cell_words(row[column.name], column))
        if column.name == "unit_id" and row["unit_id"] in units:
            number = units[row["unit_id"]]
            leads = {"type": "button", "class": "find", "data-find": number}
            cell = tag("button", cell, attributes=leads)
        cells.append(tag("td", cell) if place else tag("th", cell, attributes={"scope": "row"}))
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
        cells.append(tag("td", words))
    return tag("tfoot", tag("tr", *cells))
