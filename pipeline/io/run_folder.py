"""The run folder: whole, or not there; never half written, whenever the power fails.

Everything is written into a folder with a temporary name beside the final one, put on the disk,
and exchanged with what stood there in one step. What was there before stays until that step.
"""

import ctypes
import errno
import os
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import NoReturn

from pipeline.errors import Fault, OutputError, PipelineError
from pipeline.io.folder_lock import folder_lock

OPEN_MARKS = ("-wal", "-shm", "-journal")
NO_ROOM, PROTECTED = "no room left on the disk", "the disk or folder is protected"
# What libraries that do not raise an OSError say when the system refuses to write.
WORDS_BY_PHRASE = {
    "disk is full": NO_ROOM,
    "disk full": NO_ROOM,
    "no space left": NO_ROOM,
    "file too large": NO_ROOM,
    "disk i/o error": NO_ROOM,
    "failed to commit transaction": NO_ROOM,
    "readonly database": PROTECTED,
    "read-only file system": PROTECTED,
    "unable to open database": PROTECTED,
}
LINUX_EXCHANGE = 2  # RENAME_EXCHANGE of renameat2(2)
LINUX_HERE = -100  # AT_FDCWD


@contextmanager
def run_folder(out_dir: Path, slug: str) -> Iterator[Path]:
    """A folder to write a run into, moved to ``out_dir/slug`` whole when the block ends well.

    Raises OutputError where it cannot be written, where a viewer has the former GeoPackage open,
    or where another run writes the same folder; the former run folder then stands as it was.
    """
    final = out_dir / slug
    with _disk_faults(final):
        made = _make_folder(out_dir)
        try:
            with folder_lock(out_dir / f".{slug}.lock") as free:
                if not free:
                    found, do = "another run is writing it", "wait until it has ended"
                    raise OutputError(Fault(str(final), found, "one at a time", do))
                _clear_remains(out_dir, slug)
                _refuse_if_open(final)
                yield from _built(out_dir, slug, final)
        except BaseException:
            for folder in made:
                _remove_if_empty(folder)
            raise


def _built(out_dir: Path, slug: str, final: Path) -> Iterator[Path]:
    """The temporary folder; put in place when the caller comes back, deleted when it fails."""
    building = out_dir / f".{slug}.{os.getpid()}.part"
    building.mkdir()
    try:
        yield building
        _check_databases(building)
        _put_on_disk(building)
        _refuse_if_open(final)
        _put_in_place(building, final)
        _sync_folder(out_dir)
    finally:
        shutil.rmtree(building, ignore_errors=True)


def _make_folder(folder: Path) -> list[Path]:
    """Make a folder and those above it; the ones that were not there, innermost first."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    if folder.exists() and not folder.is_dir():
        _refuse_file(folder)
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _remove_if_empty(folder: Path) -> None:
    """Remove a folder that nothing was put in."""
    try:
        folder.rmdir()
    except OSError:
        return


def _clear_remains(out_dir: Path, slug: str) -> None:
    """Bring back a former run that a crash left aside, and delete what was half built.

    Whoever holds the lock is the only writer, so all remains are of runs that have ended.
    """
    final = out_dir / slug
    for aside in sorted(out_dir.glob(f".{slug}.*.old")):
        if not final.exists():
            aside.rename(final)
        else:
            shutil.rmtree(aside, ignore_errors=True)
    for part in out_dir.glob(f".{slug}.*.part"):
        shutil.rmtree(part, ignore_errors=True)


def _refuse_if_open(final: Path) -> None:
    """Raise OutputError where a GeoPackage of the former run is open in a viewer."""
    open_marks = [p.name for mark in OPEN_MARKS for p in final.glob(f"*.gpkg{mark}")]
    if open_marks:
        raise OutputError(
            Fault(
                str(final),
                f"its GeoPackage is open in another program ({', '.join(open_marks)})",
                "a GeoPackage that nothing has open",
                "close the file in the viewer and run again",
            )
        )
    if final.exists() and not final.is_dir():
        _refuse_file(final)


def _refuse_file(path: Path) -> NoReturn:
    """Raise OutputError: a file stands where a folder is to be."""
    found = "a file of that name is in the way"
    raise OutputError(Fault(str(path), found, "a folder or nothing", "move it away"))


def _check_databases(folder: Path) -> None:
    """Raise OutputError where a GeoPackage did not reach the disk whole."""
    for path in sorted(folder.glob("*.gpkg")):
        try:
            with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as database:
                verdict = database.execute("PRAGMA quick_check").fetchone()[0]
        except sqlite3.DatabaseError as error:
            verdict = str(error)
        if verdict != "ok":
            raise OutputError(Fault(path.name, f"was not written whole ({verdict})", "a whole file",
                                    "look whether the disk is full, and run again"))  # fmt: skip


def _put_on_disk(folder: Path) -> None:
    """Wait until every file of a folder is on the disk."""
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            with path.open("rb+") as file:
                os.fsync(file.fileno())
    _sync_folder(folder)


def _sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disk; Windows knows no such thing."""
    if os.name != "nt":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _put_in_place(building: Path, final: Path) -> None:
    """Give the finished folder its name, in one step where the system can exchange two folders.

    Elsewhere the former folder is set aside for the moment between two renamings; a run that is
    killed in that moment is mended by the next one.
    """
    if not final.exists():
        building.rename(final)
    elif not _exchanged(building, final):
        aside = building.with_suffix(".old")
        final.rename(aside)
        building.rename(final)
        shutil.rmtree(aside, ignore_errors=True)


def _exchanged(first: Path, second: Path) -> bool:
    """Exchange two folders in one step; False where the system cannot."""
    if sys.platform != "linux":
        return False
    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except AttributeError:
        return False
    names = (os.fsencode(first), os.fsencode(second))
    return rename(LINUX_HERE, names[0], LINUX_HERE, names[1], LINUX_EXCHANGE) == 0


@contextmanager
def _disk_faults(final: Path) -> Iterator[None]:
    """Turn what a full or protected disk raises, in whatever writer, into one clear line."""
    try:
        yield
    except PipelineError:
        raise
    except Exception as error:
        found = _disk_words(error)
        if found is None:
            raise
        raise OutputError(
            Fault(str(final), f"cannot be written ({found})", "a folder that can be written to",
                  "make room, or choose another one with --out")
        ) from error  # fmt: skip


def _disk_words(error: BaseException | None) -> str | None:
    """What an error says of the disk, None where it is about something else."""
    disk_errors = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EACCES, errno.EPERM,
                   errno.EIO, errno.ENOTDIR, errno.ENAMETOOLONG}  # fmt: skip
    while error is not None:
        if isinstance(error, OSError) and error.errno in disk_errors:
            return error.strerror
        said = str(error).lower()
        found = next((words for phrase, words in WORDS_BY_PHRASE.items() if phrase in said), None)
        if found is not None and not isinstance(error, OSError):
            return found
        error = error.__cause__ or error.__context__
    return None
