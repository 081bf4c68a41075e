"""The parts of a shapefile, looked at before a reader takes them: readers lose rows silently."""

import codecs
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from pyproj import CRS
from pyproj.exceptions import CRSError

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding
from pipeline.core.names import listed

HEADER_BYTES = 100
READ_PARTS = frozenset({".shp", ".shx", ".dbf", ".prj", ".cpg"})
GET_A_COPY = "get a new copy of all parts of the shapefile"


@dataclass(frozen=True, slots=True)
class Shapefile:
    """A shapefile ready to be read: its .shp (a copy where a part had to be made), what is odd.

    ``rows`` counts the records that are not among the ``deleted`` ones; ``encoding`` is that of its
    texts.
    """

    path: Path
    rows: int | None
    deleted: int
    encoding: str | None
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Records:
    """What the .dbf holds: records, those marked as deleted, and the bytes of its texts."""

    rows: int
    deleted: list[int]
    texts: list[bytes]


def shapefile_parts(path: Path) -> dict[str, Path]:
    """The parts of a shapefile by suffix, whatever the case of their names."""
    return {
        part.suffix.lower(): part
        for part in sorted(path.parent.iterdir())
        if part.stem.casefold() == path.stem.casefold()
        and part.suffix.lower() in READ_PARTS
        and part.is_file()
    }


def look_at_shapefile(
    path: Path, name: str, role: str, *, encoding: str | None, scratch: Path
) -> Shapefile:
    """A shapefile with everything that is wrong or odd about its parts."""
    parts = shapefile_parts(path)
    cut_off = list(_cut_off(path, name))
    index, index_faults = _index(parts.get(".shx"), path, name)
    table, table_faults = _table(parts.get(".dbf"), name)
    faults = [*(cut_off or index_faults), *_junk_prj(parts.get(".prj"), name), *table_faults]
    if not table_faults and table is not None and index is not None and table.rows != index:
        found = f"{index} shapes and {table.rows} rows in the table (.dbf)"
        faults.append(Fault(name, found, "as many rows as shapes", GET_A_COPY))
    text_encoding, oddity = _encoding(parts.get(".cpg"), table, encoding)
    oddities = [*_oddities(table, index), *([("not_utf8", oddity)] if oddity else [])]
    there = index if index is not None else table.rows if table is not None else None
    deleted = len(table.deleted) if table is not None else 0
    return Shapefile(
        path=path if index is not None else _copied(parts, scratch),
        rows=None if there is None else there - deleted,
        deleted=deleted,
        encoding=text_encoding,
        findings=[
            Finding(severity="warning", source=role, message=f"{name}: {words}", code=code)
            for code, words in oddities
        ],
        faults=faults,
    )


def _oddities(table: Records | None, index: int | None) -> Iterator[tuple[str, str]]:
    """What a person should know of a shapefile that can be read: codes and words."""
    if table is None:
        yield "no_table", "the table (.dbf) is missing; shapes only"
    elif table.deleted:
        yield "rows_deleted", f"rows {listed(table.deleted, 10)} are marked as deleted; left out"
    if index is None:
        yield "no_index", "the index (.shx) is missing; made again in a copy"


def _cut_off(path: Path, name: str) -> Iterator[Fault]:
    """A fault where the .shp is shorter than its own header says."""
    with path.open("rb") as file:
        header = file.read(HEADER_BYTES)
    size = path.stat().st_size
    stated = max(int.from_bytes(header[24:28], "big") * 2, HEADER_BYTES)
    if len(header) < HEADER_BYTES or size < stated:
        found = f"the .shp is cut off: {size:,} bytes of {stated:,}"
        yield Fault(name, found, "a whole file", GET_A_COPY)


def _index(index: Path | None, shapes: Path, name: str) -> tuple[int | None, list[Fault]]:
    """Number of records in the .shx, each of which must lie inside the .shp; None without one."""
    if index is None:
        return None, []
    content = index.read_bytes()[HEADER_BYTES:]
    records = np.frombuffer(content[: len(content) // 8 * 8], ">i4").reshape(-1, 2).astype("int64")
    ends = records[:, 0] * 2 + 8 + records[:, 1] * 2
    outside = np.flatnonzero((ends > shapes.stat().st_size) | (records[:, 0] < 50))
    faults = [
        Fault(
            f"{name}, row {row + 1}",
            "the index (.shx) points outside the .shp",
            expected="parts of one shapefile",
            do=GET_A_COPY,
        )
        for row in outside[:1]
    ]
    return len(records), faults


def _junk_prj(prj: Path | None, name: str) -> Iterator[Fault]:
    """A fault where the .prj is there and cannot be understood."""
    if prj is None:
        return
    text = prj.read_bytes().decode("utf-8", "replace").strip("\ufeff \r\n\t\0")
    try:
        if text:
            CRS.from_wkt(text)
    except CRSError:
        yield Fault(
            Path(name).with_name(prj.name).as_posix(),
            "not a coordinate reference system",
            expected="the text of one (WKT)",
            do='get a new copy, or delete it and say crs = "EPSG:…"',
        )


def _table(dbf: Path | None, name: str) -> tuple[Records | None, list[Fault]]:
    """Records and texts of the .dbf, read by its own header; None without one."""
    if dbf is None:
        return None, []
    content = dbf.read_bytes()
    rows = int.from_bytes(content[4:8], "little")
    start = int.from_bytes(content[8:10], "little")
    width = int.from_bytes(content[10:12], "little")
    stated = start + rows * width
    if len(content) < 33 or width == 0 or len(content) < stated:
        found = f"the table (.dbf) is cut off: {len(content):,} bytes of {stated:,}"
        return Records(rows, [], []), [Fault(name, found, "a whole file", GET_A_COPY)]
    records = np.frombuffer(content, "u1", rows * width, start).reshape(rows, width)
    deleted = (np.flatnonzero(records[:, 0] == ord("*")) + 1).tolist()
    return Records(rows, deleted, list(_texts(content[:start], records))), []


def _texts(header: bytes, records: np.ndarray) -> Iterator[bytes]:
    """Bytes of the text cells that hold more than plain letters."""
    position = 1
    for at in range(32, len(header) - 32, 32):
        if header[at] == 0x0D:
            break
        length = header[at + 16]
        if header[at + 11 : at + 12] == b"C":
            cells = records[:, position : position + length]
            yield from (bytes(cell) for cell in cells if (cell > 127).any())
        position += length


def _encoding(
    cpg: Path | None, table: Records | None, given: str | None
) -> tuple[str | None, str | None]:
    """Encoding to read the texts in, and what to say when it is not the one the file names."""
    if given or table is None or not table.texts:
        return given, None
    named = cpg.read_bytes().decode("ascii", "replace").strip() if cpg else None
    fits_utf8 = all(_is_utf8(text) for text in table.texts)
    if named and not (named.upper().replace("-", "") in ("UTF8", "65001") and not fits_utf8):
        return None, None
    used = "UTF-8" if fits_utf8 else "cp1252"
    example = table.texts[0].decode(used, "replace").strip("\0 ")
    why = f'its .cpg says "{named}"' if named else "it does not name the encoding of its texts"
    return used, f'{why}; read as {used}, for instance "{example}"; else say encoding = "…"'


def _is_utf8(text: bytes) -> bool:
    """Whether bytes are UTF-8; a letter cut at the field's end does not count against it."""
    try:
        codecs.getincrementaldecoder("utf-8")().decode(text.rstrip(b"\0 "), final=False)
    except UnicodeDecodeError:
        return False
    return True


def _copied(parts: dict[str, Path], scratch: Path) -> Path:
    """A copy of the parts, in which the missing index may be made."""
    folder = scratch / "restored"
    folder.mkdir()
    for suffix, part in parts.items():
        shutil.copyfile(part, folder / f"copy{suffix}")
    return folder / "copy.shp"
