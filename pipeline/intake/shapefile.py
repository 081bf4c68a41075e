"""The parts of a shapefile, looked at before a reader takes them: readers lose rows silently."""

import codecs
import shutil
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from pyproj import CRS
from pyproj.exceptions import CRSError

from pipeline.core.errors import Fault
from pipeline.core.findings import Finding

HEADER_BYTES = 100


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
class Table:
    """What the .dbf holds: records, those marked as deleted, and the bytes of its texts."""

    rows: int
    deleted: list[int]
    texts: list[bytes]
    fault: Fault | None = None


def shapefile_parts(path: Path) -> dict[str, Path]:
    """The parts of a shapefile by suffix, whatever the case of their names."""
    return {
        p.suffix.lower(): p for p in sorted(path.parent.iterdir())
        if p.stem.casefold() == path.stem.casefold() and p.is_file()
        and p.suffix.lower() in (".shp", ".shx", ".dbf", ".prj", ".cpg")
    }  # fmt: skip


def look_at_shapefile(
    path: Path, name: str, role: str, *, encoding: str | None, scratch: Path
) -> Shapefile:
    """A shapefile with everything that is wrong or odd about its parts."""
    parts = shapefile_parts(path)
    findings: list[Finding] = []
    faults = [f for f in (_truncated(path, name), _junk_prj(parts.get(".prj"), name)) if f]
    index = _index_rows(parts[".shx"], path, name, faults) if ".shx" in parts else None
    table = _table(parts[".dbf"], name) if ".dbf" in parts else None
    if table is not None and table.fault is not None:
        faults.append(table.fault)
    elif table is not None and index is not None and table.rows != index:
        faults.append(
            Fault(name, f"{index} shapes and {table.rows} rows in the table (.dbf)",
                  "as many rows as shapes", GET_A_COPY)
        )  # fmt: skip
    if table is None:
        findings.append(_finding(role, f"{name}: the table (.dbf) is missing; shapes only"))
    elif table.deleted:
        rows = ", ".join(map(str, table.deleted[:10]))
        findings.append(_finding(role, f"{name}: rows {rows} are marked as deleted; left out"))
    read_path = path
    if index is None:
        read_path = _copied(parts, scratch)
        findings.append(
            _finding(role, f"{name}: the index (.shx) is missing; made again in a copy")
        )
    used, note = _encoding(parts.get(".cpg"), table, encoding)
    if note:
        findings.append(_finding(role, f"{name}: {note}"))
    there = index if index is not None else table.rows if table is not None else None
    deleted = len(table.deleted) if table is not None else 0
    rows_left = None if there is None else there - deleted
    return Shapefile(read_path, rows_left, deleted, used, findings, faults)


def _finding(role: str, message: str) -> Finding:
    """A warning about a shapefile as a whole."""
    return Finding(severity="warning", source=role, message=message)


def _truncated(path: Path, name: str) -> Fault | None:
    """The .shp is shorter or longer than its own header says."""
    with path.open("rb") as file:
        header = file.read(HEADER_BYTES)
    size = path.stat().st_size
    told = int.from_bytes(header[24:28], "big") * 2
    if len(header) < HEADER_BYTES or size < told:
        return Fault(f"{name}", f"the .shp is cut off: {size:,} bytes of {max(told, 100):,}",
                     "a whole file", GET_A_COPY)  # fmt: skip
    return None


def _index_rows(index: Path, shapes: Path, name: str, faults: list[Fault]) -> int:
    """Number of records in the .shx, each of which must lie inside the .shp."""
    content = index.read_bytes()[HEADER_BYTES:]
    records = np.frombuffer(content[: len(content) // 8 * 8], ">i4").reshape(-1, 2).astype("int64")
    ends = records[:, 0] * 2 + 8 + records[:, 1] * 2
    beyond = np.flatnonzero((ends > shapes.stat().st_size) | (records[:, 0] < 50))
    if len(beyond) and not any("cut off" in fault.found for fault in faults):
        faults.append(
            Fault(f"{name}, row {beyond[0] + 1}", "the index (.shx) points outside the .shp",
                  "parts of one shapefile", GET_A_COPY)
        )  # fmt: skip
    return len(records)


def _junk_prj(prj: Path | None, name: str) -> Fault | None:
    """The .prj is there and cannot be understood."""
    if prj is None:
        return None
    text = prj.read_bytes().decode("utf-8", "replace").strip("\ufeff \r\n\t\0")
    try:
        if text:
            CRS.from_wkt(text)
    except CRSError:
        return Fault(
            Path(name).with_name(prj.name).as_posix(), "not a coordinate reference system",
            "the text of one (WKT)", 'get a new copy, or delete it and say crs = "EPSG:…"',
        )  # fmt: skip
    return None


def _table(dbf: Path, name: str) -> Table:
    """Records and texts of the .dbf, read by its own header."""
    content = dbf.read_bytes()
    rows = int.from_bytes(content[4:8], "little")
    start = int.from_bytes(content[8:10], "little")
    width = int.from_bytes(content[10:12], "little")
    if len(content) < 33 or width == 0 or len(content) < start + rows * width:
        found = f"the table (.dbf) is cut off: {len(content):,} bytes of {start + rows * width:,}"
        return Table(rows, [], [], Fault(name, found, "a whole file", GET_A_COPY))
    records = np.frombuffer(content, "u1", rows * width, start).reshape(rows, width)
    deleted = (np.flatnonzero(records[:, 0] == ord("*")) + 1).tolist()
    texts = []
    position = 1
    for at in range(32, start - 32, 32):
        if content[at] == 0x0D:
            break
        length = content[at + 16]
        if content[at + 11 : at + 12] == b"C":
            texts += [bytes(cell) for cell in records[:, position : position + length]
                      if (cell > 127).any()]  # fmt: skip
        position += length
    return Table(rows, deleted, texts)


def _encoding(
    cpg: Path | None, table: Table | None, told: str | None
) -> tuple[str | None, str | None]:
    """Encoding to read the texts in, and what to say when it is not the one the file names."""
    if told or table is None or not table.texts:
        return told, None
    named = cpg.read_bytes().decode("ascii", "replace").strip() if cpg else None
    fits_utf8 = all(_is_utf8(text) for text in table.texts)
    if named and not (named.upper().replace("-", "") in ("UTF8", "65001") and not fits_utf8):
        return None, None
    used = "UTF-8" if fits_utf8 else "cp1252"
    example = table.texts[0].decode(used, "replace").strip("\0 ")
    said = f'its .cpg says "{named}"' if named else "it does not name the encoding of its texts"
    return used, f'{said}; read as {used}, for instance "{example}"; else say encoding = "…"'


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
