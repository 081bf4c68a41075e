"""What a property file from a stranger may reach: files in folders the user gave, nothing else."""

import codecs
import re
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

import pandas as pd

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.names import as_text, hidden_characters, suggestion
from pipeline.intake.map_formats import FOLDER_SUFFIXES

ENCODING_BY_MARK = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}


@dataclass(frozen=True, slots=True)
class SourceRead:
    """What came of one source: its frame, findings, row of ``sources``, faults and mends if any.

    With faults the frame is not to be used.
    """

    frame: pd.DataFrame
    findings: list[Finding] = field(default_factory=list)
    source_row: dict[str, Any] | None = None
    faults: list[Fault] = field(default_factory=list)
    mended: pd.DataFrame | None = None


def decoded(content: bytes) -> tuple[str, str]:
    """Text of a file and the encoding it turned out to be in.

    A byte order mark decides; else UTF-8 if every byte fits, else Windows' western code page.
    """
    for mark, encoding in ENCODING_BY_MARK.items():
        if content.startswith(mark):
            return content.decode(encoding), encoding
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="strict"), "cp1252"


@contextmanager
def plain_reading(name: str) -> Iterator[None]:
    """Turn what the system refuses while a file is read or copied into a fault of the source."""
    try:
        yield
    except OSError as error:
        found = f"cannot be read ({error.strerror or type(error).__name__})"
        do = "check its rights, and the room in the folder for temporary files"
        raise SourceError.of(name, found, "a file that can be read", do) from error


VIRTUAL_PATH = re.compile(r"(?i)^\s*(/?/vsi|[a-z][a-z0-9+.-]+:|<|\\\\|//)")
INNER_VIRTUAL_PATH = re.compile(r"(?i)[/\\]vsi[a-z0-9]+[/\\]")


def guard_path(
    path_text: str, folder: Path, allowed: tuple[Path, ...] = (), *, where: str | None = None
) -> Path:
    """The file that a path in a property file stands for, links resolved. Raises SourceError.

    The path counts from the property file's folder and must end in it or in a folder the user
    allowed on the command line; it must be a plain file, or a folder that is a known map format.
    """
    path = _guarded(path_text, folder, allowed, where or path_text)
    _must_be_a_file(path, where or path_text)
    return path


def guard_folder(path_text: str, folder: Path, allowed: tuple[Path, ...], *, where: str) -> Path:
    """The folder that a path in a property file stands for, links resolved. Raises SourceError."""
    path = _guarded(path_text, folder, allowed, where)
    if not path.is_dir():
        found = f"{path} is a file" if path.exists() else f"no folder at {path}"
        raise SourceError.of(where, found, "a folder", "give the path of the folder itself")
    return path


def _guarded(path_text: str, folder: Path, allowed: tuple[Path, ...], place: str) -> Path:
    """Where a path leads, links resolved. Raises SourceError where that is out of bounds."""
    refused = partial(SourceError.of, place)
    if hidden := hidden_characters(path_text):
        found = f"the path holds hidden characters ({', '.join(hidden)})"
        raise refused(found, "a plain path", "type the path again")
    if VIRTUAL_PATH.match(path_text) or INNER_VIRTUAL_PATH.search(path_text):
        found = f'"{path_text}" is a network address, a virtual path or a driver name'
        do = "download or unpack it and give the file's path"
        raise refused(found, "a file on this computer", do)
    path = (folder / portable(path_text)).resolve()
    roots = [root.resolve() for root in (folder, *allowed)]
    if not any(path.is_relative_to(root) for root in roots):
        found = f'"{path_text}" lies outside the property file\'s folder'
        do = f"move it there, or allow its folder: --allow {path.parent}"
        raise refused(found, f"a file below {roots[0]}", do)
    if as_text(str(path)) != str(path):
        found = f"{as_text(str(path))}: its name, or a folder's, holds bytes that are no text"
        raise refused(found, "names in UTF-8", "rename it")
    return path


def portable(path_text: str) -> str:
    """A relative path with forward slashes, so that it means the same on every system."""
    if PurePosixPath(path_text).is_absolute() or PureWindowsPath(path_text).is_absolute():
        return path_text
    return path_text.replace("\\", "/")


def _must_be_a_file(path: Path, place: str) -> None:
    """Raise SourceError unless the path is a file that can be read from start to end."""
    refused = partial(SourceError.of, place)
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError) as error:
        siblings = [p.name for p in path.parent.iterdir()] if path.parent.is_dir() else []
        do = suggestion(path.name, siblings)
        raise refused(f"no file at {path}", "an existing file", do) from error
    is_map_folder = stat.S_ISDIR(mode) and path.suffix.lower() in FOLDER_SUFFIXES
    if not (stat.S_ISREG(mode) or is_map_folder):
        kind = "a folder" if stat.S_ISDIR(mode) else "a device or pipe"
        raise refused(f"{path} is {kind}", "a file", "give the path of the file itself")


def guard_parts(parts: Iterable[Path], roots: tuple[Path, ...], name: str) -> None:
    """Raise SourceError where a part of a source is a link that leads out of the given folders."""
    inside = [root.resolve() for root in roots]
    for part in parts:
        resolved = part.resolve()
        if not any(resolved.is_relative_to(root) for root in inside):
            found = f"{part.name} is a link to {resolved}"
            expected = "all parts in the property file's folder"
            raise SourceError.of(name, found, expected, "copy the file there")
