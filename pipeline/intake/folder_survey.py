"""A look at what lies in a folder: formats, geometry, columns. Nothing is computed from it."""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Literal

import fiona
import pyogrio
import rasterio

from pipeline.core.errors import Fault, SourceError
from pipeline.core.layer import Layer
from pipeline.intake.map_file import READER_ERRORS

Content = Literal["polygons", "lines", "points", "raster", "table"]


# Words of the trade and of land records, as parts of file names. Common practice, no source.
WORDS_BY_ROLE: dict[tuple[Content, str], str] = {
    ("polygons", "exclusions"): r"exclu|leave|wetland|pond|building|yard|avoid|no_?burn|no_?seed",
    ("polygons", "breaks"): r"till|crop|break|bare|mown|lake|water",
    ("polygons", "burned_areas"): r"burned|burn_?scar|fire_?hist|partial",
    ("polygons", "units"): r"unit|field|pasture|paddock|parcel|bound",
    ("lines", "breaks"): r"road|trail|lane|track|creek|stream|river|ditch|fence|break|line",
}


KIND_WORDS = ("road", "trail", "lane", "creek", "stream", "river", "ditch", "fence", "pond",
              "tilled", "crop", "track", "lake")  # fmt: skip


ID_WORDS = r"^(unit_?(id|no|nr|name)?|id|name|field(_?id)?|pasture|paddock)$"


DATE_IN_NAME = re.compile(r"(?<!\d)(20\d\d)[-_]?([01]\d)[-_]?([0-3]\d)(?!\d)")


@dataclass(frozen=True, slots=True)
class FoundFile:
    """A file as a look at it shows: no value of it is used.

    ``unique_columns`` are the columns whose values are all there and all different.
    """

    path: str
    content: Content
    columns: tuple[str, ...] = ()
    unique_columns: tuple[str, ...] = ()
    rows: int = 0
    has_crs: bool = True
    layer: str | None = None


def likely_role(found: FoundFile, tables: Mapping[str, Layer]) -> str | None:
    """Name of the source that a file looks like, None when it looks like none of them.

    ``tables`` are the tables that a property file may name, as they are declared.
    """
    if found.content == "raster":
        return "scenes"
    if found.content == "table":
        return _likely_table(found.columns, tables)
    name = f"{found.path} {found.layer or ''}".lower()
    for (content, role), words in WORDS_BY_ROLE.items():
        if content == found.content and re.search(words, name):
            return role
    return None


def _likely_table(columns: tuple[str, ...], tables: Mapping[str, Layer]) -> str | None:
    """The table whose columns fit best; all that it needs must be there."""
    given = {re.sub(r"[^a-z0-9]+", "_", c.strip().lower()) for c in columns}
    fits = []
    for name, layer in tables.items():
        declared = layer.columns
        spelled = [{c.name, *c.aliases} for c in declared]
        needed = [s for c, s in zip(declared, spelled, strict=True) if c.required]
        if all(given & s for s in needed):
            fits.append((sum(bool(given & s) for s in spelled), name))
    return max(fits)[1] if fits else None


def likely_id_column(found: FoundFile) -> str | None:
    """Column that tells the units apart: its values differ and its name says so."""
    named = [c for c in found.unique_columns if re.match(ID_WORDS, c.lower())]
    return next(iter([*named, *found.unique_columns]), None)


def likely_break_kind(found: FoundFile) -> str:
    """Kind of an existing break, from the name of its file."""
    name = found.path.lower()
    return next((word for word in KIND_WORDS if word in name), "break")


def date_in_name(name: str) -> date | None:
    """Date written as year, month, day in a file name; None where there is none or several."""
    days = set()
    for year, month, day in DATE_IN_NAME.findall(name):
        try:
            days.add(date(int(year), int(month), int(day)))
        except ValueError:
            continue
    return days.pop() if len(days) == 1 else None


MAP_SUFFIXES = {".shp", ".gpkg", ".geojson", ".json", ".fgb"}


XML_SUFFIXES = {".kml", ".gpx"}


RASTER_SUFFIXES = {".tif", ".tiff"}


CONTENT_BY_GEOMETRY: dict[str, Content] = {"Polygon": "polygons", "LineString": "lines",
                                           "Point": "points"}  # fmt: skip


ROWS_LOOKED_AT = 5000


def survey(folder: Path) -> list[FoundFile]:
    """Every map file, raster and CSV table of a folder and its subfolders, by path.

    A file that cannot be opened is left out: ``check`` will say why once it is named.
    """
    if not folder.is_dir():
        raise SourceError(
            Fault(str(folder), "no such folder", "a folder of map files", "check the path")
        )
    found: list[FoundFile] = []
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        name = path.relative_to(folder).as_posix()
        if any(part.startswith(".") or part == "out" for part in path.relative_to(folder).parts):
            continue
        if path.suffix.lower() in MAP_SUFFIXES:
            found += _map_layers(path, name)
        elif path.suffix.lower() in XML_SUFFIXES:
            found += _xml_layers(path, name)
        elif path.suffix.lower() in RASTER_SUFFIXES:
            found += _raster(path, name)
        elif path.suffix.lower() == ".csv":
            found += _table(path, name)
    return found


def _map_layers(path: Path, name: str) -> list[FoundFile]:
    """The layers of a map file."""
    try:
        layers = fiona.listlayers(path)
        return [
            f for layer in layers if (f := _map_layer(path, name, layer, len(layers))) is not None
        ]
    except READER_ERRORS:
        return []


def _map_layer(path: Path, name: str, layer: str, layers: int) -> FoundFile | None:
    """One layer of a map file, None when it has no geometry we know."""
    with fiona.open(path, layer=layer) as source:
        columns = tuple(source.schema["properties"])
        values: dict[str, list[object]] = {column: [] for column in columns}
        kinds = set()
        for feature in islice(source, ROWS_LOOKED_AT):
            kinds.add(getattr(feature.geometry, "type", "None").removeprefix("Multi"))
            for column in columns:
                values[column].append(feature.properties.get(column))
        content = next((CONTENT_BY_GEOMETRY[k] for k in CONTENT_BY_GEOMETRY if k in kinds), None)
        if content is None:
            return None
        unique = tuple(
            c for c, v in values.items() if None not in v and len(set(map(str, v))) == len(v)
        )
        return FoundFile(
            path=name,
            content=content,
            columns=columns,
            unique_columns=unique,
            rows=int(pyogrio.read_info(path, layer=layer, force_feature_count=True)["features"]),
            has_crs=bool(source.crs),
            layer=layer if layers > 1 else None,
        )


def _xml_layers(path: Path, name: str) -> list[FoundFile]:
    """The folders of a KML file, which fiona's wheel has no driver for, or what a GPX file holds.

    The points that the tracks and routes of a receiver consist of are no layer of their own.
    """
    try:
        layers = [
            str(layer)
            for layer, _ in pyogrio.list_layers(path)
            if path.suffix.lower() != ".gpx" or not layer.endswith("_points")
        ]
        read = [
            pyogrio.read_dataframe(path, layer=layer, columns=[], on_invalid="ignore")
            for layer in layers
        ]
    except READER_ERRORS:
        return []
    found = []
    for layer, frame in zip(layers, read, strict=True):
        plain = {str(kind).removeprefix("Multi") for kind in frame.geom_type.unique()}
        content = next((CONTENT_BY_GEOMETRY[k] for k in CONTENT_BY_GEOMETRY if k in plain), None)
        if content is not None:
            found.append(FoundFile(name, content, layer=layer if len(layers) > 1 else None))
    return found


def _raster(path: Path, name: str) -> list[FoundFile]:
    """A raster, if it opens."""
    try:
        with rasterio.open(path) as source:
            return [FoundFile(name, "raster", rows=source.count, has_crs=source.crs is not None)]
    except rasterio.errors.RasterioError:
        return []


def _table(path: Path, name: str) -> list[FoundFile]:
    """A CSV table, if its first line can be read as headers."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            headers = next(csv.reader(file), [])
            rows = sum(1 for _ in file)
    except (UnicodeDecodeError, csv.Error):
        return []
    return [FoundFile(name, "table", tuple(h.strip() for h in headers), rows=rows)]
