"""A look at what lies in a folder: formats, geometry, columns. Nothing is computed from it."""

import csv
from itertools import islice
from pathlib import Path

import fiona
import pyogrio
import rasterio

from pipeline.compute.roles import Content, FoundFile
from pipeline.errors import Fault, SourceError
from pipeline.io.map_file import READER_ERRORS

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
