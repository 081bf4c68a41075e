"""Files that stand beside run folders, of a batch or of years: each whole or not there.

A record in JSON comes first, by which the next run knows that the others are its own.
"""

import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path

from pipeline.core.errors import Fault, OutputError
from pipeline.write.run_folder import OPEN_MARKS


def refuse_unless_former(out: Path, what: str, record: str, others: Iterable[str]) -> None:
    """Raise OutputError where these files may not be written, before anything is computed.

    ``what`` they are of is told; one that stands there must be accounted for by the ``record``.
    """
    names = tuple(others)
    for name in names:
        opened = [f"{name}{mark}" for mark in OPEN_MARKS if (out / f"{name}{mark}").exists()]
        if opened:
            found, expected = f"is open in another program ({', '.join(opened)})", "a closed file"
            raise OutputError(Fault(str(out / name), found, expected, "close it there"))
    there = [name for name in names if os.path.lexists(out / name)]
    if (out / record).exists() and not _is_ours(out / record):
        there = [record]
    elif (out / record).exists():
        return
    if there:
        found, do = f"stands there and no {what} wrote it", "move it away, or choose another --out"
        raise OutputError(Fault(str(out / there[0]), found, f"a file of a {what} or none", do))


def _is_ours(path: Path) -> bool:
    """Whether a file is a record that this program wrote."""
    try:
        return "swardline" in json.loads(path.read_text(encoding="utf-8"))["program"]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return False


def write_whole(path: Path, write: Callable[[Path], object]) -> Path:
    """Write a file beside its place, put it on the disk and give it its name."""
    part = path.with_name(f".{path.stem}.{os.getpid()}.part{path.suffix}")
    try:
        write(part)
        with part.open("rb+") as file:
            os.fsync(file.fileno())
        os.replace(part, path)
    except OSError as error:
        found, do = f"cannot be written ({error.strerror})", "make room or close it, and run again"
        raise OutputError(Fault(str(path), found, "a place that can be written", do)) from error
    finally:
        part.unlink(missing_ok=True)
    return path


def way_from(folder: Path, path: Path) -> str:
    """Way from a folder to a path; between drives, where there is none, the path itself."""
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:
        return path.as_posix()
