"""Read a hand-edited CSV table by the declaration of its layer.

Everything is text first; a cell becomes a number or date only where it can mean nothing else, and
every complaint names the cell as a spreadsheet does.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import pandas as pd

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import Column, Layer, empty
from pipeline.core.names import clean_name, hidden_characters, listed, nearest_name
from pipeline.intake.cells import Complaint, Value, cell_value, spoiled_name
from pipeline.intake.headers import Match, match_headers, percent_in_header
from pipeline.intake.safety import SourceRead, decoded, guard_path, portable, sha256_of
from pipeline.intake.settings import TableSource

DELIMITERS = ",;\t|"


LARGEST_BYTES = 100_000_000


MOST_FAULTS = 200


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
    findings: list[Finding] = []
    try:
        path = guard_path(source.path, folder, allowed, where=f"[sources.{layer.name}] {name}")
        text, encoding = _text_of(path, source, name)
        grid, faults = _grid(text, name)
    except SourceError as error:
        return SourceRead(empty(layer), faults=list(error.faults))
    if encoding == "cp1252" and not source.encoding:
        findings.append(_encoding_finding(layer.name, name, grid))
    match = match_headers(grid.headers, layer.columns, source.columns)
    faults += [Fault(f"{name}: {w}", found, expected, do) for w, found, expected, do in match.wrong]
    findings += _unused_findings(match, layer, name)
    frame, cell_faults, cell_findings = _frame(grid, match, layer, name)
    faults += cell_faults
    if not faults:
        faults += _repeated_keys(frame, grid, layer, name)
    row = {
        "source": layer.name, "path": name, "sha256": sha256_of([path]), "driver": "CSV",
        "crs": None, "rows_read": len(grid.rows), "rows_used": len(frame),
    }  # fmt: skip
    return SourceRead(frame, findings + cell_findings, row, faults[:MOST_FAULTS])


def _text_of(path: Path, source: TableSource, name: str) -> tuple[str, str]:
    """Text of the file and the encoding it was read in."""
    expected = "a table as text (CSV)"
    if path.is_dir() or path.stat().st_size > LARGEST_BYTES:
        raise SourceError(
            Fault(name, "a folder, or larger than 100 MB", expected, "check the path")
        )
    content = path.read_bytes()
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise SourceError(Fault(name, "a workbook, not a text table", expected,
                                "save the sheet as CSV UTF-8 and name that file"))  # fmt: skip
    if not content.strip():
        raise SourceError(Fault(name, "the file is empty", expected, "check the file"))
    try:
        if source.encoding:
            return content.decode(source.encoding), source.encoding
        return decoded(content)
    except (UnicodeError, LookupError) as error:
        raise SourceError(
            Fault(name, f"cannot be read as {source.encoding or 'UTF-8 or cp1252'} text", expected,
                  "save it as CSV UTF-8, or name its encoding = \"…\"")
        ) from error  # fmt: skip


def _grid(text: str, name: str) -> tuple[Grid, list[Fault]]:
    """Headers and rows of the text, with the faults of its shape."""
    if "\0" in text:
        raise SourceError(Fault(name, "holds zero bytes", "a table as text (CSV)",
                                "save it as CSV UTF-8"))  # fmt: skip
    text = text.removeprefix("\ufeff")
    first, _, rest = text.partition("\n")
    told = first.strip().lower()
    delimiter = told[4:] if told.startswith("sep=") and len(told) == 5 else None
    lines_before = 1 if delimiter else 0
    text, first = (rest, rest.partition("\n")[0]) if delimiter else (text, first)
    delimiter = delimiter or max(DELIMITERS, key=first.count)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise SourceError(
            Fault(name, f"the cells cannot be told apart ({error})", "a table as text (CSV)",
                  "look for a quotation mark without its partner")
        ) from error  # fmt: skip
    headers = [clean_name(cell) for cell in records[0]] if records else []
    faults = _header_faults(headers, name)
    rows = []
    for number, cells in enumerate(records[1:], 2 + lines_before):
        if not any(cell.strip() for cell in cells):
            continue
        while len(cells) > len(headers) and not cells[-1].strip():
            cells = cells[:-1]
        if len(cells) != len(headers):
            faults.append(
                Fault(f"{name}: row {number}", f"{len(cells)} cells",
                      f"{len(headers)} cells, as the first row has",
                      "look for a comma inside a text without quotation marks")
            )  # fmt: skip
            continue
        rows.append((number, cells))
    return Grid(headers, rows, delimiter == ";"), faults


def _header_faults(headers: Sequence[str], name: str) -> list[Fault]:
    """Headers that stand twice or cannot be read."""
    used = [h for h in headers if h]
    repeated = sorted({h for h in used if used.count(h) > 1})
    faults = [
        Fault(f"{name}: row 1", f'column "{h}" stands twice', "every column once", "rename one")
        for h in repeated
    ]  # fmt: skip
    hidden = sorted({mark for h in used for mark in hidden_characters(h)})
    if hidden:
        faults.append(Fault(f"{name}: row 1", f"hidden characters ({', '.join(hidden)})",
                            "headers that can be seen", "type the headers again"))  # fmt: skip
    if not used:
        faults.append(Fault(f"{name}: row 1", "no headers", "names of the columns", "add them"))
    return faults


def _frame(
    grid: Grid, match: Match, layer: Layer, name: str
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
        values, complaints = _column_values(grid, position, column)
        data[column.name] = values
        letter = column_letter(position)
        faults += [
            Fault(f"{name}: cell {letter}{number} ({header})", c.found, c.expected, c.do)
            for number, c in complaints
        ]  # fmt: skip
        findings += _cell_findings(grid, position, column, layer, name)
    return typed_frame(data, layer.columns), faults, findings


def _column_values(
    grid: Grid, position: int, column: Column
) -> tuple[list[Value], list[tuple[int, Complaint]]]:
    """Values of one column, None where a cell is empty or complained of."""
    texts = [cells[position] for _, cells in grid.rows]
    percent_told = percent_in_header(grid.headers[position]) and not _may_be_fractions(texts)
    read = [
        cell_value(text, column, decimal_comma=grid.decimal_comma, percent_told=percent_told)
        for text in texts
    ]  # fmt: skip
    complaints = [
        (number, value) for (number, _), value in zip(grid.rows, read, strict=True)
        if isinstance(value, Complaint)
    ]  # fmt: skip
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


def _cell_findings(
    grid: Grid, position: int, column: Column, layer: Layer, name: str
) -> list[Finding]:
    """Names in a column that tells rows apart which a spreadsheet seems to have changed."""
    if column.kind != "text" or column.name not in (*layer.key, "unit_id", "lot"):
        return []
    return [
        Finding(
            severity="warning", source=layer.name, row=number, subject=cells[position],
            message=f'{name}: cell {column_letter(position)}{number}: "{cells[position]}" {what}; '
            "read as it stands; format the column as text and type it again",
        )
        for number, cells in grid.rows if (what := spoiled_name(cells[position].strip()))
    ]  # fmt: skip


def _repeated_keys(frame: pd.DataFrame, grid: Grid, layer: Layer, name: str) -> list[Fault]:
    """Rows that the key of the layer cannot tell apart."""
    if not layer.key:
        return []
    key = list(layer.key)
    frame = frame.assign(_number=[number for number, _ in grid.rows])
    faults = []
    for values, rows in frame[frame.duplicated(key, keep=False)].groupby(key, dropna=False):
        told = ", ".join(_shown(value) for value in values)
        faults.append(
            Fault(
                f"{name}: rows {listed(rows['_number'])}",
                f"{' and '.join(key)} {told} stands {len(rows)} times",
                "each once",
                "delete or rename one of them",
            )
        )
    return faults


def _shown(value: object) -> str:
    """A value of a key as it is written in the table."""
    return str(value.date() if isinstance(value, pd.Timestamp) else value)


def _unused_findings(match: Match, layer: Layer, name: str) -> list[Finding]:
    """Headers that nothing is read from; a near miss of one of ours is a warning."""
    open_names = [c.name for c in layer.columns if c.name not in match.header_by_column]
    findings: list[Finding] = []
    for header in match.unused:
        near = nearest_name(header, open_names)
        hint = f'; did you mean "{near}"?' if near else ""
        findings.append(
            Finding(severity="warning" if near else "note", source=layer.name, row=1,
                    message=f'{name}: column "{header}" is not used{hint}')
        )  # fmt: skip
    return findings


def _encoding_finding(role: str, name: str, grid: Grid) -> Finding:
    """That a table was not UTF-8, with a word to check."""
    cells = (cell for _, row in grid.rows for cell in row)
    word = next((cell for cell in (*grid.headers, *cells) if not cell.isascii()), "")
    message = (
        f'{name}: not UTF-8; read as Windows-1252, for instance "{word}"; if that is wrong, save '
        "the file as CSV UTF-8"
    )
    return Finding(severity="warning", source=role, message=message)
