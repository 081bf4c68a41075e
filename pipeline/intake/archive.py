"""Unpack a zip of map files, without letting it reach out of its place or grow without end."""

import re
import shutil
import stat
import zipfile
from pathlib import Path, PurePosixPath

from pipeline.core.errors import Fault, SourceError
from pipeline.core.names import listed

READABLE = "a shapefile, GeoPackage, GeoJSON, KML, GPX, FlatGeobuf, file geodatabase, or a zip"


DRIVERS = frozenset({"ESRI Shapefile", "GPKG", "GeoJSON", "ESRIJSON", "KML", "LIBKML", "GPX",
                     "FlatGeobuf", "OpenFileGDB"})  # fmt: skip


LARGEST_BYTES = 4_000_000_000


LARGEST_TEXT_BYTES = 1_000_000_000


SHAPEFILE_PARTS = frozenset({".dbf", ".shx", ".prj", ".cpg", ".sbn", ".sbx"})


HEAD_BYTES = 4096


XML_ROOT = re.compile(rb"^\s*(?:<\?xml[^>]*\?>\s*)?(?:<!--.*?-->\s*)*<(?:\w+:)?(\w+)", re.DOTALL)


DRIVER_BY_XML_ROOT = {b"kml": "KML", b"gpx": "GPX"}


FORBIDDEN_IN_XML = {b"<!doctype": "a document type declaration", b"<!entity": "entities",
                    b"<networklink": "a network link", b"<xi:include": "an inclusion"}  # fmt: skip


def map_format(path: Path, name: str) -> str:
    """Name of the driver for a file, or "zip". Raises SourceError for anything else."""
    if path.is_dir():
        return "OpenFileGDB"
    size = path.stat().st_size
    if size == 0:
        raise SourceError(Fault(name, "the file is empty (0 bytes)", READABLE, "get a new copy"))
    if size > LARGEST_BYTES:
        raise SourceError(Fault(name, f"{size:,} bytes", "at most 4 GB", "cut it to the property"))
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if head.startswith(b"PK\x03\x04"):
        return "zip"
    if head.startswith(b"SQLite format 3\0"):
        return "GPKG"
    if head.startswith(b"\x00\x00\x27\x0a") and path.suffix.lower() == ".shp":
        return "ESRI Shapefile"
    if head.startswith(b"fgb"):
        return "FlatGeobuf"
    return _text_format(path, head, name)


def _text_format(path: Path, head: bytes, name: str) -> str:
    """Format of a file that is neither of the binary ones."""
    if path.suffix.lower() in SHAPEFILE_PARTS:
        raise SourceError(
            Fault(name, f"the {path.suffix} part of a shapefile", "its .shp file",
                  f"write {Path(name).with_suffix('.shp').as_posix()}")
        )  # fmt: skip
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith((b"{", b"<")) and path.stat().st_size > LARGEST_TEXT_BYTES:
        raise SourceError(Fault(name, "a text map of more than 1 GB", "at most 1 GB",
                                "save it as a GeoPackage"))  # fmt: skip
    if start.startswith(b"{"):
        return "GeoJSON"
    if start.startswith(b"<"):
        return check_xml(path, name)
    raise SourceError(Fault(name, "not a map format that is read", READABLE,
                            "check the file, or save it as a GeoPackage"))  # fmt: skip


def check_xml(path: Path, name: str) -> str:
    """Driver of an XML map. Raises SourceError where it declares entities or points elsewhere."""
    content = path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    lowered = content.lower()
    found = [words for mark, words in FORBIDDEN_IN_XML.items() if mark in lowered]
    if found:
        raise SourceError(
            Fault(name, f"the XML holds {' and '.join(found)}", "plain KML or GPX",
                  "save the shapes themselves as KML or GeoPackage")
        )  # fmt: skip
    root = XML_ROOT.match(content)
    driver = DRIVER_BY_XML_ROOT.get(root[1].lower()) if root else None
    if driver is None:
        what = root[1].decode() if root else "unknown"
        raise SourceError(Fault(name, f'XML of the kind "{what}"', READABLE,
                                "save it as a GeoPackage"))  # fmt: skip
    return driver


MOST_MEMBERS = 10_000


LARGEST_BYTES = 2_000_000_000


LARGEST_RATIO = 1000


SMALL_BYTES = 10_000_000


BLOCK_BYTES = 1 << 20


MAP_SUFFIXES = frozenset({".shp", ".gpkg", ".geojson", ".json", ".kml", ".gpx", ".fgb", ".kmz"})


def unpack(path: Path, name: str, scratch: Path) -> list[Path]:
    """Unpack a zip into a scratch folder; the map files in it, by path. Raises SourceError."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = [m for m in archive.infolist() if not m.is_dir()]
            _check_members(members, name)
            for member in members:
                _write_member(archive, member, scratch, name)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        raise SourceError(Fault(name, f"the zip cannot be unpacked ({error})", "a whole zip file",
                                "unpack it by hand and name the map file")) from error  # fmt: skip
    return map_files(scratch)


def map_files(folder: Path) -> list[Path]:
    """Map files and file geodatabases below a folder, by path; hidden ones are left out."""
    files = [p for p in folder.rglob("*") if p.suffix.lower() in MAP_SUFFIXES and p.is_file()]
    bases = [p for p in folder.rglob("*.gdb") if p.is_dir()]
    hidden = (".", "__MACOSX")
    return sorted(
        p for p in [*files, *bases]
        if not any(part.startswith(hidden) for part in p.relative_to(folder).parts)
    )  # fmt: skip


def choose_map(files: list[Path], scratch: Path, layer: str | None, name: str) -> Path:
    """The one map file of a zip, or the one that ``layer`` names. Raises SourceError."""
    if len(files) == 1:
        return files[0]
    names = [file.relative_to(scratch).as_posix() for file in files]
    named = [f for f, n in zip(files, names, strict=True) if layer in (n, f.name, f.stem)]
    if len(named) == 1:
        return named[0]
    found = f"{len(files)} map files ({listed(names)})" if files else "no map file in the zip"
    raise SourceError(
        Fault(name, found, f"one map file: {READABLE}",
              f'choose one: layer = "{files[0].stem}"' if files else "look into the zip")
    )  # fmt: skip


def _check_members(members: list[zipfile.ZipInfo], name: str) -> None:
    """Raise for names that leave the zip, links, passwords and sizes that cannot be meant."""
    expected, do = "a zip of one map", "unpack it by hand and look at it"
    size = sum(m.file_size for m in members)
    packed = sum(m.compress_size for m in members)
    if len(members) > MOST_MEMBERS:
        raise SourceError(Fault(name, f"{len(members)} files in the zip", expected, do))
    if size > LARGEST_BYTES or (size > SMALL_BYTES and size > LARGEST_RATIO * max(packed, 1)):
        raise SourceError(
            Fault(name, f"unpacks to {size:,} bytes from {packed:,}", "at most 2 GB, and not "
                  f"more than {LARGEST_RATIO} times its packed size", do)
        )  # fmt: skip
    for member in members:
        parts = PurePosixPath(member.filename.replace("\\", "/"))
        if parts.is_absolute() or ".." in parts.parts or ":" in member.filename:
            found = f'a file that would be written outside: "{member.filename}"'
            raise SourceError(Fault(name, found, expected, do))
        if stat.S_ISLNK(member.external_attr >> 16):
            raise SourceError(Fault(name, f'a link in the zip: "{member.filename}"', expected, do))
        if member.flag_bits & 1:
            raise SourceError(Fault(name, "the zip has a password", "a zip without one",
                                    "unpack it by hand"))  # fmt: skip


def _write_member(
    archive: zipfile.ZipFile, member: zipfile.ZipInfo, scratch: Path, name: str
) -> None:
    """Write one file of a zip, never more bytes than it declares."""
    target = scratch / member.filename.replace("\\", "/")
    if not target.resolve().is_relative_to(scratch.resolve()):
        raise SourceError(Fault(name, f'a file that would be written outside: "{member.filename}"',
                                "a zip of one map", "unpack it by hand"))  # fmt: skip
    target.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(member) as packed, target.open("wb") as plain:
        shutil.copyfileobj(packed, plain, BLOCK_BYTES)
        if plain.tell() > member.file_size:
            raise SourceError(Fault(name, f'"{member.filename}" is larger than it declares',
                                    "a whole zip file", "get a new copy"))  # fmt: skip
