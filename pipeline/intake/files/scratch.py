"""Folders for copies that are gone in the end, also where the process that made one was killed.

A process holds a lock on its folder as long as it lives; the system frees it, however the process
ends. So whoever gets the lock knows that nobody works there any more.
"""

import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

PREFIX = "swardline-scratch-"
"""What the names of these folders begin with; the rest is made up for each."""

NAME = re.compile(rf"{PREFIX}[a-z0-9_]{{8}}")


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """A folder for copies, in the system's own place for such, which is gone in the end."""
    folder, handle = _made()
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        if handle is not None:
            os.close(handle)


def _made() -> tuple[Path, int | None]:
    """A new folder, and the handle that holds its lock; None where folders cannot be locked."""
    while True:
        folder = Path(tempfile.mkdtemp(prefix=PREFIX))
        try:
            handle = _locked(folder) if os.name != "nt" else None
        except (BlockingIOError, FileNotFoundError):
            continue  # Another process cleared it away between the two steps.
        except OSError:
            return folder, None  # Some drives know no locks.
        if folder.exists():
            return folder, handle


def clear_scratch() -> None:
    """Delete the folders of processes that were killed; those of the living stay.

    Windows has no locks on folders: there they stay until the system clears its own place.
    """
    if os.name == "nt":
        return
    with suppress(OSError):
        for entry in list(os.scandir(tempfile.gettempdir())):
            if NAME.fullmatch(entry.name) and entry.is_dir(follow_symlinks=False):
                _clear(Path(entry.path))


def _clear(folder: Path) -> None:
    """Delete a folder unless a process works there, or it is another user's."""
    with suppress(OSError):
        handle = _locked(folder)
        shutil.rmtree(folder, ignore_errors=True)
        os.close(handle)


def _locked(folder: Path) -> int:
    """Handle of a folder, locked from now on. Raises OSError where another process holds it."""
    import fcntl

    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        raise
    return handle
