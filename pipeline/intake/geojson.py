"""Attributes of a GeoJSON or Esri JSON file as written, and what their reader would not say.

The reader of the shapes makes one number type of a column (1, "1" and null become 1.0, 1.0 and
nothing), skips entries that are no features, and takes every unknown reference system for
longitude and latitude. So texts, counts and the reference system are read here.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from pyproj import CRS
from pyproj.exceptions import CRSError

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.intake.safety import decoded

CRS_NAME = re.compile(
    r"(?i)^(?:urn:(?:ogc|x-ogc):def:crs:|https?://www\.opengis\.net/(?:def/crs|gml/srs)/)?"
    r"(EPSG|ESRI|OGC|IGNF)(?:[:/]|\.xml#)(?:[\w.]*[:/])?(\w+)$"
)

LONGITUDE_LATITUDE = CRS.from_epsg(4326)
EPOCH = datetime(1970, 1, 1)
COLLECTION = 'a "FeatureCollection" of features'
ESRI_CODES = range(37_000, 200_000)
"""Codes that Esri numbers itself; lower ones are EPSG's. Common practice, no source."""


class Number(str):
    """A number exactly as the file writes it."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class GeoJson:
    """Attributes of every feature as text, and the reference system of the file.

    ``crs`` is longitude and latitude on WGS 84, the format's own rule, where the file names none.
    ``driver`` is the name of the reader of the shapes.
    """

    attributes: list[dict[str, str]]
    crs: CRS
    driver: str
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def look_at_geojson(path: Path, name: str, role: str) -> GeoJson:
    """The attributes and reference system of a GeoJSON or Esri JSON file. Raises SourceError."""
    document, encoding = _document(path, name)
    entries, key = _entries(document, name)
    is_esri = key == "attributes"
    features = [entry for entry in entries if _is_feature(entry, key)]
    days = _day_fields(document) if is_esri else set()
    crs = _esri_crs(document, name) if is_esri else _named_crs(document, name)
    return GeoJson(
        attributes=[_texts(feature.get(key) or {}, days) for feature in features],
        crs=crs,
        driver="ESRIJSON" if is_esri else "GeoJSON",
        findings=[
            Finding(severity=severity, source=role, message=f"{name}: {words}", code=code)
            for severity, code, words in _oddities(document, encoding, crs, is_esri, len(features))
        ],
        faults=[
            Fault(f"{name}, row {number}", "not a feature", COLLECTION, "mend or delete the entry")
            for number, entry in enumerate(entries, 1)
            if not _is_feature(entry, key)
        ],
    )


def _document(path: Path, name: str) -> tuple[Any, str]:
    """The JSON of a file, its numbers as they are written, and the encoding it is in."""
    try:
        text, encoding = decoded(path.read_bytes())
        read = json.loads(text, parse_float=Number, parse_int=Number, parse_constant=Number)
    except json.JSONDecodeError as error:
        where, found = f"{name}:{error.lineno}", f"broken JSON ({error.msg.lower()})"
        raise SourceError.of(where, found, "whole GeoJSON", "get a new copy") from error
    except (UnicodeError, RecursionError) as error:
        found = "cannot be read as JSON text"
        raise SourceError.of(name, found, "GeoJSON in UTF-8", "save it again") from error
    return read, encoding


def _texts(attributes: dict[str, Any], days: set[str]) -> dict[str, str]:
    """Attributes of a feature as text; those of the fields ``days`` are times."""
    return {str(k): _day(v) if k in days else _text(v) for k, v in attributes.items()}


def _oddities(
    document: dict[str, Any], encoding: str, crs: CRS, is_esri: bool, rows: int
) -> Iterator[tuple[str, str, str]]:
    """Severity, code and words of what a person should know of a file that is read."""
    if not encoding.startswith("utf-8"):
        yield "warning", "not_utf8", f"GeoJSON in {encoding}, not UTF-8; read so"
    if crs != LONGITUDE_LATITUDE and not is_esri:
        yield "note", "old_style", f"old-style GeoJSON that names {crs.to_string()}; read so"
    if _was_cut_off(document):
        yield (
            "warning",
            "cut_off_by_server",
            "the server that wrote it says that there are more rows (exceededTransferLimit): only "
            f"{rows} are in it; export the rest too",
        )


def _entries(document: Any, name: str) -> tuple[list[Any], str]:
    """The features of a file, and under which key their attributes stand."""
    if isinstance(document, dict):
        features = document.get("features")
        if document.get("type") == "FeatureCollection" and isinstance(features, list):
            return features, "properties"
        if document.get("type") == "Feature":
            return [document], "properties"
        if isinstance(features, list) and "geometryType" in document:
            return features, "attributes"
    is_table = isinstance(document, dict)
    kind = str(document.get("type", "none")) if is_table else type(document).__name__
    do = "save it as GeoJSON or GeoPackage"
    raise SourceError.of(name, f'JSON of the type "{kind}"', COLLECTION, do)


def _is_feature(entry: Any, key: str) -> bool:
    """Whether an entry is a feature with a table of attributes, which may be empty."""
    if not isinstance(entry, dict) or not isinstance(entry.get(key), dict | None):
        return False
    return key == "attributes" or entry.get("type") == "Feature"


def _named_crs(document: dict[str, Any], name: str) -> CRS:
    """Reference system that a GeoJSON file names. Raises SourceError if it is unknown.

    Coordinates are longitude first whatever the name says, as all writers of the format do.
    """
    if "crs" not in document:
        return LONGITUDE_LATITUDE
    member = document["crs"]
    words = member.get("properties", {}) if isinstance(member, dict) else {}
    match = CRS_NAME.match(str(words.get("name", ""))) if isinstance(words, dict) else None
    try:
        crs = CRS.from_authority(match[1].upper(), match[2]) if match else None
    except CRSError:
        crs = None
    if crs is None:
        found = f'its "crs" is {json.dumps(member)[:120]}'
        do = "save it in longitude and latitude (RFC 7946), or as a GeoPackage"
        raise SourceError.of(name, found, 'the code of a known system, as "EPSG:4326"', do)
    return LONGITUDE_LATITUDE if match and match[2].upper() == "CRS84" else crs


def _esri_crs(document: dict[str, Any], name: str) -> CRS:
    """Reference system of an Esri JSON file. Raises SourceError if there is none that is known."""
    member = document.get("spatialReference")
    words = member if isinstance(member, dict) else {}
    code = str(words.get("latestWkid") or words.get("wkid") or "")
    try:
        if code.isdecimal():
            is_esri = int(code) in ESRI_CODES
            return CRS.from_authority("ESRI" if is_esri else "EPSG", code)
        return CRS.from_wkt(str(words.get("wkt", "")))
    except CRSError as error:
        found = f'its "spatialReference" is {json.dumps(member)[:120]}'
        do = "export it again, or save it as a GeoPackage"
        raise SourceError.of(name, found, "one with a known wkid", do) from error


def _was_cut_off(document: dict[str, Any]) -> bool:
    """Whether the server that wrote a file left out rows beyond the most it gives at once."""
    inner = document.get("properties")
    places = (document, inner if isinstance(inner, dict) else {})
    return any(place.get("exceededTransferLimit") is True for place in places)


def _day_fields(document: dict[str, Any]) -> set[str]:
    """Names of the fields of an Esri JSON file that hold times."""
    fields = document.get("fields")
    return {
        str(field.get("name"))
        for field in (fields if isinstance(fields, list) else [])
        if isinstance(field, dict) and field.get("type") == "esriFieldTypeDate"
    }


def _day(value: Any) -> str:
    """A time of Esri JSON [milliseconds from 1970 in UTC] as text; a day has no hour."""
    if not isinstance(value, Number):
        return _text(value)
    try:
        time = EPOCH + timedelta(milliseconds=float(value))
    except (OverflowError, ValueError):
        return _text(value)
    return time.isoformat().removesuffix("T00:00:00")


def _text(value: Any) -> str:
    """An attribute as text: 7 and 7.0 are "7", a text stays as it is, null is empty."""
    if value is None:
        return ""
    if isinstance(value, Number):
        return plain_number(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def plain_number(written: str) -> str:
    """A number without exponent or empty decimals: 1e5 is 100000, 7.0 is 7."""
    number = Decimal(written)
    if not number.is_finite() or number.adjusted() > 30:
        return written
    return f"{number:f}".rstrip("0").rstrip(".") if "." in f"{number:f}" else f"{number:f}"
