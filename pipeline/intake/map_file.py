"""Open a map file, say what is in it, and read every row of it."""

import re
import warnings
from collections.abc import Iterator, Sized
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import partial
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import shapely
from pyogrio.errors import DataLayerError, DataSourceError
from pyproj import CRS
from pyproj.exceptions import CRSError

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.limits import MAP_CORNERS
from pipeline.core.names import listed, suggestion
from pipeline.intake.geojson import GeoJson, look_at_geojson, plain_number
from pipeline.intake.map_formats import (
    READABLE,
    SUFFIXES_BY_DRIVER,
    choose_map,
    copied_geopackage,
    map_format,
    unpack,
)
from pipeline.intake.network import OFF
from pipeline.intake.safety import guard_parts
from pipeline.intake.settings import VectorSource
from pipeline.intake.shapefile import look_at_shapefile, shapefile_parts

# Rings are sorted by what lies in what, not by their direction, which drawing programs get wrong.
OPTIONS = {
    "OGR_ORGANIZE_POLYGONS": "DEFAULT",
    "GDAL_DISABLE_READDIR_ON_OPEN": "FALSE",
    **OFF,
}
READER_ERRORS = (DataSourceError, DataLayerError, OSError, ValueError, CRSError)
CRS_TEXT = re.compile(
    r"(?i)^\s*((EPSG|ESRI|OGC|IGNF):\w+|(PROJCRS|GEOGCRS|PROJCS|GEOGCS)\[.*)\s*$", re.S
)


@contextmanager
def gdal_options(**more: str) -> Iterator[None]:
    """Set options of the bulk reader's GDAL, and put the former ones back after."""
    options = OPTIONS | more
    before = {name: pyogrio.get_gdal_config_option(name) for name in options}
    pyogrio.set_gdal_config_options(options)
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options(before)


@contextmanager
def plain_errors(name: str, **options: str) -> Iterator[None]:
    """Turn what the readers raise into a fault of the source, and keep their warnings to itself."""
    try:
        with warnings.catch_warnings(), gdal_options(**options):
            warnings.simplefilter("ignore")
            yield
    except READER_ERRORS as error:
        what = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        do = "get a new copy, or save it as a GeoPackage"
        found = f"cannot be read ({what})"
        raise SourceError.of(name, found, "a map file that opens", do) from error


@dataclass(frozen=True, slots=True)
class MapFile:
    """One layer of a map file as an inspection shows it.

    ``rows`` is the count that the file itself gives; a reader must return as many. ``written``
    holds the attributes as text where the format is text, ``options`` what the reader needs.
    """

    path: Path
    name: str
    layer: str | None
    driver: str
    parts: tuple[Path, ...]
    encoding: str | None = None
    crs: CRS | None = None
    rows: int = 0
    fields: tuple[str, ...] = ()
    fid_field: str = ""
    written: GeoJson | None = None
    options: dict[str, str] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def open_map(
    path: Path, source: VectorSource, role: str, roots: tuple[Path, ...], scratch: Path
) -> MapFile:
    """The file of a source, opened. Raises SourceError where it cannot be used at all."""
    name = source.path.replace("\\", "/")
    parts = _parts_of(path)
    guard_parts(parts, roots, name)
    driver, layer = map_format(path, name), source.layer
    if driver == "zip":
        unpacked = scratch / "unpacked"
        unpacked.mkdir()
        inner = choose_map(unpack(path, name, unpacked), unpacked, layer, name)
        layer = None if layer in (inner.stem, inner.name) else layer
        name = f"{name}, {inner.name}"
        path, driver = inner, map_format(inner, name)
        if driver == "zip":
            raise SourceError.of(name, "a zip inside a zip", "a zip of one map", "unpack it")
    blank = MapFile(path, name, layer, driver, parts, source.encoding)
    if driver == "ESRI Shapefile":
        return _opened_shapefile(blank, role, scratch)
    if driver == "GPKG":
        copy, odd = copied_geopackage(path, name, scratch)
        findings = [
            Finding(severity="warning", source=role, code=code, message=f"{name}: {words}")
            for code, words in odd
        ]
        return _opened(replace(blank, path=copy, findings=findings))
    return _opened_geojson(blank, role) if driver == "GeoJSON" else _opened(blank)


def _parts_of(path: Path) -> tuple[Path, ...]:
    """All files that a map consists of."""
    if path.is_dir():
        return tuple(sorted(p for p in path.rglob("*") if p.is_file()))
    if path.suffix.lower() == ".shp":
        return tuple(shapefile_parts(path).values())
    return (path,)


def _opened_shapefile(blank: MapFile, role: str, scratch: Path) -> MapFile:
    """A shapefile, opened. Raises SourceError where its parts do not fit together."""
    shape = look_at_shapefile(
        blank.path, blank.name, role, encoding=blank.encoding, scratch=scratch
    )
    if shape.faults:
        raise SourceError(shape.faults)
    # The reader would write the index beside the user's file: only in a copy it may.
    options = {"SHAPE_RESTORE_SHX": "YES"} if shape.path != blank.path else {}
    opened = _opened(
        replace(
            blank,
            path=shape.path,
            encoding=shape.encoding,
            findings=shape.findings,
            options=options,
        )
    )
    if shape.rows is not None and shape.rows + shape.deleted != opened.rows:
        raise SourceError(_lost(blank.name, shape.rows, opened.rows))
    return replace(opened, rows=opened.rows - shape.deleted)


def _opened_geojson(blank: MapFile, role: str) -> MapFile:
    """A GeoJSON or Esri JSON file, opened, with attributes and system as they are written."""
    written = look_at_geojson(blank.path, blank.name, role)
    opened = _opened(replace(blank, written=written, driver=written.driver))
    if not written.faults and len(written.attributes) != opened.rows:
        raise SourceError(_lost(blank.name, len(written.attributes), opened.rows))
    return replace(
        opened,
        fields=tuple(dict.fromkeys(name for row in written.attributes for name in row)),
        crs=written.crs,
        findings=opened.findings + written.findings,
        faults=opened.faults + written.faults,
    )


def _lost(name: str, there: int, read: int) -> Fault:
    """The fault of a file whose reader does not return all of its rows."""
    return Fault(
        name,
        f"{there} rows in the file, {read} of them can be read",
        expected="every row of the file",
        do="get a new copy of the file",
    )


def _opened(blank: MapFile) -> MapFile:
    """The file with its layer, driver, reference system, fields and number of rows filled in."""
    with plain_errors(blank.name, **blank.options):
        layers = layers_of(blank.path)
        layer = _chosen(layers, blank)
        info = pyogrio.read_info(blank.path, layer=layer, force_feature_count=True)
        counted = rows = int(info["features"])
        crs = _crs(info["crs"])
        if blank.written is None:
            rows, crs = _stated(blank, layer, counted, crs)
    if info["driver"] not in SUFFIXES_BY_DRIVER:
        found = f"a map of the format {info['driver']}"
        raise SourceError.of(blank.name, found, READABLE, "save it as a GeoPackage")
    if rows != counted:
        raise SourceError(_lost(blank.name, rows, counted))
    named = len(layers) > 1 and (rows or blank.layer is not None)
    return replace(
        blank,
        name=f"{blank.name} (layer {layer})" if named else blank.name,
        layer=layer,
        crs=crs,
        rows=rows,
        driver=info["driver"],
        fields=tuple(map(str, info["fields"])),
        fid_field=info["fid_column"] or "",
    )


def _stated(blank: MapFile, layer: str, counted: int, crs: CRS | None) -> tuple[int, CRS | None]:
    """Rows and reference system as a second reader finds them stated in the file itself.

    What the file does not state (a GPX has no number of rows), or the second reader does not
    know, is as the first one has it.
    """
    import fiona  # A GDAL of its own, which a map that is text need not load.
    from fiona.errors import FionaError

    if blank.driver not in fiona.supported_drivers:
        return counted, crs
    try:
        with (
            fiona.Env(**OPTIONS | blank.options),
            fiona.open(blank.path, layer=layer, enabled_drivers=[blank.driver]) as source,
        ):
            return _stated_rows(source, counted), _crs(source.crs_wkt)
    except FionaError as error:
        raise DataSourceError(str(error)) from error


def _stated_rows(source: Sized, counted: int) -> int:
    """Rows that a file itself states; as many as were counted where it states none (GPX)."""
    try:
        return len(source)
    except TypeError:
        return counted


def layers_of(path: Path) -> list[str]:
    """Names of the layers of a file that may hold shapes."""
    return [str(name) for name, kind in pyogrio.list_layers(path) if kind is not None]


def filled_layers(path: Path, driver: str, layers: list[str]) -> list[str]:
    """Those layers that hold rows, without the points that a receiver's tracks consist of."""
    return [
        layer
        for layer in layers
        if not (driver == "GPX" and layer.endswith("_points"))
        and pyogrio.read_info(path, layer=layer, force_feature_count=True)["features"]
    ]


def _chosen(layers: list[str], blank: MapFile) -> str:
    """The layer asked for, the only one that has rows, or the first of none. Raises SourceError."""
    refused = partial(SourceError.of, blank.name)
    if blank.layer is not None:
        if blank.layer in layers:
            return blank.layer
        found, do = f'no layer "{blank.layer}"', suggestion(blank.layer, layers)
        raise refused(found, f"one of {listed(layers)}", do)
    if not layers:
        do = "look into the file with a map program"
        raise refused("no layer with shapes", "a layer of a map", do)
    filled = filled_layers(blank.path, blank.driver, layers) if len(layers) > 1 else layers
    if len(filled) < 2:
        return (filled or layers)[0]
    found = f"{len(filled)} layers ({listed(filled, 20)})"
    raise refused(found, "one layer", f'choose one: layer = "{filled[0]}"')


def _crs(text: str | None) -> CRS | None:
    """Reference system from what a reader says, by its code where it has one.

    Only what is looked up by its code knows the area it is made for.
    """
    if not text:
        return None
    crs = CRS.from_user_input(text)
    authority = crs.to_authority(min_confidence=100)
    return CRS.from_authority(*authority) if authority else crs


def crs_named(text: str, name: str) -> CRS:
    """Reference system named in the property file. Raises SourceError where it is none."""
    try:
        if not CRS_TEXT.match(text):
            raise CRSError(text)
        return CRS.from_user_input(text.strip())
    except CRSError as error:
        found = f'crs = "{text[:60]}" is not known'
        do = "look up the code of the file's system"
        raise SourceError.of(name, found, 'one like "EPSG:26914"', do) from error


@dataclass(frozen=True, slots=True)
class Features:
    """Rows of a map file in their order. ``texts`` holds the attributes asked for, by field.

    ``closed`` and ``rewound`` are the positions of rows whose rings the reader had to close, or
    whose rings are wound against the rule of the format.
    """

    shapes: gpd.GeoSeries
    texts: dict[str, list[str]]
    closed: list[int]
    rewound: list[int]


def read_features(opened: MapFile, fields: list[str]) -> Features:
    """All rows of a map file, or a SourceError: none is ever left out."""
    frame, closed = _read(opened, fields)
    if len(frame) != opened.rows:
        raise SourceError(_lost(opened.name, opened.rows, len(frame)))
    corners = int(shapely.get_num_coordinates(frame.geometry.to_numpy()).sum())
    if corners > MAP_CORNERS.most:
        found, do = f"outlines of {corners:,} corners", "simplify them, or cut it to the property"
        raise SourceError.of(opened.name, found, str(MAP_CORNERS), do)
    if opened.written is not None:
        rows = opened.written.attributes
        texts = {name: [row.get(name, "") for row in rows] for name in fields}
    else:
        texts = {name: [native_text(value) for value in frame[name]] for name in fields}
    is_shapefile = opened.driver == "ESRI Shapefile"
    rewound = [n for n, s in enumerate(frame.geometry) if is_shapefile and _is_rewound(s)]
    return Features(frame.geometry, texts, closed, rewound)


def _read(opened: MapFile, fields: list[str]) -> tuple[gpd.GeoDataFrame, list[int]]:
    """The rows of a file, and the positions of those whose rings had to be closed."""
    asked = [] if opened.written is not None else [f for f in fields if f != opened.fid_field]
    try:
        return _frame(opened, asked, "raise"), []
    except shapely.GEOSException:
        # One unclosed ring fails the whole file: close them, and see which rows needed it.
        fixed = _frame(opened, asked, "fix")
        unfixed = _frame(opened, [], "ignore")
        closed = fixed.geometry.notna().to_numpy() & unfixed.geometry.isna().to_numpy()
        return fixed, np.flatnonzero(closed).tolist()


def _frame(opened: MapFile, fields: list[str], on_invalid: str) -> gpd.GeoDataFrame:
    """The rows as the bulk reader gives them, in the file's own reference system."""
    with plain_errors(opened.name, **opened.options):
        frame = gpd.read_file(
            opened.path,
            layer=opened.layer,
            engine="pyogrio",
            columns=fields,
            force_2d=True,
            encoding=opened.encoding,
            fid_as_index=True,
            on_invalid=on_invalid,
        )
    if opened.fid_field:
        frame[opened.fid_field] = frame.index
    shapes = gpd.GeoDataFrame(frame.drop(columns="geometry"), geometry=list(frame.geometry))
    return shapes.reset_index(drop=True)


def _is_rewound(shape: shapely.Geometry | None) -> bool:
    """Whether a reader that trusts the winding of rings would take holes for ground.

    A shapefile winds outlines clockwise and holes the other way.

    *Source*: Esri, Shapefile Technical Description (July 1998), page 8, from memory.
    """
    if shape is None or shapely.get_dimensions(shape) != 2:
        return False
    polygons = shapely.get_parts(shape)
    outlines = {bool(shapely.is_ccw(polygon.exterior)) for polygon in polygons}
    holes = {bool(shapely.is_ccw(hole)) for polygon in polygons for hole in polygon.interiors}
    return len(outlines) > 1 or bool(holes and (True in outlines or False in holes))


def native_text(value: object) -> str:
    """An attribute as a person would type it: 7.0 is "7", a day has no hour, null is empty."""
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, float | np.floating):
        return plain_number(repr(float(value)))
    if isinstance(value, datetime):
        day = value.date()
        return (day if value.time() == datetime.min.time() else value).isoformat()
    return value.isoformat() if isinstance(value, date) else str(value).strip("\0")
