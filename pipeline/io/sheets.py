"""The seed order as files: a CSV for programs and a workbook for the grower and the dealer."""

import csv
import math
import re
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from pipeline.io.seed_sheets import SEED_SHEETS, Sheet, SheetColumn
from pipeline.layers import LAYERS
from pipeline.units import half_up

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from pipeline.outputs import Run

PLACES_BY_UNIT = {"pct": 2, "usd": 2, "lb": 4}
"""Decimal places in the CSV by the last part of a column's name; a pack of an ounce needs four."""

FORMULA_START = re.compile(r"^\s*[=+\-@\t\r]")


def plain_text(value: object) -> str:
    """Text that a spreadsheet will not take for a formula: a leading mark is put before it."""
    text = "" if value is None or value != value else str(value)
    return f"'{text}" if FORMULA_START.match(text) else text


def write_seed_order_csv(run: "Run", path: Path) -> None:
    """Write ``seed_order.csv``: the table ``seed_order``, rounded half up, unknown cells empty."""
    frame = run.frames["seed_order"]
    columns = LAYERS["seed_order"].columns
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, lineterminator="\r\n")
        writer.writerow([column.name for column in columns])
        for row in frame.to_dict("records"):
            writer.writerow([_csv_cell(row[c.name], c.kind, c.name) for c in columns])


def _csv_cell(value: Any, kind: str, name: str) -> str:
    """One cell as text: dates as ISO, numbers rounded once."""
    if pd.isna(value):
        return ""
    if kind == "date":
        return value.date().isoformat()
    if kind == "number":
        return f"{half_up(value, PLACES_BY_UNIT[name.split('_')[-1]]):f}"
    return plain_text(value)


NUMBER_FORMATS = {
    "pounds": "#,##0.00",
    "fine": "#,##0.000",
    "acres": "#,##0.0",
    "percent": '0.00"%"',
    "factor": "0.00",
    "count": "0",
    "money": "#,##0.00",
    "price": "#,##0.00",
    "date": "yyyy-mm-dd  ",
    "text": "@",
    "wrapped": "@",
    "flag": "@",
}
PAPER_NUMBERS = {"letter": 1, "a4": 9}
TITLE_ROW, NOTE_ROW, HEAD_ROW = 0, 1, 3
HEAD_HEIGHT, LINE_HEIGHT = 45, 15


def write_seed_order_xlsx(run: "Run", path: Path) -> None:
    """Write ``seed_order.xlsx``: the order with prices to fill in, and what stands behind it.

    What a person will change is a formula (price times pounds, totals), with its value stored for
    programs that do not compute; acres and pounds are plain values.
    """
    import xlsxwriter

    options = {f"strings_to_{kind}": False for kind in ("formulas", "urls", "numbers")}
    title = f"{run.name}, season {run.season}"
    with xlsxwriter.Workbook(str(path), options) as book:
        created = datetime.fromisoformat(run.stamp).replace(tzinfo=None)
        book.set_properties({"title": f"Seed order: {title}", "created": created})
        formats = _formats(book)
        for sheet in SEED_SHEETS:
            rows = _rows(run.frames[sheet.layer], sheet)
            if rows:
                page = book.add_worksheet(sheet.name)
                _set_up(page, sheet, run)
                _set_heights(page, sheet, rows)
                _head(page, sheet, formats, title)
                _fill(page, sheet, rows, formats)
                _add_up(page, sheet, rows, formats)


def _rows(frame: pd.DataFrame, sheet: Sheet) -> list[dict[str, Any]]:
    """Rows of a sheet as plain values, None where a cell is empty."""
    columns = list(dict.fromkeys(c.column for c in sheet.columns))
    if sheet.sources:
        frame = frame[frame["source"].isin(sheet.sources)]
    plain = frame[columns].astype(object)
    return plain.where(plain.notna(), None).to_dict("records")


def _formats(book: "Workbook") -> "dict[str, Format]":
    """Cell formats by name; prices are shaded and unlocked, totals bold."""
    plain: dict[str, dict[str, Any]] = {
        name: {"num_format": number, "valign": "top"} for name, number in NUMBER_FORMATS.items()
    }
    plain["price"] |= {"bg_color": "#FFF4CC", "locked": False}
    plain["wrapped"] |= {"text_wrap": True}
    totals = {f"{name} total": made | {"bold": True, "top": 1} for name, made in plain.items()}
    heads = {
        "title": {"bold": True, "font_size": 14},
        "note": {"italic": True},
        "head": {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1},
    }
    return {name: book.add_format(made) for name, made in (plain | totals | heads).items()}


def _set_up(page: "Worksheet", sheet: Sheet, run: "Run") -> None:
    """Paper, margins, repeated and frozen header, footer with page and stamp."""
    page.set_landscape()
    page.set_paper(PAPER_NUMBERS[run.paper])
    page.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
    page.fit_to_pages(1, 0)
    page.repeat_rows(HEAD_ROW)
    page.set_row(HEAD_ROW, HEAD_HEIGHT)
    page.freeze_panes(HEAD_ROW + 1, 1)
    page.set_footer(f"&L{sheet.name}&CPage &P of &N&RSources of {run.stamp[:10]}")
    for number, column in enumerate(sheet.columns):
        page.set_column(number, number, column.width)


def _set_heights(page: "Worksheet", sheet: Sheet, rows: list[dict[str, Any]]) -> None:
    """Height of the rows with wrapped text: not every program fits it by itself."""
    wrapped = [column for column in sheet.columns if column.style == "wrapped"]
    for line, row in enumerate(rows, HEAD_ROW + 1):
        lines = [math.ceil(1.1 * len(row[c.column] or "") / c.width) for c in wrapped]
        if max(lines, default=1) > 1:
            page.set_row(line, LINE_HEIGHT * max(lines))


def _head(page: "Worksheet", sheet: Sheet, formats: "dict[str, Format]", title: str) -> None:
    """Title, note and headings."""
    page.write_string(TITLE_ROW, 0, f"{sheet.name}: {title}", formats["title"])
    page.write_string(NOTE_ROW, 0, sheet.note, formats["note"])
    for number, column in enumerate(sheet.columns):
        page.write_string(HEAD_ROW, number, column.heading, formats["head"])


def _fill(
    page: "Worksheet", sheet: Sheet, rows: list[dict[str, Any]], formats: "dict[str, Format]"
) -> None:
    """Cells of the rows, a filter over them."""
    for number, column in enumerate(sheet.columns):
        style = formats[column.style]
        for line, row in enumerate(rows, HEAD_ROW + 1):
            value = row[column.column]
            if column.product_of:
                page.write_formula(line, number, _product(sheet, column, line), style, value or "")
            elif value is None:
                page.write_blank(line, number, None, style)
            elif column.style == "flag":
                page.write_string(line, number, "yes" if value else "", style)
            elif column.style == "date":
                page.write_datetime(line, number, value.to_pydatetime(), style)
            elif NUMBER_FORMATS[column.style] == "@":
                page.write_string(line, number, str(value), style)
            else:
                page.write_number(line, number, float(value), style)
    page.autofilter(HEAD_ROW, 0, HEAD_ROW + len(rows), len(sheet.columns) - 1)


def _product(sheet: Sheet, column: SheetColumn, line: int) -> str:
    """Formula of two cells of the same row; empty while one of them is."""
    from xlsxwriter.utility import xl_rowcol_to_cell

    names = [c.column for c in sheet.columns]
    first, second = (xl_rowcol_to_cell(line, names.index(n)) for n in column.product_of or ())
    return f'=IF(COUNT({first},{second})=2,{first}*{second},"")'


def _add_up(
    page: "Worksheet", sheet: Sheet, rows: list[dict[str, Any]], formats: "dict[str, Format]"
) -> None:
    """Totals below the rows, as formulas with their value; they say when a row is left out."""
    from xlsxwriter.utility import xl_range

    if not any(column.total for column in sheet.columns):
        return
    last = HEAD_ROW + len(rows)
    unknown = any(row[c.column] is None for row in rows for c in sheet.columns if c.total)
    label = "Total of what is known" if unknown else "Total"
    page.write_string(last + 1, 0, label, formats["text total"])
    for number, column in enumerate(sheet.columns):
        if column.total:
            cells = xl_range(HEAD_ROW + 1, number, last, number)
            value = sum(row[column.column] or 0.0 for row in rows)
            style = formats[f"{column.style} total"]
            page.write_formula(last + 1, number, f"=SUM({cells})", style, value)
        elif number:
            page.write_blank(last + 1, number, None, formats["text total"])
