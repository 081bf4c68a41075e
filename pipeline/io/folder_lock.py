"""One writer at a time for a folder; a lock dies with the process that holds it."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


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
