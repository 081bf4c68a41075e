"""Photo files as they lie in a folder: untrusted, told by their own bytes, read from memory alone.

A file that is no photo stays a row with what is wrong with it: one odd file ends no run.
"""

import hashlib
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeAlias

import rasterio
from rasterio.errors import NotGeoreferencedWarning, RasterioError
from rasterio.io import DatasetReader, MemoryFile

from pipeline.core.errors import SourceError
from pipeline.core.findings import Finding
from pipeline.core.layer import Layer, empty
from pipeline.core.scene_names import days_in
from pipeline.core.section import FIRST_DAY, LAST_DAY
from pipeline.intake.cells.complaints import Value
from pipeline.intake.network import OFF
from pipeline.intake.safety import SourceRead, guard_folder
from pipeline.intake.settings import FolderSource
from pipeline.intake.tables import typed_frame

DRIVER_BY_START = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG"}
"""How a photo of each format that is read begins."""

PHOTO_SUFFIXES = (".jpg", ".jpeg", ".png")
NOT_MEANT = ("thumbs.db", "desktop.ini")
"""Files that programs leave in folders of photos; so are those that begin with a point."""

LARGEST_BYTES = 60_000_000
MOST_PIXELS = 120_000_000
"""A photo above either is not opened: no camera that is carried along makes one."""

MOST_FILES = 5000
"""Files of a folder that are looked at."""

PHOTO_OPTIONS = {
    "GDAL_CACHEMAX": 64 << 20,
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "GDAL_PAM_ENABLED": "NO",
    **OFF,
}
"""Nothing beside a photo is read, and nothing is written."""

CAMERA_TIMES = ("EXIF_DateTimeOriginal", "EXIF_DateTimeDigitized")
"""Tags of the moment a photo was taken. *Source*: Exif 2.3 (CIPA DC-008), tags 9003 and 9004."""

Row: TypeAlias = dict[str, Value]


@contextmanager
def opened_photo(content: bytes) -> Iterator[DatasetReader]:
    """A photo opened by the format that its first bytes tell. Raises ValueError, RasterioError."""
    driver = next((d for start, d in DRIVER_BY_START.items() if content.startswith(start)), None)
    if driver is None:
        raise ValueError("neither JPEG nor PNG")
    with warnings.catch_warnings(), rasterio.Env(**PHOTO_OPTIONS):
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        with MemoryFile(content) as memory, memory.open(driver=driver) as photo:
            yield photo


def read_photo_files(
    source: FolderSource, layer: Layer, folder: Path, allowed: tuple[Path, ...]
) -> SourceRead:
    """Every file of a folder of photos as a row: its days, its size, or what is wrong with it."""
    try:
        root = guard_folder(source.path, folder, allowed, where="[sources.photos] path")
    except SourceError as error:
        return SourceRead(empty(layer), faults=list(error.faults))
    paths = list(_files(root))
    digest = hashlib.sha256()
    rows = [_row(path, root, digest) for path in paths[:MOST_FILES]]
    data = {c.name: [row.get(c.name) for row in rows] for c in layer.columns}
    source_row = {
        "source": "photos",
        "path": source.path.replace("\\", "/"),
        "sha256": digest.hexdigest(),
        "driver": "JPEG, PNG",
        "crs": None,
        "rows_read": len(paths),
        "rows_used": sum("problem" not in row for row in rows),
    }
    findings = _too_many(len(paths)) if len(paths) > MOST_FILES else []
    return SourceRead(typed_frame(data, layer.columns), findings, source_row)


def _too_many(count: int) -> list[Finding]:
    """The finding of a folder with more files than are looked at."""
    message = f"{count:,} files; only the first {MOST_FILES:,} by name were looked at: give photos "
    message += "of photo points a folder of their own"
    return [Finding(severity="warning", code="photos_too_many", source="photos", message=message)]


def _files(root: Path) -> Iterator[Path]:
    """Files of a folder and those inside it, by their paths; links to folders are not followed."""
    for place, folders, names in os.walk(root):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            if not name.startswith(".") and name.casefold() not in NOT_MEANT:
                yield Path(place) / name


def _row(path: Path, root: Path, digest: Any) -> Row:
    """One file; ``digest`` takes its name and bytes where it is used."""
    inner = path.relative_to(root).as_posix()
    shown = os.fsencode(inner).decode("utf-8", "backslashreplace")
    if shown != inner:
        return {"file": shown, "problem": "name_not_utf8"}
    plain: Row = {"file": inner, "path": str(path)}
    if path.suffix.lower() not in PHOTO_SUFFIXES:
        return plain | {"problem": "other_format"}
    try:
        content, problem = _content(path, root)
    except OSError:
        return plain | {"problem": "unreadable"}
    told: Row = {"problem": problem} if problem else _told_inside(content)
    if "problem" not in told:
        digest.update(inner.encode())
        digest.update(content)
    in_name = days_in(path.name) or days_in(inner)
    return plain | {"name_date": in_name[0] if len(in_name) == 1 else None} | told


def _content(path: Path, root: Path) -> tuple[bytes, str | None]:
    """Bytes of a photo, or the code of why it is not opened."""
    if not path.resolve().is_relative_to(root):
        return b"", "outside"
    if not path.is_file():
        return b"", "unreadable"
    size = path.stat().st_size
    if size == 0 or size > LARGEST_BYTES:
        return b"", "too_large" if size else "empty"
    return path.read_bytes(), None


def _told_inside(content: bytes) -> Row:
    """Size and day of a photo as its own header tells them, or the code of what is wrong."""
    try:
        with opened_photo(content) as photo:
            width, height, tags = photo.width, photo.height, photo.tags()
    except ValueError:
        return {"problem": "not_a_photo"}
    except (RasterioError, OSError):
        return {"problem": "unreadable"}
    if width * height > MOST_PIXELS:
        return {"problem": "too_large"}
    days = [_camera_day(tags.get(name, "")) for name in CAMERA_TIMES]
    day = next((day for day in days if day is not None), None)
    return {"width": width, "height": height, "camera_date": day}


def _camera_day(text: str) -> date | None:
    """Day of a moment as cameras write it, None where it is none."""
    try:
        day = datetime.strptime(text.strip("\0 ")[:19], "%Y:%m:%d %H:%M:%S").date()
    except ValueError:
        return None
    return day if FIRST_DAY <= day <= LAST_DAY else None
