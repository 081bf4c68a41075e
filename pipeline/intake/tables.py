"""Read a hand-edited table, CSV or a sheet of a workbook, by the declaration of its layer.

Everything is text first; a cell becomes a number or date only where it can mean nothing else, and
every complaint names the cell as a spreadsheet does.
"""

import csv
import hashlib
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from statistics import median

import pandas as pd

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import Column, Layer, empty
from pipeline.core.limits import TABLE_CELLS, TABLE_FILE, TABLE_ROWS
from pipeline.core.names import clean_name, hidden_characters, listed, nearest_name
from pipeline.intake.cells.complaints import Complaint, Value, column_faults
from pipeline.intake.cells.dates import DateOrder, order_shown
from pipeline.intake.cells.headers import Match, match_headers, percent_in_header, read_as_findings
from pipeline.intake.cells.values import cell_value, spoiled_name
from pipeline.intake.safety import SourceRead, decoded, guard_path, plain_reading, portable
from pipeline.intake.settings import TableSource
from pipeline.intake.workbook_sheet import sheet_records, too_large

TABLE_SUFFIXES = frozenset({".csv", ".tsv"})
DELIMITERS = ",;\t|"
MOST_FAULTS = 200
SUM_WORDS = frozenset({"total", "totals", "grand total", "subtotal", "sub-total", "mix total"})
WORKBOOK_SUFFIX = ".xlsx"
NEW_WORKBOOK, OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
A_TABLE = "a table as text (CSV)"


KEPT_AS_TEXT = re.compile(r"^'(?=\s*[=+\-@\t\r])")
"""Mark that keeps a spreadsheet from computing a cell, as our own files have it: no part of it."""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table as text: its headers, and its rows with their number as a spreadsheet counts."""

    headers: list[str]
    rows: list[tuple[int, list[str]]]
    decimal_comma: bool


def read_table(
    source: TableSource, layer: Layer, folder: Path, allowed: tuple[Path, ...] = ()
) -> SourceRead:
    """A CSV table as the frame of a layer, with every fault of the file told at once."""
    name = portable(source.path)
    try:
        path = guard_path(source.path, folder, allowed, where=f"[sources.{layer.name}] {name}")
        is_workbook = path.suffix.lower() == WORKBOOK_SUFFIX
        content = content_of(path, name, may_be_workbook=is_workbook)
        encoding = "utf-8"
        if is_workbook:
            records = sheet_records(content, name, source.sheet, source.header_row)
            grid, faults = grid_of_records(records, name, source.header_row)
        else:
            _refuse_sheet(source, name)
            text, encoding = text_of(content, name, source.encoding)
            grid, faults = grid_of(text, name)
    except SourceError as error:
        return SourceRead(empty(layer), faults=list(error.faults))
    findings = []
    if encoding == "cp1252" and not source.encoding:
        findings.append(_encoding_finding(layer.name, name, grid))
    match = match_headers(name, grid.headers, layer.columns, source.columns)
    rows_read = len(grid.rows)
    grid, sums = _without_sums(grid, match, layer, name)
    findings += sums
    frame, cell_faults, cell_findings = _frame(grid, match, layer, name, source.date_order)
    findings += [*_unused_findings(match, layer, name), *cell_findings]
    findings += read_as_findings(match, layer.name, name)
    faults += [*match.faults, *cell_faults]
    if not faults:
        faults += _repeated_keys(frame, grid, layer, name)
    row = {
        "source": layer.name,
        "path": name,
        "sha256": hashlib.sha256(content).hexdigest(),
        "driver": "XLSX" if is_workbook else "CSV",
        "crs": None,
        "rows_read": rows_read,
        "rows_used": len(frame),
    }
    return SourceRead(frame, findings, row, faults[:MOST_FAULTS])


def _without_sums(grid: Grid, match: Match, layer: Layer, name: str) -> tuple[Grid, list[Finding]]:
    """The grid without rows that add up the others, and a finding for each of them."""
    named = [c.name for c in layer.columns if c.kind == "text" and c.required and not c.choices]
    places = [grid.headers.index(h) for n in named if (h := match.header_by_column.get(n))]

    def is_sum(cells: list[str]) -> bool:
        words = (" ".join(cells[place].casefold().split()).rstrip(": ") for place in places)
        return any(word in SUM_WORDS for word in words)

    findings = [
        Finding(
            severity="note",
            source=layer.name,
            row=number,
            code="sum_row",
            message=f"{name}: row {number} is a sum of the others and is left out",
        )
        for number, cells in grid.rows
        if is_sum(cells)
    ]
    rows = [row for row in grid.rows if not is_sum(row[1])]
    return replace(grid, rows=rows), findings


def _refuse_sheet(source: TableSource, name: str) -> None:
    """Raise SourceError where a sheet or a row of headers is told of a text table."""
    if source.sheet is not None or source.header_row != 1:
        do = "name a workbook, or take sheet and header_row out"
        raise SourceError.of(name, "a text table, which has no sheets", "an .xlsx file", do)


def content_of(path: Path, name: str, *, may_be_workbook: bool = False) -> bytes:
    """The bytes of a table's file. Raises SourceError where they cannot be those of a table."""
    refused = partial(SourceError.of, name)
    if path.is_dir():
        raise refused("a folder", A_TABLE, "check the path")
    if (size := path.stat().st_size) > TABLE_FILE.most:
        raise refused(f"{size:,} bytes", f"{A_TABLE}, {TABLE_FILE}", "check the path")
    with plain_reading(name):
        content = path.read_bytes()
    other = OLD_WORKBOOK if may_be_workbook else (NEW_WORKBOOK, OLD_WORKBOOK)
    if content.startswith(other):
        do = "save the sheet as CSV UTF-8, or as .xlsx without a password, and name that file"
        raise refused("a workbook, not a text table", A_TABLE, do)
    if not content.strip():
        raise refused("the file is empty", A_TABLE, "check the file")
    return content


def text_of(content: bytes, name: str, encoding: str | None) -> tuple[str, str]:
    """The text of a table and the encoding it was read in. Raises SourceError where it is none."""
    try:
        return (content.decode(encoding), encoding) if encoding else decoded(content)
    except (UnicodeError, LookupError) as error:
        found = f"cannot be read as {encoding or 'UTF-8 or cp1252'} text"
        do = 'save it as CSV UTF-8, or name its encoding = "…"'
        raise SourceError.of(name, found, A_TABLE, do) from error


def grid_of(text: str, name: str) -> tuple[Grid, list[Fault]]:
    """Headers and rows of a table's text, with the faults of its shape. Raises SourceError."""
    if "\0" in text:
        raise SourceError.of(name, "holds zero bytes", A_TABLE, "save it as CSV UTF-8")
    text, delimiter, lines_before = _delimited(text.removeprefix("\ufeff"))
    lines = text.count("\n") + text.count("\r")
    if lines > 2 * TABLE_ROWS.most or text.count(delimiter) + lines > 2 * TABLE_CELLS.most:
        raise too_large(name, "table")
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        found = f"the cells cannot be told apart ({error})"
        do = "look for a quotation mark without its partner"
        raise SourceError.of(name, found, A_TABLE, do) from error
    records = [[KEPT_AS_TEXT.sub("", cell) for cell in cells] for cells in records]
    if len(records) > TABLE_ROWS.most + 1 or sum(map(len, records)) > TABLE_CELLS.most:
        raise too_large(name, "table")
    grid, faults = grid_of_records(records, name, 1 + lines_before)
    return replace(grid, decimal_comma=delimiter == ";"), faults


def grid_of_records(
    records: list[list[str]], name: str, header_row: int
) -> tuple[Grid, list[Fault]]:
    """Headers and rows of split records, with the faults of their shape."""
    headers = [clean_name(cell) for cell in records[0]] if records else []
    faults = _header_faults(headers, f"{name}: row {header_row}")
    rows = []
    for number, cells in enumerate(records[1:], 1 + header_row):
        if not any(cell.strip() for cell in cells):
            continue
        row = _without_blank_end(cells, len(headers))
        if len(row) == len(headers):
            rows.append((number, row))
        else:
            where, expected = f"{name}: row {number}", f"{len(headers)} cells, as the first row has"
            do = "look for a comma inside a text without quotation marks"
            faults.append(Fault(where, f"{len(row)} cells", expected, do))
    return Grid(headers, rows, decimal_comma=False), faults


def _delimited(text: str) -> tuple[str, str, int]:
    """Text without a first line that only names the delimiter, the delimiter, lines left out."""
    first, _, rest = text.partition("\n")
    named = first.strip().lower()
    if named.startswith("sep=") and len(named) == 5:
        return rest, named[4:], 1
    return text, max(DELIMITERS, key=first.count), 0


def _without_blank_end(cells: list[str], width: int) -> list[str]:
    """Cells of a row without the blank ones beyond the width of the table."""
    last = max((n for n, cell in enumerate(cells, 1) if cell.strip()), default=0)
    return cells[: max(last, width)]


def _header_faults(headers: Sequence[str], where: str) -> list[Fault]:
    """Faults of headers that stand twice or cannot be read."""
    fault = partial(Fault, where)
    used = [h for h in headers if h]
    repeated = sorted({h for h in used if used.count(h) > 1})
    twice = [f'column "{header}" stands twice' for header in repeated]
    faults = [fault(found, "every column once", "rename one") for found in twice]
    if hidden := sorted({mark for h in used for mark in hidden_characters(h)}):
        found = f"hidden characters ({', '.join(hidden)})"
        faults.append(fault(found, "headers that can be seen", "type the headers again"))
    if not used:
        faults.append(fault("no headers", "names of the columns", "add them"))
    return faults


def _frame(
    grid: Grid, match: Match, layer: Layer, name: str, order: DateOrder | None
) -> tuple[pd.DataFrame, list[Fault], list[Finding]]:
    """The table's frame, column by column, with the faults and findings of its cells."""
    faults: list[Fault] = []
    findings: list[Finding] = []
    data: dict[str, list[Value]] = {}
    for column in layer.columns:
        header = match.header_by_column.get(column.name)
        if header is None:
            data[column.name] = [None] * len(grid.rows)
            continue
        position = grid.headers.index(header)
        letter = column_letter(position)
        values, complaints = _column_values(grid, position, column, order)
        data[column.name] = values
        where = partial(_cell_words, name, letter, header)
        faults += column_faults(complaints, where)
        if column.kind == "text" and column.name in (*layer.key, "unit_id", "lot"):
            findings += _spoiled_names(grid, position, layer.name, f"{name}: cell {letter}")
    return typed_frame(data, layer.columns), faults, findings


def _cell_words(name: str, letter: str, header: str, rows: Sequence[int]) -> str:
    """Cells of one column as a spreadsheet names them."""
    cells = listed([f"{letter}{row}" for row in rows], 6)
    return f"{name}: cell{'s' if len(rows) > 1 else ''} {cells} ({header})"


def _column_values(
    grid: Grid, position: int, column: Column, order: DateOrder | None
) -> tuple[list[Value], list[tuple[int, Complaint]]]:
    """Values of one column, None where a cell is empty or complained of."""
    texts = [cells[position] for _, cells in grid.rows]
    in_percent = percent_in_header(grid.headers[position]) and not _may_be_fractions(texts)
    reading = partial(
        cell_value,
        column=column,
        decimal_comma=grid.decimal_comma,
        in_percent=in_percent,
        date_order=order or (order_shown(texts) if column.kind == "date" else None),
    )
    by_text = {text: reading(text) for text in {*texts}}
    read = [by_text[text] for text in texts]
    complaints = [
        (number, value)
        for (number, _), value in zip(grid.rows, read, strict=True)
        if isinstance(value, Complaint)
    ]
    return [None if isinstance(value, Complaint) else value for value in read], complaints


def _may_be_fractions(texts: Sequence[str]) -> bool:
    """Whether a column of percents looks like fractions: none above 1, half of them 0.5 or more.

    Purity and germination written as fractions do; weed seed and other small percents do not.
    """
    numbers = []
    for text in texts:
        try:
            numbers.append(float(text.strip().replace(",", ".")))
        except ValueError:
            continue
    present = [number for number in numbers if number > 0]
    return bool(present) and max(present) <= 1 and median(present) >= 0.5


def typed_frame(data: dict[str, list[Value]], columns: Sequence[Column]) -> pd.DataFrame:
    """Frame of read values, dates as datetimes and everything else as it was read."""
    frame = pd.DataFrame({c.name: pd.Series(data[c.name], dtype=object) for c in columns})
    for column in columns:
        if column.kind == "date":
            frame[column.name] = pd.to_datetime(frame[column.name]).astype("datetime64[s]")
    return frame


def column_letter(position: int) -> str:
    """Letters of a column as a spreadsheet names it, from its position counted from 0."""
    letters = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _spoiled_names(grid: Grid, position: int, role: str, where: str) -> Iterator[Finding]:
    """Findings on names that a spreadsheet seems to have changed, in a column that names rows."""
    for number, cells in grid.rows:
        if what := spoiled_name(cells[position].strip()):
            yield Finding(
                severity="warning",
                source=role,
                row=number,
                subject=cells[position],
                message=f'{where}{number}: "{cells[position]}" {what}; read as it stands; format '
                "the column as text and type it again",
                code="name_spoiled",
            )


def _repeated_keys(frame: pd.DataFrame, grid: Grid, layer: Layer, name: str) -> list[Fault]:
    """Faults of rows that the key of the layer cannot tell apart."""
    if not layer.key:
        return []
    key = list(layer.key)
    numbered = frame.assign(_number=[number for number, _ in grid.rows])
    repeated = numbered[numbered.duplicated(key, keep=False)]
    return [
        Fault(
            f"{name}: rows {listed(rows['_number'])}",
            f"{' and '.join(key)} {', '.join(map(_as_written, values))} stands {len(rows)} times",
            expected="each once",
            do="delete or rename one of them",
        )
        for values, rows in repeated.groupby(key, dropna=False)
    ]


def _as_written(value: object) -> str:
    """A value of a key as it is written in the table."""
    return str(value.date() if isinstance(value, pd.Timestamp) else value)


def _unused_findings(match: Match, layer: Layer, name: str) -> Iterator[Finding]:
    """Findings on headers that nothing is read from; a near miss of one of ours is a warning."""
    open_names = [c.name for c in layer.columns if c.name not in match.header_by_column]
    for header in match.unused:
        near = nearest_name(header, open_names)
        hint = f'; did you mean "{near}"?' if near else ""
        yield Finding(
            severity="warning" if near else "note",
            source=layer.name,
            row=1,
            message=f'{name}: column "{header}" is not used{hint}',
            code="column_unused",
        )


def _encoding_finding(role: str, name: str, grid: Grid) -> Finding:
    """A finding that a table was not UTF-8, with one of its words to check the letters by."""
    cells = (cell for _, row in grid.rows for cell in row)
    word = next((cell for cell in (*grid.headers, *cells) if not cell.isascii()), "")
    message = (
        f'{name}: not UTF-8; read as Windows-1252, for instance "{word}"; if that is wrong, save '
        "the file as CSV UTF-8"
    )
    return Finding(severity="warning", source=role, message=message, code="not_utf8")
