"""Read one sheet of a workbook (.xlsx) as rows of text, as if it had been saved as CSV.

Formulas count by the value that the spreadsheet program left beside them.
"""

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from functools import partial
from typing import Any

from pipeline.core.errors import Fault, SourceError
from pipeline.core.limits import TABLE_CELLS, TABLE_ROWS, WORKBOOK_UNPACKED
from pipeline.core.names import listed, suggestion


def sheet_records(content: bytes, name: str, sheet: str | None, header_row: int) -> list[list[str]]:
    """Cells of a sheet as text, row by row from that of the headers on. Raises SourceError."""
    from openpyxl import load_workbook  # A tenth of all that is loaded, and seldom needed.

    refused = partial(SourceError.of, name)
    do = "open it in a spreadsheet program and save it again as .xlsx"
    try:
        _check_size(content, name)
        values, formulas = (
            load_workbook(io.BytesIO(content), read_only=True, data_only=data_only)
            for data_only in (True, False)
        )
        title = _title(values, name, sheet)
        rows = _rows(values[title], header_row, name)
        written = _rows(formulas[title], header_row, name)
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError, SyntaxError) as error:
        raise refused(f"cannot be read as a workbook ({error})", "an .xlsx file", do) from error
    if faults := list(_faults(rows, written, f"{name}, {title}")):
        raise SourceError(faults)
    width = max((n for row in rows[:1] for n, cell in enumerate(row, 1) if cell.value), default=0)
    texts = [[_text(cell) for cell in row] for row in rows]
    return [row + [""] * (width - len(row)) for row in texts]


def sheet_titles(content: bytes, name: str) -> list[str]:
    """Names of the sheets of a workbook. Raises SourceError where it cannot be read as one."""
    from openpyxl import load_workbook

    try:
        _check_size(content, name)
        workbook = load_workbook(io.BytesIO(content), read_only=True)
        return [each.title for each in workbook.worksheets]
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError, SyntaxError) as error:
        do = "open it in a spreadsheet program and save it again as .xlsx"
        found = f"cannot be read as a workbook ({error})"
        raise SourceError.of(name, found, "an .xlsx file", do) from error


def _title(workbook: Any, name: str, sheet: str | None) -> str:
    """Name of the sheet to be read: the one told, or the only one. Raises SourceError."""
    titles = [each.title for each in workbook.worksheets]
    if sheet in titles or (sheet is None and len(titles) == 1):
        return sheet or titles[0]
    if sheet is None:
        found, do = f"{len(titles)} sheets: {listed(titles)}", 'add sheet = "…" to its section'
        raise SourceError.of(name, found, "the sheet named", do)
    do = suggestion(sheet, titles)
    raise SourceError.of(name, f'no sheet "{sheet}"', "a sheet of the workbook", do)


def _check_size(content: bytes, name: str) -> None:
    """Raise SourceError where a workbook unpacks to more than a table of a property could hold."""
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        unpacked = sum(part.file_size for part in parts.infolist())
    if unpacked > WORKBOOK_UNPACKED.most:
        found = f"{unpacked / 1e6:,.0f} MB unpacked"
        raise SourceError.of(name, found, str(WORKBOOK_UNPACKED), "save its sheet as CSV")


def _rows(worksheet: Any, header_row: int, name: str) -> list[tuple[Any, ...]]:
    """Rows of cells from the one of the headers on. Raises SourceError where they are too many."""
    worksheet.reset_dimensions()  # what is written there is often wrong
    rows, cells = [], 0
    for row in worksheet.iter_rows(min_row=header_row):
        rows.append(row)
        cells += len(row)
        if len(rows) > TABLE_ROWS.most + 1 or cells > TABLE_CELLS.most:
            raise too_large(name, "sheet")
    return rows


def too_large(name: str, kind: str) -> SourceError:
    """The error of a table or sheet of more rows or cells than are read."""
    expected = f"{TABLE_ROWS} and {TABLE_CELLS.most:,} cells, {TABLE_ROWS.why}"
    do = "delete what stands far below or right of the table"
    return SourceError.of(name, f"a {kind} that is larger", expected, do)


def _faults(rows: list[Any], written: list[Any], where: str) -> Iterator[Fault]:
    """Cells whose value a spreadsheet program has to work out first, or could not."""
    for row, as_written in zip(rows, written, strict=True):
        for cell, formula in zip(row, as_written, strict=False):
            place = f"{where}: cell {getattr(formula, 'coordinate', '')}"
            is_blank = cell.data_type == "str"  # a formula that comes to an empty text
            if cell.value is None and formula.data_type == "f" and not is_blank:
                do = "open the workbook in a spreadsheet program and save it"
                yield Fault(place, "a formula without its value", "a value", do)
            elif cell.data_type == "e":
                yield Fault(place, f"the error {cell.value}", "a value", "mend its formula")


def _text(cell: Any) -> str:
    """What a cell shows: days as year-month-day, a percent with its sign, yes or no."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.isoformat() if value.time().isoformat() > "00:00:00" else str(value.date())
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, int | float):
        if "%" in (cell.number_format or ""):
            return f"{(Decimal(repr(value)) * 100).normalize():f}%"
        return repr(int(value)) if value == int(value) else repr(value)
    return str(value)
