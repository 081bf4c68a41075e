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
from xlsxwriter.utility import xl_range, xl_rowcol_to_cell
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from pipeline.catalog import LAYERS, told_by_cause
from pipeline.core.layer import Column
from pipeline.core.layers import FINDINGS, FINDINGS_BY_CAUSE
from pipeline.core.run import Run
from pipeline.core.table import Table
from pipeline.core.units import half_up
from pipeline.pages.conflict_lines import stops
from pipeline.pages.words import cell_words, heading_words
from pipeline.seed.order import LINE
from pipeline.seed.sheets import (
    AREAS_TABLE,
    BAGS_TABLE,
    BOXES_TABLE,
    ERRORS_TABLE,
    HARVEST_TABLE,
    NEEDS_TABLE,
    ORDER_TABLE,
    RATES_TABLE,
    SHED_TABLE,
    USE_TABLE,
)
from pipeline.work.layers import CONFLICTS
from pipeline.write.cell_formats import Formats, indent
from pipeline.write.dealer_sheets import HEAD_ROW as DEALER_HEAD_ROW
from pipeline.write.dealer_sheets import (
    NUMBER,
    dealer_lines,
    sheet_names,
    write_tags_sheet,
    write_vendor_sheet,
)

CAUSES_TABLE = Table(
    FINDINGS_BY_CAUSE,
    "Look at, by cause",
    ("severity", "findings", "cause", "amount", "unit", "worst"),
    below=("do",),
    about="What to look at before ordering and sowing, summed; each of them is on the next sheet.",
)


FINDINGS_TABLE = Table(
    FINDINGS,
    "Look at",
    ("severity", "subject", "amount", "unit"),
    below=("message",),
    about="What to look at before ordering and sowing.",
)


STOPS_TABLE = Table(
    CONFLICTS,
    "Stop and ask",
    ("number", "area", "unit_id", "who_decides"),
    below=("against", "resolve"),
    about="Ask before anything is ordered or sown. What is not listed is not thereby allowed.",
)


SHEETS: dict[str, Table] = {
    "Stop and ask": STOPS_TABLE,
    "Order": ORDER_TABLE,
    "Shed": SHED_TABLE,
    "By species": NEEDS_TABLE,
    "Areas": AREAS_TABLE,
    "Rates": RATES_TABLE,
    "If 10 % off": ERRORS_TABLE,
    "Boxes": BOXES_TABLE,
    "Lots to areas": USE_TABLE,
    "Bags": BAGS_TABLE,
    "Own harvest": HARVEST_TABLE,
    "Look at by cause": CAUSES_TABLE,
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


LINKED = (
    "pls_pct",
    "bulk_to_order_lb",
    "pls_to_order_lb",
    "price_usd_per_pls_lb",
    "price_usd_per_bulk_lb",
    "cost_usd",
)
"""Columns of the order that follow what is typed on the sheet of the vendor."""


FOLLOWS = "Type tags, packs and prices on the sheets of the vendors: this one follows."
"""Note on the sheet of the order, where something is bought."""


TAGS_SHEET = "Tags"


CSV_PLACES = {"pound": 4}
"""Decimal places in the CSV by unit, 2 for others; a pack of an ounce needs four."""


FORMULA_START = re.compile(r"^\s*[=+\-@\t\r]")


def plain_text(value: object) -> str:
    """Text that a spreadsheet will not take for a formula: a leading mark is put before it."""
    text = "" if value is None or value != value else str(value)
    return f"'{text}" if FORMULA_START.match(text) else text


def write_seed_order_csv(run: Run, path: Path) -> None:
    """Write ``seed_order.csv``: the table ``seed_order``."""
    write_csv(run, "seed_order", path)


def write_csv(run: Run, layer: str, path: Path) -> None:
    """Write the columns of a layer as CSV, rounded half up, unknown cells empty."""
    frame = pd.DataFrame(run.frames[layer])
    columns = LAYERS[layer].columns
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

    def lines(self, row: dict[Any, Any], width: float) -> int:
        """Lines that the sentences of a row take in a column of a width [characters].

        Not every program fits the height of a row by itself.
        """
        texts = [str(row[name] or "") for name in self.table.below]
        return max((math.ceil(1.1 * len(text) / width) for text in texts), default=1)


def write_seed_order_xlsx(run: Run, path: Path) -> None:
    """Write ``seed_order.xlsx``: the order, a sheet for each vendor, and what stands behind them.

    What a person will change stands on the vendors' sheets; what follows from it is a formula,
    with its value stored for programs that do not compute.
    """
    with opened_workbook(run, path, "Seed order") as book:
        formats = Formats(book)
        lines = dealer_lines(run)
        names = sheet_names(sorted(lines["vendor"].unique()))
        links = _links(lines, names)
        for cells in _sheets(run):
            is_order = cells.table is ORDER_TABLE
            note = f"{FOLLOWS} {cells.table.about}" if is_order else cells.table.about
            page = book.add_worksheet(cells.name)
            write_sheet(page, cells, formats, run, note=note, links=links if is_order else {})
            if is_order:
                for vendor, name in names.items():
                    of_vendor = lines[lines["vendor"].eq(vendor)]
                    write_vendor_sheet(book.add_worksheet(name), of_vendor, formats, run, vendor)
        write_tags_sheet(book.add_worksheet(TAGS_SHEET), run, formats)


def opened_workbook(run: Run, path: Path, title: str) -> Workbook:
    """A workbook in which text stays text, with the time of the run as its own."""
    options = {f"strings_to_{kind}": False for kind in ("formulas", "urls", "numbers")}
    book = Workbook(str(path), options)
    created = datetime.fromisoformat(run.stamp).replace(tzinfo=None)
    full = f"{title}: {run.name}, season {run.season}"
    book.set_properties({"title": full, "created": created})
    return book


def _links(lines: pd.DataFrame, names: dict[str, str]) -> dict[tuple[Any, ...], dict[str, str]]:
    """Formula of each cell that follows a vendor's sheet, by line of the order and column."""
    links = {}
    for vendor, name in names.items():
        of_vendor = lines[lines["vendor"].eq(vendor)].to_dict("records")
        for row_number, row in enumerate(of_vendor, DEALER_HEAD_ROW + 1):
            place = {
                column: f"'{name}'!{xl_rowcol_to_cell(row_number, NUMBER[column])}"
                for column in (*LINKED, "bulk_to_buy_lb")
            }
            links[tuple(row[part] for part in LINE)] = {
                column: f'=IF({place[column]}="","",{place[column]})' for column in LINKED
            } | _bulk_links(row, place)
    return links


def _bulk_links(row: dict[Any, Any], place: dict[str, str]) -> dict[str, str]:
    """Formulas of what is needed of a lot, held seed counted, and of what rounding up adds."""
    bought, order = place["bulk_to_buy_lb"], place["bulk_to_order_lb"]
    held = row["bulk_needed_lb"] - row["bulk_to_buy_lb"]
    from_shed = "" if pd.isna(held) or held <= 0 else f"{float(held)!r}+"
    return {
        "bulk_needed_lb": f'=IF({bought}="","",{from_shed}{bought})',
        "excess_bulk_lb": f'=IF({order}="","",{order}-{bought})',
    }


def _sheets(run: Run) -> Iterator[Cells]:
    """Sheets that have rows, their cells as plain values and None where one is empty."""
    findings = run.frames["findings"]
    findings = findings[findings["source"].isin(SEED_SOURCES)]
    own = {"findings": findings, "findings_by_cause": told_by_cause(findings, run.frames)}
    for name, table in SHEETS.items():
        layer = table.layer.name
        frame = own[layer] if layer in own else run.frames[layer]
        if table is STOPS_TABLE:
            frame = stops(frame)
            frame = frame[frame["kind"] == "seed"]
        if len(frame):
            yield cells_of(name, table, frame)


def cells_of(name: str, table: Table, frame: pd.DataFrame) -> Cells:
    """What a sheet shows of a frame: plain values, and None where a cell is empty."""
    plain = pd.DataFrame(frame)[[*table.columns, *table.below]].astype(object)
    return Cells(name, table, plain.where(plain.notna(), None).to_dict("records"))


def write_sheet(
    page: Worksheet,
    cells: Cells,
    formats: Formats,
    run: Run,
    *,
    note: str,
    links: dict[tuple[Any, ...], dict[str, str]],
) -> None:
    """One sheet: title, note, headings, rows and totals. Cells that ``links`` names follow it."""
    _set_up(page, cells, run)
    _head(page, cells, formats, f"{run.name}, season {run.season}", note)
    _fill(page, cells, formats, links)
    _add_up(page, cells, formats)


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
    widths = cells.widths
    for number, width in enumerate(widths):
        page.set_column(number, number, width)
    for line, row in enumerate(cells.rows, HEAD_ROW + 1):
        if (lines := cells.lines(row, widths[-1])) > 1:
            page.set_row(line, LINE_HEIGHT * lines)


def _head(page: Worksheet, cells: Cells, formats: Formats, title: str, note: str) -> None:
    """Title, note and headings."""
    titled = formats.of(bold=True, font_size=14)
    page.write_string(TITLE_ROW, 0, f"{cells.table.title}: {title}", titled)
    page.write_string(NOTE_ROW, 0, note, formats.of(italic=True))
    for number, column in enumerate(cells.columns):
        head = {"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1}
        page.write_string(
            HEAD_ROW, number, heading_words(column), formats.of(**head, **indent(column))
        )


def _fill(
    page: Worksheet,
    cells: Cells,
    formats: Formats,
    links: dict[tuple[Any, ...], dict[str, str]],
) -> None:
    """Cells of the rows, a filter over them; linked ones follow the sheet of the vendor."""
    for number, column in enumerate(cells.columns):
        style = formats.cell(column, sentences=column.name in cells.table.below)
        for line, row in enumerate(cells.rows, HEAD_ROW + 1):
            value = row[column.name]
            linked = links.get(tuple(row.get(name) for name in LINE), {}).get(column.name)
            if linked:
                page.write_formula(line, number, linked, style, "" if value is None else value)
            elif value is None:
                page.write_blank(line, number, None, style)
            elif column.kind == "date":
                page.write_datetime(line, number, value.to_pydatetime(), style)
            elif column.kind in ("number", "integer"):
                page.write_number(line, number, float(value), style)
            else:
                page.write_string(line, number, cell_words(value, column), style)
    page.autofilter(HEAD_ROW, 0, HEAD_ROW + len(cells.rows), len(cells.columns) - 1)


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
