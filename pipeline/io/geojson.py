"""Attributes of a GeoJSON file as they are written, and what a GeoJSON reader would not say.

The reader of the shapes makes one number type of a column (1, "1" and null become 1.0, 1.0 and
nothing), skips entries that are no features, and takes every unknown reference system for
longitude and latitude. So texts, counts and the reference system are read here.
"""

import json
import re
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from pipeline.compute.findings import Finding
from pipeline.errors import Fault, SourceError
from pipeline.io.source_file import decoded

CRS_NAME = re.compile(
    r"(?i)^(?:urn:(?:ogc|x-ogc):def:crs:)?(EPSG|ESRI|OGC)[:/][^:/]*:{0,2}([A-Z0-9]+)$"
)
COLLECTION = 'a "FeatureCollection" of features'


class Number(str):
    """A number exactly as the file writes it."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class GeoJson:
    """Attributes of every feature as text, and the reference system that the file names itself.

    ``crs`` is None where the format's own rule (longitude and latitude on WGS 84) holds.
    """

    attributes: list[dict[str, str]]
    crs: str | None
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def look_at_geojson(path: Path, name: str, role: str) -> GeoJson:
    """The attributes and reference system of a GeoJSON or Esri JSON file. Raises SourceError."""
    try:
        text, encoding = decoded(path.read_bytes())
        told = json.loads(text, parse_float=Number, parse_int=Number, parse_constant=Number)
    except json.JSONDecodeError as error:
        raise SourceError(
            Fault(f"{name}:{error.lineno}", f"broken JSON ({error.msg.lower()})", "whole GeoJSON",
                  "get a new copy")
        ) from error  # fmt: skip
    except (UnicodeError, RecursionError) as error:
        raise SourceError(Fault(name, "cannot be read as JSON text", "GeoJSON in UTF-8",
                                "save it again")) from error  # fmt: skip
    entries, key = _entries(told, name)
    faults = [
        Fault(f"{name}, row {number}", "not a feature", COLLECTION, "mend or delete the entry")
        for number, entry in enumerate(entries, 1) if not _is_feature(entry, key)
    ]  # fmt: skip
    attributes = [
        {str(k): _text(v) for k, v in (entry.get(key) or {}).items()}
        for entry in entries if _is_feature(entry, key)
    ]  # fmt: skip
    crs = _named_crs(told, name, key)
    findings = []
    if not encoding.startswith("utf-8"):
        message = f"{name}: GeoJSON in {encoding}, not UTF-8; read so"
        findings.append(Finding(severity="warning", source=role, message=message))
    if crs is not None and key == "properties":
        message = f"{name}: old-style GeoJSON that names {crs}; read so"
        findings.append(Finding(severity="note", source=role, message=message))
    return GeoJson(attributes, crs, findings, faults)


def _entries(told: Any, name: str) -> tuple[list[Any], str]:
    """The features of a file, and under which key their attributes stand."""
    if isinstance(told, dict):
        if told.get("type") == "FeatureCollection" and isinstance(told.get("features"), list):
            return told["features"], "properties"
        if told.get("type") == "Feature":
            return [told], "properties"
        if isinstance(told.get("features"), list) and "geometryType" in told:
            return told["features"], "attributes"
    kind = str(told.get("type", "none")) if isinstance(told, dict) else type(told).__name__
    raise SourceError(Fault(name, f'JSON of the type "{kind}"', COLLECTION,
                            "save it as GeoJSON or GeoPackage"))  # fmt: skip


def _is_feature(entry: Any, key: str) -> bool:
    """Whether an entry is a feature with a table of attributes, be it empty."""
    if not isinstance(entry, dict) or not isinstance(entry.get(key), dict | None):
        return False
    return key == "attributes" or entry.get("type") == "Feature"


def _named_crs(told: dict[str, Any], name: str, key: str) -> str | None:
    """Reference system that the file names: AUTHORITY:CODE. Raises SourceError if unknown."""
    do = "save it in longitude and latitude (RFC 7946), or as a GeoPackage"
    if key == "attributes":
        reference = told.get("spatialReference") or {}
        wkid = reference.get("latestWkid") or reference.get("wkid")
        if wkid is None:
            raise SourceError(Fault(name, "Esri JSON without a spatial reference",
                                    "a spatialReference with its wkid", do))  # fmt: skip
        return f"{'ESRI' if 37000 <= int(wkid) < 200000 else 'EPSG'}:{wkid}"
    if "crs" not in told:
        return None
    member = told["crs"]
    words = member.get("properties", {}) if isinstance(member, dict) else {}
    match = CRS_NAME.match(str(words.get("name", ""))) if isinstance(words, dict) else None
    if match is None:
        shown = json.dumps(member)[:80]
        raise SourceError(Fault(name, f'its "crs" is {shown}', "a named EPSG code", do))
    code = f"{match[1].upper()}:{match[2].upper()}"
    return None if code in ("OGC:CRS84", "EPSG:4326") else code


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
