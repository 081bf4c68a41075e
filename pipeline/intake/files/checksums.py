"""Checksums of sources; that of a large one that properties share is made once a process."""

import hashlib
import time
from collections.abc import Iterable
from pathlib import Path

LARGE_BYTES = 32 << 20
"""A source of so many bytes is not read again for its checksum as long as it stands as it did."""

FRESH_SECONDS = 3.0
"""A file changed less than so long ago might be changed again and show the same time: the coarsest
times of a file system in use are those of FAT, 2 s. *Source*: from memory."""

States = tuple[tuple[int, ...], ...]
"""What tells that files are those that they were: device, number, size, times."""

_sum_by_states: dict[States, str] = {}


def sha256_of(paths: Iterable[Path]) -> str:
    """Checksum of a file, or of all parts of a source in the order of their names."""
    parts = sorted(paths, key=lambda path: path.name.lower())
    before = file_states(parts)
    known = _sum_by_states.get(before)
    if known is not None:
        return known
    digest = hashlib.sha256()
    for part in parts:
        with part.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    if _lasts(before) and file_states(parts) == before:
        _sum_by_states[before] = digest.hexdigest()
    return digest.hexdigest()


def file_states(paths: Iterable[Path]) -> States:
    """State of each file; a change of its content, however small, changes its last number."""
    told = (path.stat() for path in paths)
    return tuple((s.st_dev, s.st_ino, s.st_size, s.st_mtime_ns, s.st_ctime_ns) for s in told)


def _lasts(states: States) -> bool:
    """Whether a checksum is worth keeping and a later change would be seen."""
    newest = max((changed for *_, changed in states), default=0) / 1e9
    large = sum(size for _, _, size, *_ in states) >= LARGE_BYTES
    return large and time.time() - newest > FRESH_SECONDS
