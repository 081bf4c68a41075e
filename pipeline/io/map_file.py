"""Open a map file and say what is in it, before its rows are read."""

import re
import shutil
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

from pipeline.compute.findings import Finding
from pipeline.compute.names import listed, suggestion
from pipeline.errors import Fault, SourceError
from pipeline.io.archive import choose_map, unpack
from pipeline.io.gdal import gdal_options
from pipeline.io.geojson import GeoJson, look_at_geojson
from pipeline.io.map_format import DRIVERS, map_format
from pipeline.io.safety import guard_part
from pipeline.io.shapefile import look_at_shapefile, shapefile_parts
from pipeline.settings.sources import VectorSource

CRS_TEXT = re.compile(
    r"(?i)^\s*((EPSG|ESRI|OGC|IGNF):\w+|(PROJCRS|GEOGCRS|PROJCS|GEOGCS)\[.*)\s*$", re.S
)
READER_ERRORS = (FionaError, DataSourceError, DataLayerError, OSError, ValueError, CRSError)


@dataclass(frozen=True, slots=True)
class MapFile:
    """One layer of a map file as an inspection shows it.

    ``rows`` is the count that the file itself gives; a reader must return as many. ``written``
    holds the attributes as text where the format is text.
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
    has_table: bool = True
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
        raise SourceError(Fault(name, f"cannot be read ({what})", expected,
                                "get a new copy, or save it as a GeoPackage")) from error  # fmt: skip


def open_map(
    path: Path, source: VectorSource, role: str, roots: tuple[Path, ...], scratch: Path
) -> MapFile:
    """What the file of a source holds. Raises SourceError where it cannot be used at all."""
    name = source.path.replace("\\", "/")
    driver, layer = map_format(path, name), source.layer
    parts: tuple[Path, ...] = (path,)
    if driver == "zip":
        unpacked = scratch / "unpacked"
        unpacked.mkdir()
        inner = choose_map(unpack(path, name, unpacked), unpacked, layer, name)
        layer = None if layer in (inner.stem, inner.name) else layer
        name = f"{name}, {inner.name}"
        path, driver, roots = inner, map_format(inner, name), (unpacked,)
        if driver == "zip":
            raise SourceError(Fault(name, "a zip inside a zip", "a zip of one map", "unpack it"))
    if driver == "OpenFileGDB":
        parts = tuple(sorted(p for p in path.rglob("*") if p.is_file()))
    for part in (*parts, *shapefile_parts(path).values()):
        guard_part(part, roots, name)
    return _inspected(path, name, driver, layer, source, role, scratch, parts)


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
            blank, path=shape.path, parts=shape.parts, encoding=shape.encoding,
            has_table=shape.has_table, findings=shape.findings,
        )  # fmt: skip
        opened = _opened(blank, SHAPE_RESTORE_SHX="YES" if shape.path != path else "NO")
        if shape.rows is not None and shape.rows != opened.rows:
            raise SourceError(_lost(name, shape.rows, opened.rows))
        return opened
    if driver == "GPKG":
        return _opened(_copied_database(blank, role, scratch))
    if driver != "GeoJSON":
        return _opened(blank)
    written = look_at_geojson(path, name, role)
    opened = _opened(replace(blank, written=written))
    if not written.faults and len(written.attributes) != opened.rows:
        raise SourceError(_lost(name, len(written.attributes), opened.rows))
    fields = tuple(dict.fromkeys(k for row in written.attributes for k in row))
    crs = CRS.from_user_input(written.crs) if written.crs else opened.crs
    return replace(opened, fields=fields, crs=crs, findings=opened.findings + written.findings,
                   faults=opened.faults + written.faults)  # fmt: skip


def _lost(name: str, there: int, read: int) -> Fault:
    """Rows that a reader does not return."""
    return Fault(name, f"{there} rows in the file, {read} of them can be read",
                 "every row of the file", "get a new copy of the file")  # fmt: skip


def _copied_database(blank: MapFile, role: str, scratch: Path) -> MapFile:
    """A copy of a GeoPackage to read from: reading one that is open elsewhere writes beside it."""
    copy = scratch / "copy.gpkg"
    shutil.copyfile(blank.path, copy)
    log = blank.path.with_name(blank.path.name + "-wal")
    if not (log.exists() and log.stat().st_size):
        return replace(blank, path=copy)
    shutil.copyfile(log, copy.with_name(copy.name + "-wal"))
    message = f"{blank.name}: is open in another program; its latest edits were read too"
    finding = Finding(severity="warning", source=role, message=message)
    return replace(blank, path=copy, findings=[finding])


def _opened(blank: MapFile, **options: str) -> MapFile:
    """The file's layer, driver, reference system, fields and count."""
    with plain_errors(blank.name), gdal_options(**options):
        layers = _layers(blank)
        layer = _chosen(layers, blank)
        info = pyogrio.read_info(blank.path, layer=layer, force_feature_count=True)
        rows, crs = int(info["features"]), _crs(info["crs"])
        if blank.driver in fiona.supported_drivers:
            with fiona.open(blank.path, layer=layer, enabled_drivers=[blank.driver]) as source:
                rows = len(source) if len(source) >= 0 else rows
                crs = CRS.from_wkt(source.crs_wkt) if source.crs_wkt else None
    if info["driver"] not in DRIVERS or (rows != int(info["features"])):
        raise SourceError(_lost(blank.name, rows, int(info["features"])))
    name = blank.name if len(layers) == 1 else f"{blank.name} (layer {layer})"
    return replace(blank, name=name, layer=layer, crs=crs, rows=rows,
                   driver=info["driver"], fields=tuple(map(str, info["fields"])),
                   fid_field=info["fid_column"] or "")  # fmt: skip


def _layers(blank: MapFile) -> list[str]:
    """Layers with geometry of a file."""
    return [str(name) for name, kind in pyogrio.list_layers(blank.path) if kind is not None]


def _chosen(layers: list[str], blank: MapFile) -> str:
    """The layer asked for, or the only one that has rows. Raises SourceError."""
    if blank.layer is not None:
        if blank.layer in layers:
            return blank.layer
        raise SourceError(Fault(blank.name, f'no layer "{blank.layer}"', f"one of {listed(layers)}",
                                suggestion(blank.layer, layers)))  # fmt: skip
    if len(layers) == 1:
        return layers[0]
    filled = [
        layer for layer in layers if not (blank.driver == "GPX" and layer.endswith("_points"))
        and pyogrio.read_info(blank.path, layer=layer, force_feature_count=True)["features"]
    ]  # fmt: skip
    if len(filled) == 1:
        return filled[0]
    raise SourceError(Fault(blank.name, f"{len(filled)} layers ({listed(filled, 20)})", "one layer",
                            f'choose one: layer = "{(filled or layers or ["…"])[0]}"'))  # fmt: skip


def _crs(text: str | None) -> CRS | None:
    """Reference system from what the reader says."""
    return CRS.from_user_input(text) if text else None


def told_crs(text: str, name: str) -> CRS:
    """Reference system named in the property file. Raises SourceError where it is none."""
    try:
        if not CRS_TEXT.match(text):
            raise CRSError(text)
        return CRS.from_user_input(text.strip())
    except CRSError as error:
        raise SourceError(Fault(name, f'crs = "{text[:60]}" is not known', 'one like "EPSG:26914"',
                                "look up the code of the file's system")) from error  # fmt: skip
