"""The run folder: whole, or not there; never half written, whenever the power fails.

Everything is written into a folder with a temporary name beside the final one, put on the disk,
and exchanged with what stood there in one step. What was there before stays until that step; then
the files of the former run are deleted, and those of the user moved into the new folder.

Names beside the run folder, all with the number of the process: ``.part`` is being written;
``.new`` is whole and about to be exchanged, or has been, and is the former; ``.old`` is the former.
"""

import ctypes
import errno
import os
import re
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from pipeline.core.errors import Fault, OutputError, PipelineError
from pipeline.write.former_run import Owner, read_manifest, refuse_unless_former, retire
from pipeline.write.geopackage_checks import opened_to_read


@contextmanager
def folder_lock(path: Path) -> Iterator[bool]:
    """Hold a lock file; whether it was free. The file is gone when the lock is given back.

    The system frees the lock of a process that was killed, so a lock is never left behind.
    """
    handle = _opened_alone(path)
    try:
        yield handle is not None
    finally:
        if handle is not None:
            # On Windows an open file cannot be deleted, elsewhere it must be before it is free.
            if os.name == "nt":
                os.close(handle)
                path.unlink(missing_ok=True)
            else:
                path.unlink(missing_ok=True)
                os.close(handle)


def _opened_alone(path: Path) -> int | None:
    """Handle of the locked file, None where another process holds it."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o644)
        if not _lock(handle):
            os.close(handle)
            return None
        # The one who held it before may have deleted the file that was just locked.
        try:
            if os.path.sameopenfile(handle, check := os.open(path, os.O_RDWR)):
                os.close(check)
                return handle
            os.close(check)
        except FileNotFoundError:
            pass
        os.close(handle)


def _lock(handle: int) -> bool:
    """Lock an open file without waiting; whether that went."""
    try:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    except OSError:
        # Some network drives know no locks: then whoever asks may write.
        return True
    return True


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


LONGEST_DATABASE_PATH = 440
"""Letters of the path of a run folder whose GeoPackage SQLite still opens: it takes 512 in all.
*Source*: sqlite.org, "Implementation limits" and the unix interface (MAX_PATHNAME), from memory."""


FULL_BYTES = 128 << 10
"""Less room than this is none: a GeoPackage grows by more at a time."""


LINUX_EXCHANGE = 2  # RENAME_EXCHANGE of renameat2(2)


LINUX_HERE = -100  # AT_FDCWD


@contextmanager
def run_folder(out_dir: Path, place: str, owner: Owner) -> Iterator[Path]:
    """A folder to write a run into, moved to ``out_dir/place`` whole when the block ends well.

    Raises OutputError where it cannot be written, where what stands there is not a former run of
    the property, where a viewer has the former GeoPackage open, or where another run writes the
    same folder; what was there then stands as it was.
    """
    final = out_dir / place
    with sole_writer(out_dir, place, final, "another run is writing it"):
        _bring_back(out_dir, place)
        _refuse(final, owner)
        _clear_remains(out_dir, place)
        yield from _built(out_dir, place, owner)


@contextmanager
def sole_writer(out_dir: Path, name: str, where: Path, found: str) -> Iterator[Path]:
    """Be the only one who writes what the lock file, which it gives, stands for.

    The folder is made where it is not there, and gone again where nothing was put in it. Raises
    OutputError with ``where`` and ``found`` where another process is at it.
    """
    with _disk_faults(where):
        made = _make_folder(out_dir)
        try:
            with folder_lock(lock := out_dir / f".{name}.lock") as free:
                if not free:
                    do = "wait until it has ended"
                    raise OutputError(Fault(str(where), found, "one at a time", do))
                yield lock
        finally:
            for folder in made:
                _remove_if_empty(folder)


def check_place(final: Path, owner: Owner, *, needed: Iterable[Path] = ()) -> None:
    """Raise OutputError where a run folder would be refused, before anything is computed.

    ``needed`` are the files and folders that the run reads: they must not lie in it.
    """
    with _disk_faults(final):
        _refuse(final, owner, needed)


def _refuse(final: Path, owner: Owner, needed: Iterable[Path] = ()) -> None:
    """Raise OutputError where a run may not take the place of what stands there now."""
    refuse_unless_former(final, owner, needed)
    _refuse_if_open(final)


def _built(out_dir: Path, place: str, owner: Owner) -> Iterator[Path]:
    """The temporary folder; put in place when the caller comes back, deleted when it fails."""
    final = out_dir / place
    building = out_dir / f".{place}.{os.getpid()}.part"
    building.mkdir()
    try:
        yield building
        _check_databases(building)
        _put_on_disk(building)
        _refuse(final, owner)
        former = _put_in_place(building, final)
        _sync_folder(out_dir)
        if former is not None:
            retire(former, final)
    except Exception as error:
        # A library may drop what the disk said and stumble later, over a table that it lacks.
        if not isinstance(error, PipelineError | OSError):
            _refuse_without_room(building, error)
        raise
    finally:
        shutil.rmtree(building, ignore_errors=True)


def _refuse_without_room(folder: Path, error: Exception) -> None:
    """Raise OSError, as the system says it, where a folder takes no further file to speak of."""
    try:
        with tempfile.TemporaryFile(dir=folder, buffering=0) as probe:
            probe.write(bytes(FULL_BYTES))
            probe.write(b"\0")  # a write that filled the last room only says so at the next one
    except OSError as full:
        raise full from error


def _make_folder(folder: Path) -> list[Path]:
    """Make a folder and those above it; the ones that were not there, innermost first."""
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    if folder.exists() and not folder.is_dir():
        found = "a file of that name is in the way"
        raise OutputError(Fault(str(folder), found, "a folder or nothing", "move it away"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, FileNotFoundError) as error:
        # A link that leads nowhere, or a place that is the system's own.
        found, do = "cannot be made there", "choose another place with --out"
        raise OutputError(Fault(str(folder), found, "a folder or nothing", do)) from error
    return missing


def _remove_if_empty(folder: Path) -> None:
    """Remove a folder that nothing was put in."""
    try:
        folder.rmdir()
    except OSError:
        return


def _remains(out_dir: Path, place: str, kinds: str) -> list[Path]:
    """Folders that runs left beside the run folder.

    Whoever holds the lock is the only writer, so all of them are of runs that have ended.
    """
    name = re.compile(rf"\.{re.escape(place)}\.[0-9]+\.({kinds})")
    found = (path for path in out_dir.iterdir() if name.fullmatch(path.name))
    return sorted(path for path in found if path.is_dir() and not path.is_symlink())


def clear_all_remains(out_dir: Path) -> None:
    """Clear up after runs that were killed, whatever place of a folder they were for.

    A former run set aside gets its name again, and the user's files in it come along; a place that
    a run is writing now is left to it.
    """
    name = re.compile(r"\.([a-z0-9_]+)\.(?:[0-9]+\.(?:part|new|old)|lock)")
    found = [path for path in out_dir.iterdir() if path.is_dir() or not path.stat().st_size]
    matches = (name.fullmatch(path.name) for path in found)
    for place in sorted({match[1] for match in matches if match}):
        with folder_lock(out_dir / f".{place}.lock") as free:
            if free:
                _bring_back(out_dir, place)
                _clear_remains(out_dir, place)


def _former_runs(out_dir: Path, place: str) -> list[Path]:
    """Former runs that a crash left aside: folders with a record, or emptied already."""
    aside = _remains(out_dir, place, "old|new")
    return [path for path in aside if read_manifest(path) or not any(path.iterdir())]


def _bring_back(out_dir: Path, place: str) -> None:
    """Give a former run that a crash left aside its name again."""
    final = out_dir / place
    aside = _former_runs(out_dir, place)
    if aside and not os.path.lexists(final):
        aside[0].rename(final)


def _clear_remains(out_dir: Path, place: str) -> None:
    """Delete what was half built, and retire former runs that a crash left aside.

    A half-built folder never held anything but what the program wrote.
    """
    for part in _remains(out_dir, place, "part"):
        shutil.rmtree(part, ignore_errors=True)
    for aside in _former_runs(out_dir, place):
        retire(aside, out_dir / place)


def _refuse_if_open(final: Path) -> None:
    """Raise OutputError where a GeoPackage of the former run is open in a viewer."""
    open_marks = [p.name for mark in OPEN_MARKS for p in final.glob(f"*.gpkg{mark}")]
    if open_marks:
        found = f"its GeoPackage is open in another program ({', '.join(open_marks)})"
        do = "close the file in the viewer and run again"
        raise OutputError(Fault(str(final), found, "a GeoPackage that nothing has open", do))


def _check_databases(folder: Path) -> None:
    """Raise OutputError where a GeoPackage did not reach the disk whole."""
    for path in sorted(folder.glob("*.gpkg")):
        try:
            with opened_to_read(path) as database:
                verdict = database.execute("PRAGMA quick_check").fetchone()[0]
        except sqlite3.DatabaseError as error:
            verdict = str(error)
        if verdict != "ok":
            found, do = f"was not written whole ({verdict})", "look whether the disk is full"
            raise OutputError(Fault(path.name, found, "a whole file", f"{do}, and run again"))


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


def _put_in_place(building: Path, final: Path) -> Path | None:
    """Give the finished folder its name; where the former run stands now, None if there was none.

    In one step where the system can exchange two folders. Elsewhere the former folder is set aside
    for the moment between two renamings; a run killed in that moment is mended by the next one.
    """
    if final.exists() and not any(final.iterdir()):
        final.rmdir()
    if not final.exists():
        building.rename(final)
        return None
    # From here on the folder must not be taken for a half-built one: it may turn into the former.
    ready = building.with_suffix(".new")
    building.rename(ready)
    if _exchanged(ready, final):
        return ready
    ready.rename(building)
    former = building.with_suffix(".old")
    final.rename(former)
    try:
        building.rename(final)
    except OSError:
        former.rename(final)
        raise
    return former


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
        if found == PROTECTED and len(str(final)) > LONGEST_DATABASE_PATH:
            found = f"its path has {len(str(final))} letters, too many for a GeoPackage"
        expected, do = "a folder that can be written to", "make room, or choose another with --out"
        fault = Fault(str(final), f"cannot be written ({found})", expected, do)
        raise OutputError(fault) from error


DISK_ERRORS = {
    errno.ENOSPC,
    errno.EDQUOT,
    errno.EFBIG,
    errno.EROFS,
    errno.EACCES,
    errno.EPERM,
    errno.EIO,
    errno.ENOTDIR,
    errno.ENAMETOOLONG,
    errno.EBUSY,
}


def _disk_words(error: BaseException | None) -> str | None:
    """What an error says of the disk, None where it is about something else."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in DISK_ERRORS:
            return error.strerror
        said = str(error).lower()
        found = next((words for phrase, words in WORDS_BY_PHRASE.items() if phrase in said), None)
        if found is not None and not isinstance(error, OSError):
            return found
        error = error.__cause__ or error.__context__
    return None
