"""What is the same for every kind of source: its checksum, its row in ``sources``, its encoding."""

import codecs
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from pipeline.compute.findings import Finding
from pipeline.errors import Fault

BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"))  # fmt: skip


@dataclass(frozen=True, slots=True)
class SourceRead:
    """What came of one source: its frame, findings, row of ``sources``, and faults if any.

    With faults the frame is not to be used.
    """

    frame: pd.DataFrame
    findings: list[Finding] = field(default_factory=list)
    source_row: dict[str, Any] | None = None
    faults: list[Fault] = field(default_factory=list)


def sha256_of(paths: Iterable[Path]) -> str:
    """Checksum of a file, or of all parts of a source in the order of their names."""
    digest = hashlib.sha256()
    for path in sorted(paths, key=lambda p: p.name.lower()):
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    return digest.hexdigest()


def decoded(content: bytes) -> tuple[str, str]:
    """Text of a file and the encoding it turned out to be in.

    A byte order mark decides; else UTF-8 if every byte fits, else Windows' western code page.
    """
    for mark, encoding in BOMS:
        if content.startswith(mark):
            return content.decode(encoding), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="strict"), "cp1252"
