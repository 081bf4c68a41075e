"""The formats of map files, told by their bytes, and copies that a reader may safely open.

A zip is unpacked without letting it reach out of its place or grow without end. A GeoPackage is
copied, since reading one that another program has open writes beside it.
"""

import re
import shutil
import sqlite3
import stat
import zipfile
from collections.abc import Iterator
from contextlib import closing
from functools import partial
from pathlib import Path, PurePosixPath

from pipeline.core.errors import SourceError
from pipeline.core.limits import MAP_FILE, TEXT_MAP, ZIP_FILES, ZIP_RATIO, ZIP_UNPACKED
from pipeline.core.names import listed

READABLE = "a shapefile, GeoPackage, GeoJSON, KML, GPX, FlatGeobuf, file geodatabase, or a zip"
"""The formats of map files in words; their suffixes and drivers follow."""

SUFFIXES_BY_DRIVER = {
    "ESRI Shapefile": (".shp",),
    "GPKG": (".gpkg",),
    "GeoJSON": (".geojson", ".json"),
    "ESRIJSON": (".json",),
    "KML": (".kml",),
    "LIBKML": (".kml",),
    "GPX": (".gpx",),
    "FlatGeobuf": (".fgb",),
    "OpenFileGDB": (".gdb",),
}
"""Suffixes that the files of each driver have; a file geodatabase is a folder."""

MAP_SUFFIXES = frozenset(suffix for several in SUFFIXES_BY_DRIVER.values() for suffix in several)
KMZ = ".kmz"  # a zip of one KML file
ZIP_SUFFIXES = frozenset({".zip", KMZ})
FOLDER_SUFFIXES = frozenset({".gdb"})
SHAPEFILE_PARTS = frozenset({".dbf", ".shx", ".prj", ".cpg", ".sbn", ".sbx"})

HEAD_BYTES = 4096

XML_ROOT = re.compile(rb"^\s*(?:<\?xml[^>]*\?>\s*)?(?:<!--.*?-->\s*)*<(?:\w+:)?(\w+)", re.DOTALL)
DRIVER_BY_XML_ROOT = {b"kml": "KML", b"gpx": "GPX"}
FORBIDDEN_IN_XML = {
    b"<!doctype": "a document type declaration",
    b"<!entity": "entities",
    b"<networklink": "a network link",
    b"<xi:include": "an inclusion",
}


def map_format(path: Path, name: str) -> str:
    """Name of the driver for a file, or "zip". Raises SourceError for anything else."""
    if path.is_dir():
        return "OpenFileGDB"
    size = path.stat().st_size
    if size == 0:
        raise SourceError.of(name, "the file is empty (0 bytes)", READABLE, "get a new copy")
    if size > MAP_FILE.most:
        raise SourceError.of(name, f"{size:,} bytes", str(MAP_FILE), "cut it to the property")
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
    """Name of the driver for a file of text. Raises SourceError for anything else."""
    refused = partial(SourceError.of, name)
    if path.suffix.lower() in SHAPEFILE_PARTS:
        do = f"write {Path(name).with_suffix('.shp').as_posix()}"
        raise refused(f"the {path.suffix} part of a shapefile", "its .shp file", do)
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
    if start.startswith((b"{", b"<")) and path.stat().st_size > TEXT_MAP.most:
        found = f"a map of {path.stat().st_size / 1e6:,.0f} MB of text"
        do = "cut it to the property, or save it as a GeoPackage"
        raise refused(found, str(TEXT_MAP), do)
    if start.startswith(b"{"):
        return "GeoJSON"
    if start.startswith(b"<"):
        return _xml_driver(path, name)
    do = "check the file, or save it as a GeoPackage"
    raise refused("not a map format that is read", READABLE, do)


def _xml_driver(path: Path, name: str) -> str:
    """Driver of an XML map. Raises SourceError where it declares entities or points elsewhere."""
    content = path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    lowered = content.lower()
    forbidden = [words for mark, words in FORBIDDEN_IN_XML.items() if mark in lowered]
    if forbidden:
        found = f"the XML holds {' and '.join(forbidden)}"
        do = "save the shapes themselves as KML or GeoPackage"
        raise SourceError.of(name, found, "plain KML or GPX", do)
    root = XML_ROOT.match(content)
    driver = DRIVER_BY_XML_ROOT.get(root[1].lower()) if root else None
    if driver is None:
        found = f'XML of the kind "{root[1].decode() if root else "unknown"}"'
        raise SourceError.of(name, found, READABLE, "save it as a GeoPackage")
    return driver


SMALL_BYTES = 10_000_000
BLOCK_BYTES = 1 << 20
BY_HAND = "unpack it by hand and look at it"


def unpack(path: Path, name: str, scratch: Path) -> list[Path]:
    """Unpack a zip into a scratch folder; the map files in it, by path. Raises SourceError."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = [m for m in archive.infolist() if not m.is_dir()]
            _check_sizes(members, name)
            _check_members(members, name)
            for member in members:
                _write_member(archive, member, scratch, name)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError) as error:
        found = f"the zip cannot be unpacked ({error})"
        do = "unpack it by hand and name the map file"
        raise SourceError.of(name, found, "a whole zip file", do) from error
    suffixes = MAP_SUFFIXES | {KMZ}
    return [file for file in files_below(scratch) if file.suffix.lower() in suffixes]


def files_below(folder: Path) -> Iterator[Path]:
    """Files below a folder by path, hidden ones left out; a file geodatabase counts as one."""
    for path in sorted(folder.rglob("*")):
        inner = path.relative_to(folder)
        if any(part.startswith((".", "__MACOSX")) for part in inner.parts):
            continue
        if any(parent.suffix.lower() in FOLDER_SUFFIXES for parent in inner.parents):
            continue
        if path.is_file() or path.suffix.lower() in FOLDER_SUFFIXES:
            yield path


def choose_map(files: list[Path], scratch: Path, layer: str | None, name: str) -> Path:
    """The one map file of a zip, or the one that ``layer`` names. Raises SourceError."""
    if len(files) == 1:
        return files[0]
    names = [file.relative_to(scratch).as_posix() for file in files]
    named = [f for f, n in zip(files, names, strict=True) if layer in (n, f.name, f.stem)]
    if len(named) == 1:
        return named[0]
    found = f"{len(files)} map files ({listed(names)})" if files else "no map file in the zip"
    do = f'choose one: layer = "{files[0].stem}"' if files else "look into the zip"
    raise SourceError.of(name, found, f"one map file: {READABLE}", do)


def _check_sizes(members: list[zipfile.ZipInfo], name: str) -> None:
    """Raise SourceError for a zip of more files or bytes than can be meant."""
    size = sum(m.file_size for m in members)
    packed = sum(m.compress_size for m in members)
    if len(members) > ZIP_FILES.most:
        raise SourceError.of(name, f"{len(members)} files in the zip", str(ZIP_FILES), BY_HAND)
    swollen = size > SMALL_BYTES and size > ZIP_RATIO.most * max(packed, 1)
    if size > ZIP_UNPACKED.most or swollen:
        found = f"unpacks to {size:,} bytes from {packed:,}"
        expected = f"{ZIP_UNPACKED}, and {ZIP_RATIO}"
        raise SourceError.of(name, found, expected, BY_HAND)


def _check_members(members: list[zipfile.ZipInfo], name: str) -> None:
    """Raise SourceError for names that leave the zip, for links and for passwords."""
    for member in members:
        parts = PurePosixPath(member.filename.replace("\\", "/"))
        if parts.is_absolute() or ".." in parts.parts or ":" in member.filename:
            raise _written_outside(member, name)
        if stat.S_ISLNK(member.external_attr >> 16):
            found = f'a link in the zip: "{member.filename}"'
            raise SourceError.of(name, found, "a zip of one map", BY_HAND)
        if member.flag_bits & 1:
            found, do = "the zip has a password", "unpack it by hand"
            raise SourceError.of(name, found, "a zip without one", do)


def _written_outside(member: zipfile.ZipInfo, name: str) -> SourceError:
    """The error of a file in a zip whose name leads out of the folder it is unpacked into."""
    found = f'a file that would be written outside: "{member.filename}"'
    return SourceError.of(name, found, "a zip of one map", BY_HAND)


def _write_member(
    archive: zipfile.ZipFile, member: zipfile.ZipInfo, scratch: Path, name: str
) -> None:
    """Write one file of a zip, never more bytes than it declares."""
    target = scratch / member.filename.replace("\\", "/")
    if not target.resolve().is_relative_to(scratch.resolve()):
        raise _written_outside(member, name)
    target.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(member) as packed, target.open("wb") as plain:
        shutil.copyfileobj(packed, plain, BLOCK_BYTES)
        if plain.tell() > member.file_size:
            found = f'"{member.filename}" is larger than it declares'
            raise SourceError.of(name, found, "a whole zip file", "get a new copy")


HARMLESS_VIRTUAL_TABLES = re.compile(r"(?is)create\s+virtual\s+table\b.*?\busing\s+(rtree|fts\d)\b")
CURVES = ("CIRCULARSTRING", "COMPOUNDCURVE", "CURVEPOLYGON", "MULTICURVE", "MULTISURFACE", "CURVE")


def copied_geopackage(path: Path, name: str, scratch: Path) -> tuple[Path, list[tuple[str, str]]]:
    """A copy of a GeoPackage with the latest edits of a program that has it open, and what is odd.

    Raises SourceError where it is damaged, no GeoPackage, or links to data elsewhere.
    """
    copy = scratch / "copy.gpkg"
    shutil.copyfile(path, copy)
    odd = []
    log = path.with_name(path.name + "-wal")
    if log.is_file() and not log.is_symlink() and log.stat().st_size:
        shutil.copyfile(log, copy.with_name(copy.name + "-wal"))
        odd.append(("open_elsewhere", "is open in another program; its latest edits were read too"))
    if views := _without_views(copy, name):
        words = f"view {listed(views)} is not read; save it as a layer of its own"
        odd.append(("view_not_read", words))
    if curved := _curved_layers(copy, name):
        words = (
            f"layer {listed(curved)} is drawn in arcs; read as straight pieces of 4 degrees, which "
            "makes a full circle 0.08 % smaller"
        )
        odd.append(("drawn_in_arcs", words))
    return copy, odd


def _without_views(copy: Path, name: str) -> list[str]:
    """Names of the views that are taken out of a copy, for what they ask may never end.

    Triggers go with them. Raises SourceError where a table of the format itself is a view.
    """
    refused = partial(SourceError.of, name)
    try:
        with closing(sqlite3.connect(copy)) as database, database:
            listed_in = {
                kind: [
                    row[0]
                    for row in database.execute(
                        "SELECT name FROM sqlite_master WHERE type = ? ORDER BY name", (kind,)
                    )
                ]
                for kind in ("table", "view", "trigger")
            }
            own = [view for view in listed_in["view"] if view.lower().startswith("gpkg_")]
            if own:
                found, do = f'"{own[0]}" of the format is a view', "save it as a new GeoPackage"
                raise refused(found, "a table", do)
            for kind in ("trigger", "view"):
                for item in listed_in[kind]:
                    quoted = item.replace('"', '""')
                    database.execute(f'DROP {kind} "{quoted}"')
            for table in {"gpkg_contents", "gpkg_geometry_columns"} & {*listed_in["table"]}:
                rows = [(view,) for view in listed_in["view"]]
                database.executemany(f"DELETE FROM {table} WHERE table_name = ?", rows)
    except sqlite3.DatabaseError as error:
        found = f"the database is damaged ({error})"
        raise refused(found, READABLE, "get a new copy") from error
    return listed_in["view"]


def _curved_layers(copy: Path, name: str) -> list[str]:
    """Names of the layers drawn in arcs. Raises SourceError for what must not be opened."""
    refused = partial(SourceError.of, name)
    try:
        with closing(sqlite3.connect(copy)) as database:
            declared = database.execute("SELECT name, sql FROM sqlite_master").fetchall()
            if "gpkg_contents" not in {table for table, _ in declared}:
                found = "a SQLite database that is no GeoPackage"
                raise refused(found, READABLE, "save it as a GeoPackage")
            kinds = database.execute(
                "SELECT table_name, upper(geometry_type_name) FROM gpkg_geometry_columns"
            ).fetchall()
    except sqlite3.DatabaseError as error:
        found = f"the database is damaged ({error})"
        raise refused(found, READABLE, "get a new copy") from error
    virtual = [(table, sql) for table, sql in declared if "virtual" in (sql or "").lower()]
    odd = [table for table, sql in virtual if not HARMLESS_VIRTUAL_TABLES.match(sql)]
    if odd:
        found = f'table "{odd[0]}" is a link to data elsewhere'
        do = "save it as a new GeoPackage"
        raise refused(found, "tables that hold their own data", do)
    return [table for table, kind in kinds if kind in CURVES]
