"""What a run wrote, file by file: the part of ``run.json`` that the next run goes by."""

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.io.source_file import sha256_of

RECORD = "run.json"
OWN_SUM = "record_sha256"
# Bytes of a database's header that change when a viewer opens and closes it without an edit:
# journal mode, change counter, the counter's copy, version of the library.
# *Source*: SQLite, Database File Format, section 1.3, "The Database Header".
SQLITE, SQLITE_HEADER_BYTES = b"SQLite format 3\0", 100
CHANGED_BY_VIEWERS = (slice(18, 20), slice(24, 28), slice(92, 100))


@dataclass(frozen=True, slots=True)
class Manifest:
    """The property a run was for and the checksums of its files; all else is not the run's."""

    property_name: str
    sums_by_file: Mapping[str, frozenset[str]]
    record_unchanged: bool

    def accounts_for(self, path: Path) -> bool:
        """Whether a file of the run folder stands there as the run wrote it."""
        if path.is_symlink() or not path.is_file():
            return False
        if path.name == RECORD:
            return self.record_unchanged
        sums = self.sums_by_file.get(path.name, frozenset())
        return bool(sums) and not sums.isdisjoint((sha256_of([path]), _content_sum(path)))


def manifest_rows(files: Iterable[Path]) -> list[dict[str, Any]]:
    """Name, checksums and size [bytes] of each file that a run wrote."""
    return [
        {
            "file": file.name,
            "sha256": sha256_of([file]),
            "content_sha256": _content_sum(file),
            "bytes": file.stat().st_size,
        }
        for file in files
    ]


def record_text(record: Mapping[str, Any]) -> str:
    """Text of ``run.json``, closed with a checksum of its own."""
    sealed = {**record, OWN_SUM: _record_sum(record)}
    return json.dumps(sealed, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def read_manifest(folder: Path) -> Manifest | None:
    """What the record in a run folder accounts for; None where there is no record of a run."""
    path = folder / RECORD
    if path.is_symlink() or not path.is_file():
        return None
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
        own_sum = record.pop(OWN_SUM, None)
        sums = {row["file"]: _sums(row) for row in record["outputs"]}
        name = record["property"]["name"]
        known = "swardline" in record["program"] and isinstance(name, str)
        if not known or not all(re.fullmatch(r"[^/\\:]*[^/\\:.]", file) for file in sums):
            return None
        return Manifest(name, sums, own_sum == _record_sum(record))
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return None


def _sums(row: Mapping[str, Any]) -> frozenset[str]:
    """Checksums that a file has as long as nobody edited it."""
    return frozenset({row["sha256"], row.get("content_sha256", row["sha256"])})


def _record_sum(record: Mapping[str, Any]) -> str:
    """Checksum of what a record tells, however its text is laid out."""
    return hashlib.sha256(json.dumps(record).encode()).hexdigest()


def _content_sum(path: Path) -> str:
    """Checksum of a file; of a database, without the bytes that a viewer changes."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        header = bytearray(file.read(SQLITE_HEADER_BYTES))
        if header.startswith(SQLITE):
            for span in CHANGED_BY_VIEWERS:
                header[span] = bytes(len(header[span]))
        digest.update(header)
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()
