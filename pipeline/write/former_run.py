"""The folder that a run is to take the place of: whose it is, and what in it is not the run's.

Only a file that a record accounts for is ever deleted, and it is looked at in that moment. All
else in a run folder belongs to the user and is moved into the new one.
"""

import hashlib
import json
import logging
import os
import re
import unicodedata
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.core.errors import Fault, OutputError, one_line
from pipeline.intake.files.checksums import sha256_of

RECORD = "run.json"


RECORD_SUM = "record_sha256"


# Bytes of a database's header that change when a viewer opens and closes it without an edit:
# journal mode, change counter, the counter's copy, version of the library.
# *Source*: SQLite, Database File Format, section 1.3, "The Database Header".
SQLITE, SQLITE_HEADER_BYTES = b"SQLite format 3\0", 100


CHANGED_BY_VIEWERS = (slice(18, 20), slice(24, 28), slice(92, 100))


@dataclass(frozen=True, slots=True)
class Manifest:
    """The property a run was for and the checksums of its files; all else is not the run's.

    ``property_file`` is the way to the property file from beside the run folder, where it is known.
    """

    property_name: str
    property_file: str | None
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
    sealed = {**record, RECORD_SUM: _record_sum(record)}
    return json.dumps(sealed, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def read_manifest(folder: Path) -> Manifest | None:
    """What the record in a run folder accounts for; None where there is no record of a run."""
    path = folder / RECORD
    if path.is_symlink() or not path.is_file():
        return None
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
        record_sum = record.pop(RECORD_SUM, None)
        sums = {row["file"]: _sums(row) for row in record["outputs"]}
        name, source = record["property"]["name"], record["property"].get("file")
        known = "swardline" in record["program"] and isinstance(name, str)
        if not known or not all(re.fullmatch(r"[^/\\:]*[^/\\:.]", file) for file in sums):
            return None
        file = source if isinstance(source, str) else None
        return Manifest(name, file, sums, record_sum == _record_sum(record))
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


MOST_NAMES = 5


ELSEWHERE = "choose another place with --out"


log = logging.getLogger("swardline")


@dataclass(frozen=True, slots=True)
class Owner:
    """Whose a run folder is: name of the property, and the way to its file, where it is known.

    The way leads from the folder that the run folder stands in, so that both may move together.
    """

    property_name: str
    property_file: str | None = None


def refuse_unless_former(final: Path, owner: Owner, needed: Iterable[Path] = ()) -> None:
    """Raise OutputError unless a folder is absent, empty or of a former run of the property.

    ``needed`` are the files and folders that the run reads; a folder that holds one is refused.
    """
    fault = _fault(final, owner, needed)
    if fault is not None:
        found, expected, do = fault
        raise OutputError(Fault(str(final), found, expected, do))


def _fault(final: Path, owner: Owner, needed: Iterable[Path]) -> tuple[str, str, str] | None:
    """Why a run may not take the place of a folder: what was found, what is expected, what to do.

    None where it may.
    """
    if final.is_symlink():
        return "is a link", "a folder or nothing", f"remove the link, or {ELSEWHERE}"
    if not final.exists():
        return None
    if not final.is_dir():
        return "a file of that name is in the way", "a folder or nothing", "move it away"
    source = next((path for path in needed if _holds(final, path)), None)
    if source is not None:
        return f"holds {source}, which this run reads", "a folder apart from the sources", ELSEWHERE
    if not os.access(final, os.R_OK | os.W_OK | os.X_OK):
        found = "cannot be written (the folder is protected)"
        return found, "a folder that can be written to", ELSEWHERE
    if not any(final.iterdir()):
        return None
    manifest = read_manifest(final)
    if manifest is None:
        found = f"holds files and no {RECORD} of a run, so no run wrote it"
        return found, "a run folder, an empty one or none", f"move it away, or {ELSEWHERE}"
    expected, do = f'a run of "{owner.property_name}" or nothing', f"move it away, or {ELSEWHERE}"
    if manifest.property_name != owner.property_name:
        return f'holds a run of another property, "{manifest.property_name}"', expected, do
    files = (manifest.property_file, owner.property_file)
    if None not in files and len(set(files)) > 1:
        found = f"holds a run of a property of the same name, from {manifest.property_file}"
        return found, f"a run from {owner.property_file} or nothing", do
    return None


def _holds(folder: Path, path: Path) -> bool:
    """Whether a path, or the file that it links to, lies in a folder or is it."""
    places = (Path(os.path.abspath(path)), path.resolve())
    above = (place for form in places for place in (form, *form.parents))
    return any(os.path.exists(place) and place.samefile(folder) for place in above)


def retire(former: Path, final: Path) -> None:
    """Delete the files of a former run and move all else there into the folder that replaced it.

    A file whose name is taken, and one of the run's own that was edited, get a name with "kept".
    What another program keeps open stays where it is, with the record; the log says so, and the
    next run moves it.
    """
    manifest = read_manifest(former)
    stuck: list[str] = []
    moved: list[tuple[str, str, int]] = []
    taken = {_folded(path.name) for folder in (former, final) for path in folder.iterdir()}
    new = {_folded(path.name) for path in final.iterdir()}
    for path in _record_last(former):
        if path.name == RECORD and stuck:
            break
        try:
            if manifest is not None and _is_the_runs(manifest, path):
                path.unlink()
                continue
            edited = manifest is not None and path.name in {RECORD, *manifest.sums_by_file}
            renamed = edited or _folded(path.name) in new
            name = _free_name(path, taken) if renamed else path.name
            count = _file_count(path)
            path.rename(final / name)
            taken.add(_folded(name))
            moved.append((path.name, name, count))
        except OSError:
            stuck.append(path.name)
    _tell(former, final, moved, stuck)
    with suppress(OSError):
        former.rmdir()


def _record_last(folder: Path) -> list[Path]:
    """What is in a folder by name; the record, which tells what is the run's, at the end."""
    return sorted(folder.iterdir(), key=lambda path: (path.name == RECORD, path.name))


def _is_the_runs(manifest: Manifest, path: Path) -> bool:
    """Whether a run wrote a file as it stands; one that cannot be read may be another's."""
    try:
        return manifest.accounts_for(path)
    except OSError:
        return False


def _free_name(path: Path, taken: set[str]) -> str:
    """A name that tells a file was kept, and that nothing else has."""
    number = 1
    while True:
        name = f"{path.stem}_kept{f'_{number}' if number > 1 else ''}{path.suffix}"
        if _folded(name) not in taken:
            return name
        number += 1


def _folded(name: str) -> str:
    """A name as file systems compare it that know no upper and lower case."""
    return unicodedata.normalize("NFC", name).casefold()


def _file_count(path: Path) -> int:
    """How many files a path stands for; links are not followed."""
    if path.is_symlink() or not path.is_dir():
        return 1
    return sum(
        len(files) + sum(os.path.islink(os.path.join(folder, name)) for name in folders)
        for folder, folders, files in os.walk(path)
    )


def _tell(former: Path, final: Path, moved: list[tuple[str, str, int]], stuck: list[str]) -> None:
    """Say what was carried over, under which name, and what could not be."""
    if moved:
        names = ", ".join(new for _, new, _ in moved[:MOST_NAMES])
        more = f" and {len(moved) - MOST_NAMES} more" if len(moved) > MOST_NAMES else ""
        files = sum(count for *_, count in moved)
        unit = "file" if files == 1 else "files"
        log.info(one_line(f"carried over {files} {unit} that no run wrote: {names}{more}"))
    for old, new, _ in moved:
        if old != new:
            log.warning(one_line(f"{old} does not stand as a run wrote it: kept as {new}"))
    if stuck:
        log.error(
            one_line(
                f"{', '.join(stuck)} could not be moved and stays in {former}; close what holds "
                f"it open, and the next run brings it to {final}"
            )
        )
