"""Open a map file and say what is in it, before its rows are read."""

import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import fiona
import pyogrio
from fiona.errors import FionaError
from pyogrio.errors import DataLayerError, DataSourceError
from pyproj import CRS
from pyproj.exceptions import CRSError

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.names import listed, suggestion
from pipeline.intake.archive import DRIVERS, READABLE, choose_map, map_format, unpack
from pipeline.intake.geojson import GeoJson, look_at_geojson
from pipeline.intake.geopackage_copy import copied_database
from pipeline.intake.safety import guard_parts
from pipeline.intake.settings import VectorSource
from pipeline.intake.shapefile import look_at_shapefile, shapefile_parts

# Rings are sorted by what lies in what, not by their direction, which drawing programs get wrong.
# The network is off: a file on disk has no business there.
OPTIONS = {
    "OGR_ORGANIZE_POLYGONS": "DEFAULT",
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "{none}",
    "GDAL_DISABLE_READDIR_ON_OPEN": "FALSE",
}


@contextmanager
def gdal_options(**more: str) -> Iterator[None]:
    """Options for both builds; those of before hold again afterwards."""
    options = OPTIONS | more
    before = {name: pyogrio.get_gdal_config_option(name) for name in options}
    pyogrio.set_gdal_config_options(options)
    try:
        with fiona.Env(**options):
            yield
    finally:
        pyogrio.set_gdal_config_options(before)


CRS_TEXT = re.compile(
    r"(?i)^\s*((EPSG|ESRI|OGC|IGNF):\w+|(PROJCRS|GEOGCRS|PROJCS|GEOGCS)\[.*)\s*$", re.S
)


READER_ERRORS = (FionaError, DataSourceError, DataLayerError, OSError, ValueError, CRSError)


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
    crs: CRS | None
    rows: int
    fields: tuple[str, ...]
    fid_field: str
    encoding: str | None
    parts: tuple[Path, ...]
    written: GeoJson | None = None
    options: dict[str, str] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


@contextmanager
def plain_errors(name: str, expected: str = "a map file that opens") -> Iterator[None]:
    """Turn what the readers raise into a fault of the source; their warnings are not for users."""
    try:
        with warnings.catch_warnings(), gdal_options():
            warnings.simplefilter("ignore")
            yield
    except READER_ERRORS as error:
        what = str(error).splitlines()[0][:120] if str(error) else type(error).__name__
        do = "get a new copy, or save it as a GeoPackage"
        raise SourceError(Fault(name, f"cannot be read ({what})", expected, do)) from error


def open_map(
    path: Path, source: VectorSource, role: str, roots: tuple[Path, ...], scratch: Path
) -> MapFile:
    """What the file of a source holds. Raises SourceError where it cannot be used at all."""
    name = source.path.replace("\\", "/")
    guard_parts(_parts_of(path), roots, name)
    driver, layer, parts = map_format(path, name), source.layer, _parts_of(path)
    if driver == "zip":
        unpacked = scratch / "unpacked"
        unpacked.mkdir()
        inner = choose_map(unpack(path, name, unpacked), unpacked, layer, name)
        layer = None if layer in (inner.stem, inner.name) else layer
        name = f"{name}, {inner.name}"
        path, driver = inner, map_format(inner, name)
        if driver == "zip":
            raise SourceError(Fault(name, "a zip inside a zip", "a zip of one map", "unpack it"))
    return _inspected(path, name, driver, layer, source, role, scratch, parts)


def _parts_of(path: Path) -> tuple[Path, ...]:
    """All files that a map consists of."""
    if path.is_dir():
        return tuple(sorted(p for p in path.rglob("*") if p.is_file()))
    if path.suffix.lower() == ".shp":
        return tuple(shapefile_parts(path).values())
    return (path,)


def _inspected(
    path: Path, name: str, driver: str, layer: str | None, source: VectorSource, role: str,
    scratch: Path, parts: tuple[Path, ...],
) -> MapFile:  # fmt: skip
    """The file looked at by the rules of its format, then opened."""
    blank = MapFile(path, name, layer, driver, None, 0, (), "", source.encoding, parts)
    if driver == "ESRI Shapefile":
        shape = look_at_shapefile(path, name, role, encoding=source.encoding, scratch=scratch)
        if shape.faults:
            raise SourceError(shape.faults)
        blank = replace(
            blank, path=shape.path, encoding=shape.encoding, findings=shape.findings,
        )  # fmt: skip
        # The reader would write the index beside the user's file: only in a copy it may.
        options = {"SHAPE_RESTORE_SHX": "YES"} if shape.path != path else {}
        opened = _opened(replace(blank, options=options))
        if shape.rows is not None and shape.rows + shape.deleted != opened.rows:
            raise SourceError(_lost(name, shape.rows, opened.rows))
        return replace(opened, rows=opened.rows - shape.deleted)
    if driver == "GPKG":
        copy, findings = copied_database(path, name, role, scratch)
        return _opened(replace(blank, path=copy, findings=findings))
    if driver != "GeoJSON":
        return _opened(blank)
    written = look_at_geojson(path, name, role)
    opened = _opened(replace(blank, written=written, driver=written.driver))
    if not written.faults and len(written.attributes) != opened.rows:
        raise SourceError(_lost(name, len(written.attributes), opened.rows))
    fields = tuple(dict.fromkeys(k for row in written.attributes for k in row))
    return replace(
        opened,
        fields=fields,
        crs=written.crs,
        findings=opened.findings + written.findings,
        faults=opened.faults + written.faults,
    )


def _lost(name: str, there: int, read: int) -> Fault:
    """Rows that a reader does not return."""
    return Fault(name, f"{there} rows in the file, {read} of them can be read",
                 "every row of the file", "get a new copy of the file")  # fmt: skip


def _opened(blank: MapFile) -> MapFile:
    """The file's layer, driver, reference system, fields and count."""
    with plain_errors(blank.name), gdal_options(**blank.options):
        layers = _layers(blank)
        layer = _chosen(layers, blank)
        info = pyogrio.read_info(blank.path, layer=layer, force_feature_count=True)
        rows, crs = int(info["features"]), _crs(info["crs"])
        if blank.driver in fiona.supported_drivers:
            with fiona.open(blank.path, layer=layer, enabled_drivers=[blank.driver]) as source:
                rows, crs = _told_rows(source, rows), _crs(source.crs_wkt)
    if info["driver"] not in DRIVERS:
        raise SourceError(
            Fault(
                blank.name,
                f"a map of the format {info['driver']}",
                READABLE,
                "save it as a GeoPackage",
            )
        )
    if rows != int(info["features"]):
        raise SourceError(_lost(blank.name, rows, int(info["features"])))
    named = len(layers) > 1 and (rows or blank.layer is not None)
    name = f"{blank.name} (layer {layer})" if named else blank.name
    return replace(blank, name=name, layer=layer, crs=crs, rows=rows,
                   driver=info["driver"], fields=tuple(map(str, info["fields"])),
                   fid_field=info["fid_column"] or "")  # fmt: skip


def _told_rows(source: fiona.Collection, counted: int) -> int:
    """Rows that a file itself tells; as many as were counted where it tells nothing (GPX)."""
    try:
        return len(source)
    except TypeError:
        return counted


def _layers(blank: MapFile) -> list[str]:
    """Layers with geometry of a file."""
    return [str(name) for name, kind in pyogrio.list_layers(blank.path) if kind is not None]


def _chosen(layers: list[str], blank: MapFile) -> str:
    """The layer asked for, the only one that has rows, or the first of none. Raises SourceError."""
    if blank.layer is not None:
        if blank.layer in layers:
            return blank.layer
        raise SourceError(Fault(blank.name, f'no layer "{blank.layer}"', f"one of {listed(layers)}",
                                suggestion(blank.layer, layers)))  # fmt: skip
    if not layers:
        raise SourceError(
            Fault(
                blank.name,
                "no layer with shapes",
                "a layer of a map",
                "look into the file with a map program",
            )
        )
    if len(layers) == 1:
        return layers[0]
    filled = [
        layer for layer in layers if not (blank.driver == "GPX" and layer.endswith("_points"))
        and pyogrio.read_info(blank.path, layer=layer, force_feature_count=True)["features"]
    ]  # fmt: skip
    if len(filled) < 2:
        return (filled or layers)[0]
    raise SourceError(
        Fault(
            blank.name,
            f"{len(filled)} layers ({listed(filled, 20)})",
            "one layer",
            f'choose one: layer = "{filled[0]}"',
        )
    )


def _crs(text: str | None) -> CRS | None:
    """Reference system from what a reader says, by its code where it has one.

    Only what is looked up by its code knows the area it is made for.
    """
    if not text:
        return None
    crs = CRS.from_user_input(text)
    authority = crs.to_authority(min_confidence=100)
    return CRS.from_authority(*authority) if authority else crs


def told_crs(text: str, name: str) -> CRS:
    """Reference system named in the property file. Raises SourceError where it is none."""
    try:
        if not CRS_TEXT.match(text):
            raise CRSError(text)
        return CRS.from_user_input(text.strip())
    except CRSError as error:
        raise SourceError(Fault(name, f'crs = "{text[:60]}" is not known', 'one like "EPSG:26914"',
                                "look up the code of the file's system")) from error  # fmt: skip
