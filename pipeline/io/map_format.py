"""Which format a map file really is, told by its first bytes and not by its name.

Only formats that hold their own data are read. A file that can point elsewhere (a virtual dataset,
a network link, an XML file with entities) is refused before any reader sees it.
"""

import re
from pathlib import Path

from pipeline.errors import Fault, SourceError

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
