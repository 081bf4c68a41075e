"""The seed order as files: a CSV for programs and a workbook for the grower and the dealer."""

import csv
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_range, xl_rowcol_to_cell
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from pipeline.catalog import LAYERS
from pipeline.core.layer import Column
from pipeline.core.layers import FINDINGS
from pipeline.core.run import Run
from pipeline.core.table import Table
from pipeline.core.units import half_up
from pipeline.pages.words import cell_words, heading_words
from pipeline.seed.sheets import (
    AREAS_TABLE,
    BAGS_TABLE,
    BOXES_TABLE,
    HARVEST_TABLE,
    NEEDS_TABLE,
    ORDER_TABLE,
    RATES_TABLE,
    USE_TABLE,
)

FINDINGS_TABLE = Table(
    FINDINGS,
    "Look at",
    ("severity", "subject"),
    below=("message",),
    about="What to look at before ordering and sowing.",
)


SHEETS: dict[str, Table] = {
    "Order": ORDER_TABLE,
    "By species": NEEDS_TABLE,
    "Areas": AREAS_TABLE,
    "Rates": RATES_TABLE,
    "Boxes": BOXES_TABLE,
    "Lots to areas": USE_TABLE,
    "Bags": BAGS_TABLE,
    "Own harvest": HARVEST_TABLE,
    "Look at": FINDINGS_TABLE,
}
"""Sheets of the workbook by the words on their tabs; one without rows is left out."""


SEED_SOURCES = (
    "harvests",
    "mixes",
    "seed_bags",
    "seed_boxes",
    "seed_lots",
    "seed_order",
    "seed_use",
    "seedings",
    "species",
)
"""Sources whose findings stand in the workbook."""


FILLED_IN = "price_usd_per_pls_lb"
"""Column of the order that a person may change: it is shaded."""


SHADED = "Shaded prices may be changed; costs and totals follow."
"""Note on the sheet of the order, where a price is filled in."""


PRODUCTS = {"cost_usd": ("pls_to_order_lb", FILLED_IN)}
"""Columns of the order that are a formula, so that a changed price changes the sheet."""


CSV_PLACES = {"pound": 4}
"""Decimal places in the CSV by unit, 2 for others; a pack of an ounce needs four."""


FORMULA_START = re.compile(r"^\s*[=+\-@\t\r]")


def plain_text(value: object) -> str:
    """Text that a spreadsheet will not take for a formula: a leading mark is put before it."""
    text = "" if value is None or value != value else str(value)
    return f"'{text}" if FORMULA_START.match(text) else text


def write_seed_order_csv(run: Run, path: Path) -> None:
    """Write ``seed_order.csv``: the table ``seed_order``, rounded half up, unknown cells empty."""
    frame = run.frames["seed_order"]
    columns = LAYERS["seed_order"].columns
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow([column.name for column in columns])
        for row in frame.to_dict("records"):
            writer.writerow([_csv_cell(row[column.name], column) for column in columns])


def _csv_cell(value: Any, column: Column) -> str:
    """One cell as text: dates as ISO, numbers rounded once."""
    if pd.isna(value):
        return ""
    if column.kind == "date":
        return value.date().isoformat()
    if column.kind == "number":
        rounded = half_up(value, CSV_PLACES.get(column.unit or "", 2))
        return f"{rounded if rounded else abs(rounded):f}"
    return plain_text(value)


PAPER_NUMBERS = {"letter": 1, "a4": 9}


TITLE_ROW, NOTE_ROW, HEAD_ROW = 0, 1, 3


HEAD_HEIGHT, LINE_HEIGHT = 60, 15


NUMBER_WIDTH, WIDEST_TEXT = 11, 26


LEAST_WRAPPED, SHEET_WIDTH = 46, 130
"""Widths [characters] of the narrowest column of sentences, and of a sheet that has one."""


@dataclass(frozen=True, slots=True)
class Cells:
    """A declared table with its rows: what one sheet shows. Sentences stand in the last columns."""

    name: str
    table: Table
    rows: list[dict[Any, Any]]

    @property
    def columns(self) -> list[Column]:
        """Columns in the order in which they stand."""
        return [*self.table.declared, *self._sentences]

    @property
    def _sentences(self) -> list[Column]:
        return [self.table.layer.column(name) for name in self.table.below]

    @property
    def widths(self) -> list[float]:
        """Width of each column [characters]."""
        widths: list[float] = [self._plain_width(column) for column in self.table.declared]
        wrapped = max(LEAST_WRAPPED, SHEET_WIDTH - sum(widths))
        return widths + [wrapped] * len(self.table.below)

    def _plain_width(self, column: Column) -> float:
        if column.kind != "text":
            return NUMBER_WIDTH
        longest = max(len(str(row[column.name] or "")) for row in self.rows)
        return min(max(8, longest + 2), WIDEST_TEXT)

    def lines(self, row: dict[Any, Any]) -> int:
        """Lines that the sentences of a row take: not every program fits its height by itself."""
        width = self.widths[-1]
        texts = [str(row[name] or "") for name in self.table.below]
        return max((math.ceil(1.1 * len(text) / width) for text in texts), default=1)


def write_seed_order_xlsx(run: Run, path: Path) -> None:
    """Write ``seed_order.xlsx``: the order with prices to fill in, and what stands behind it.

    What a person will change is a formula (price times pounds, totals), with its value stored for
    programs that do not compute; acres and pounds are plain values.
    """
    options = {f"strings_to_{kind}": False for kind in ("formulas", "urls", "numbers")}
    title = f"{run.name}, season {run.season}"
    with Workbook(str(path), options) as book:
        created = datetime.fromisoformat(run.stamp).replace(tzinfo=None)
        book.set_properties({"title": f"Seed order: {title}", "created": created})
        formats = Formats(book)
        for cells in _sheets(run):
            page = book.add_worksheet(cells.name)
            _set_up(page, cells, run)
            _head(page, cells, formats, title)
            _fill(page, cells, formats)
            _add_up(page, cells, formats)


def _sheets(run: Run) -> Iterator[Cells]:
    """Sheets that have rows, their cells as plain values and None where one is empty."""
    for name, table in SHEETS.items():
        frame = run.frames[table.layer.name]
        if table is FINDINGS_TABLE:
            frame = frame[frame["source"].isin(SEED_SOURCES)]
        plain = frame[[*table.columns, *table.below]].astype(object)
        rows = plain.where(plain.notna(), None).to_dict("records")
        if rows:
            yield Cells(name, table, rows)


class Formats:
    """Cell formats of a workbook, each made once."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, object], ...], Format] = {}

    def of(self, **properties: object) -> Format:
        """The format with these properties."""
        key = tuple(sorted(properties.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format(dict(properties))
        return self._made[key]

    def cell(self, column: Column, *, sentences: bool = False, total: bool = False) -> Format:
        """Format of a column's cells; prices are shaded and unlocked, totals bold."""
        properties: dict[str, object] = {"num_format": _number_format(column), "valign": "top"}
        if column.name == FILLED_IN and not total:
            properties |= {"bg_color": "#FFF4CC", "locked": False}
        if sentences:
            properties["text_wrap"] = True
        if total:
            properties |= {"bold": True, "top": 1}
        return self.of(**properties)


def _number_format(column: Column) -> str:
    """How a program shows a column's cells: rounded as it is declared."""
    if column.kind == "date":
        return "yyyy-mm-dd  "
    if column.kind in ("text", "flag"):
        return "@"
    return f"#,##0.{'0' * column.places}" if column.places else "#,##0"


def _set_up(page: Worksheet, cells: Cells, run: Run) -> None:
    """Paper, margins, frozen header, widths and heights, footer with page and stamp."""
    page.set_landscape()
    page.set_paper(PAPER_NUMBERS[run.paper])
    page.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
    page.fit_to_pages(1, 0)
    page.repeat_rows(HEAD_ROW)
    page.set_row(HEAD_ROW, HEAD_HEIGHT)
    page.freeze_panes(HEAD_ROW + 1, 1)
    page.set_footer(f"&L{cells.name}&CPage &P of &N&RSources of {run.stamp[:10]}")
    for number, width in enumerate(cells.widths):
        page.set_column(number, number, width)
    for line, row in enumerate(cells.rows, HEAD_ROW + 1):
        if (lines := cells.lines(row)) > 1:
            page.set_row(line, LINE_HEIGHT * lines)


def _head(page: Worksheet, cells: Cells, formats: Formats, title: str) -> None:
    """Title, note and headings."""
    head = formats.of(bold=True, text_wrap=True, valign="bottom", bottom=1)
    titled = formats.of(bold=True, font_size=14)
    page.write_string(TITLE_ROW, 0, f"{cells.table.title}: {title}", titled)
    note = f"{SHADED} {cells.table.about}" if cells.table is ORDER_TABLE else cells.table.about
    page.write_string(NOTE_ROW, 0, note, formats.of(italic=True))
    for number, column in enumerate(cells.columns):
        page.write_string(HEAD_ROW, number, heading_words(column), head)


def _fill(page: Worksheet, cells: Cells, formats: Formats) -> None:
    """Cells of the rows, a filter over them."""
    for number, column in enumerate(cells.columns):
        style = formats.cell(column, sentences=column.name in cells.table.below)
        for line, row in enumerate(cells.rows, HEAD_ROW + 1):
            value = row[column.name]
            if column.name in PRODUCTS:
                known = all(row[factor] is not None for factor in PRODUCTS[column.name])
                formula = _product(cells, column, line)
                page.write_formula(line, number, formula, style, value if known else "")
            elif value is None:
                page.write_blank(line, number, None, style)
            elif column.kind == "date":
                page.write_datetime(line, number, value.to_pydatetime(), style)
            elif column.kind in ("number", "integer"):
                page.write_number(line, number, float(value), style)
            else:
                page.write_string(line, number, cell_words(value, column), style)
    page.autofilter(HEAD_ROW, 0, HEAD_ROW + len(cells.rows), len(cells.columns) - 1)


def _product(cells: Cells, column: Column, line: int) -> str:
    """Formula of two cells of the same row; empty while one of them is."""
    names = [column.name for column in cells.columns]
    first, second = (xl_rowcol_to_cell(line, names.index(n)) for n in PRODUCTS[column.name])
    return f'=IF(COUNT({first},{second})=2,{first}*{second},"")'


def _add_up(page: Worksheet, cells: Cells, formats: Formats) -> None:
    """Totals below the rows, as formulas with their value; they say when a row is left out."""
    totals = cells.table.totals
    if not totals:
        return
    last = HEAD_ROW + len(cells.rows)
    unknown = any(row[name] is None for row in cells.rows for name in totals)
    label = "Total of what is known" if unknown else "Total"
    for number, column in enumerate(cells.columns):
        style = formats.cell(column, total=True)
        if column.name in totals:
            formula = f"=SUM({xl_range(HEAD_ROW + 1, number, last, number)})"
            value = sum(row[column.name] or 0.0 for row in cells.rows)
            page.write_formula(last + 1, number, formula, style, value)
        elif number == 0:
            page.write_string(last + 1, number, label, style)
        else:
            page.write_blank(last + 1, number, None, style)
