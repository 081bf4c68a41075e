"""The record book as files: a workbook with a sheet for each who may ask, and a blank log."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
from xlsxwriter.workbook import Workbook

from pipeline.core.run import Run
from pipeline.core.table import Table
from pipeline.log.layers import KINDS
from pipeline.records.blank_log import blank_columns
from pipeline.records.layers import BLANK_LOG
from pipeline.records.sheets import (
    ALL_TABLE,
    BURNS_TABLE,
    CONTRACT_TABLE,
    CUT_TABLE,
    OWNER_TABLE,
    PLAN_TABLE,
    SEED_TABLE,
    SPRAY_TABLE,
    STOCK_TABLE,
)
from pipeline.write.cell_formats import Formats
from pipeline.write.workbook import cells_of, opened_workbook, write_csv, write_sheet

Rows = Callable[[pd.DataFrame], pd.DataFrame]


def _of_kinds(*kinds: str) -> Rows:
    return lambda frame: frame[frame["kind"].isin(kinds)]


def _all(frame: pd.DataFrame) -> pd.DataFrame:
    return frame


BY_OWNER = ["owner", "number"]


SHEETS: dict[str, tuple[Table, Rows]] = {
    "Burns": (BURNS_TABLE, _all),
    "Spraying": (SPRAY_TABLE, _of_kinds("spray")),
    "Stock": (STOCK_TABLE, _of_kinds("graze", "move")),
    "Hay and cutting": (CUT_TABLE, _of_kinds("hay", "mow", "cut", "drag", "till")),
    "Seed": (SEED_TABLE, _all),
    "Planned and done": (PLAN_TABLE, _all),
    "Contracts": (CONTRACT_TABLE, _all),
    "Owners": (OWNER_TABLE, lambda frame: frame.dropna(subset="owner").sort_values(BY_OWNER)),
    "Every record": (ALL_TABLE, _all),
}
"""Sheets of the workbook by the words on their tabs; one without rows is left out."""


BLANK_SHEET = "Blank log"


SPARE_LINES = 40
"""Lines below the plan in which dates are dates and kinds are offered."""


def write_blank_log_csv(run: Run, path: Path) -> None:
    """Write ``blank_log.csv``: the plan as rows of a log, to be filled in and read as one."""
    write_csv(run, "blank_log", path)


def write_records_xlsx(run: Run, path: Path) -> None:
    """Write ``records.xlsx``: burns first, each sheet where it has rows, and the blank log."""
    with opened_workbook(run, path, "Records") as book:
        formats = Formats(book)
        for name, (table, rows) in SHEETS.items():
            frame = rows(run.frames[table.layer.name])
            if len(frame):
                page = book.add_worksheet(name)
                cells = cells_of(name, _without_empty(table, frame), frame)
                write_sheet(page, cells, formats, run, note=table.about, links={})
        if len(run.frames["blank_log"]):
            _write_blank_log(book, run, formats)


def _without_empty(table: Table, frame: pd.DataFrame) -> Table:
    """The table without sentences that no row has; a sheet of many empty ones cannot be read."""
    told = tuple(name for name in table.below if frame[name].notna().any())
    return replace(table, below=told)


def _write_blank_log(book: Workbook, run: Run, formats: Formats) -> None:
    """Sheet whose first row names the columns of the log, so that it is read as it stands."""
    page = book.add_worksheet(BLANK_SHEET)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.freeze_panes(1, 0)
    page.repeat_rows(0)
    frame = run.frames["blank_log"]
    rows = frame.to_dict("records")
    for number, name in enumerate(blank_columns(frame)):
        column = BLANK_LOG.column(name)
        page.set_column(number, number, max(11, len(column.name) + 2))
        page.write_string(0, number, column.name, formats.of(bold=True, bottom=1))
        page.write_comment(0, number, column.meaning)
        style = formats.of(num_format="yyyy-mm-dd") if column.kind == "date" else None
        for line in range(1, len(rows) + SPARE_LINES):
            value: Any = rows[line - 1][column.name] if line <= len(rows) else None
            if pd.isna(value):
                page.write_blank(line, number, None, style or formats.of(valign="top"))
            elif column.kind == "date":
                page.write_datetime(line, number, pd.Timestamp(value).to_pydatetime(), style)
            elif column.kind in ("number", "integer"):
                page.write_number(line, number, float(value))
            else:
                page.write_string(line, number, str(value))
        if column.name == "kind":
            page.data_validation(
                1,
                number,
                len(rows) + SPARE_LINES,
                number,
                {"validate": "list", "source": list(KINDS)},
            )
