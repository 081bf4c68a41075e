"""A look at every file of a folder: formats, geometry, columns. Nothing is computed from it."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from glob import escape as glob_escape
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import rasterio
import shapely
from pyproj.exceptions import ProjError
from rasterio.enums import ColorInterp
from rasterio.errors import RasterioError
from shapely.errors import ShapelyError

from pipeline.core.errors import PipelineError, SourceError
from pipeline.core.names import as_text
from pipeline.intake.files.scratch import scratch_folder
from pipeline.intake.map_file import filled_layers, layers_of, native_text, plain_errors
from pipeline.intake.map_formats import (
    MAP_SUFFIXES,
    ZIP_SUFFIXES,
    copied_geopackage,
    files_below,
    map_format,
    unpack,
)
from pipeline.intake.rasters.raster_file import RASTER_OPTIONS, RASTER_SUFFIXES, open_raster
from pipeline.intake.survey.file_look import Content, FoundFile, RasterLook, column_look
from pipeline.intake.tables import (
    TABLE_SUFFIXES,
    WORKBOOK_SUFFIX,
    Grid,
    content_of,
    grid_of,
    grid_of_records,
    text_of,
)
from pipeline.intake.workbook_sheet import sheet_records, sheet_titles

CONTENT_BY_GEOMETRY: dict[str, Content] = {
    "Polygon": "polygons",
    "LineString": "lines",
    "Point": "points",
}
RENAME = "its name holds bytes that no property file can write; rename it"
ROWS_LOOKED_AT = 5000
SAMPLE_PIXELS = 256
EQUAL_AREA = 6933  # EPSG: cylindrical, whole earth, true areas
RGB = (ColorInterp.red, ColorInterp.green, ColorInterp.blue)
SQ_M_PER_AC = 4046.8564224
NOT_READ = {".xls": "save it as .xlsx, or the sheet as CSV"}
"""Tables that people keep and that are not read, with what to do."""


def survey(folder: Path) -> list[FoundFile]:
    """Every map file, raster and table of a folder and its subfolders, by path.

    The formats are those that ``check`` reads. A file that cannot be opened is kept as "unread"
    with the reason.
    """
    if not folder.is_dir():
        found, do = "no such folder", "check the path"
        raise SourceError.of(str(folder), found, "a folder of map files", do)
    found_files: list[FoundFile] = []
    for path in files_below(folder):
        inner = path.relative_to(folder).as_posix()
        name, suffix = as_text(inner), path.suffix.lower()
        if "out" in path.relative_to(folder).parts:
            continue
        if name != inner:
            found_files.append(FoundFile(name, "unread", note=RENAME))
            continue
        if suffix in NOT_READ:
            found_files.append(FoundFile(name, "unread", note=NOT_READ[suffix]))
        if suffix not in _looks():
            continue
        try:
            changed = _changed(path)
            looked = [replace(found, changed=changed) for found in _looks()[suffix](path, name)]
            found_files += looked or [FoundFile(name, "unread", note="holds no shapes or rows")]
        except (PipelineError, OSError, RasterioError) as error:
            found_files.append(FoundFile(name, "unread", note=_first_words(error)))
    return found_files


def _first_words(error: Exception) -> str:
    """What is wrong with a file, without its name."""
    if isinstance(error, PipelineError):
        return f"{error.faults[0].found}; {error.faults[0].do}"
    return (str(error).splitlines() or [type(error).__name__])[0][:120]


def _changed(path: Path) -> float:
    """Time of the last change of a file, of the latest of its parts where it has several."""
    parts = path.parent.glob(f"{glob_escape(path.stem)}.*") if path.suffix == ".shp" else (path,)
    return max(part.stat().st_mtime for part in parts)


def _looks() -> dict[str, Callable[[Path, str], Iterator[FoundFile]]]:
    """How to look at a file, by its suffix."""
    return {
        **dict.fromkeys(MAP_SUFFIXES | ZIP_SUFFIXES, _map_layers),
        **dict.fromkeys(RASTER_SUFFIXES, _raster),
        **dict.fromkeys(TABLE_SUFFIXES, _table),
        WORKBOOK_SUFFIX: _workbook,
    }


def _map_layers(path: Path, name: str) -> Iterator[FoundFile]:
    """The layers of a map file, or those of the maps in a zip."""
    with scratch_folder() as scratch:
        driver = map_format(path, name)
        if driver != "zip":
            yield from _layers_of_map(path, name, driver, scratch)
            return
        unpacked = scratch / "unpacked"
        unpacked.mkdir()
        inner = unpack(path, name, unpacked)
        stems = [file.stem for file in inner]
        for file in inner:
            alone = stems.count(file.stem) == 1
            layer = file.stem if alone else file.relative_to(unpacked).as_posix()
            driver = map_format(file, name)
            if driver != "zip":
                given = layer if len(inner) > 1 else None
                yield from _layers_of_map(file, name, driver, scratch, given)


def _layers_of_map(
    path: Path, name: str, driver: str, scratch: Path, layer: str | None = None
) -> Iterator[FoundFile]:
    """The layers of one map that hold shapes; ``layer`` names the map among several."""
    place = copied_geopackage(path, name, scratch)[0] if driver == "GPKG" else path
    with plain_errors(name):
        layers = filled_layers(place, driver, layers_of(place))
        for inner in layers:
            found = _map_layer(place, name, inner)
            if found is not None:
                yield replace(found, layer=layer or (inner if len(layers) > 1 else None))


def _map_layer(path: Path, name: str, layer: str) -> FoundFile | None:
    """One layer of a map file, None when it has no geometry we know."""
    frame = gpd.read_file(
        path, layer=layer, engine="pyogrio", rows=ROWS_LOOKED_AT, on_invalid="ignore"
    )
    kinds = frame.geom_type.astype("string").str.removeprefix("Multi")
    content = next(
        (CONTENT_BY_GEOMETRY[k] for k in CONTENT_BY_GEOMETRY if (kinds == k).any()), None
    )
    if content is None:
        return None
    rows = pyogrio.read_info(path, layer=layer, force_feature_count=True)["features"]
    shapes = _on_equal_areas(frame)
    ground, measured_ac = None, None
    if shapes is not None and content == "polygons":
        ground, measured_ac = _union(shapes), shapely.area(shapes) / SQ_M_PER_AC
    names = [str(column) for column in frame.columns if column != frame.geometry.name]
    looks = [column_look(n, map(native_text, frame[n]), measured_ac) for n in names]
    return FoundFile(
        path=name,
        content=content,
        columns=tuple(looks),
        rows=int(rows),
        has_crs=frame.crs is not None,
        layer=layer,
        ground=ground,
        extent=shapely.box(*shapely.total_bounds(shapes)) if shapes is not None else None,
    )


def _on_equal_areas(frame: gpd.GeoDataFrame) -> np.ndarray | None:
    """Shapes on a map of equal areas [m]; None where the file does not say where they lie."""
    if frame.crs is None:
        return None
    try:
        shapes = frame.geometry.force_2d().to_crs(EQUAL_AREA).to_numpy()
        known = shapes[~shapely.is_missing(shapes) & ~shapely.is_empty(shapes)]
        finite = bool(len(known)) and np.isfinite(shapely.total_bounds(known)).all()
        return shapely.make_valid(shapes) if finite else None
    except (ShapelyError, ProjError, ValueError):
        return None


def _union(shapes: np.ndarray) -> shapely.Geometry | None:
    """What polygons cover together; None where they are too odd to tell."""
    try:
        return shapely.union_all(shapes, grid_size=0.1)
    except ShapelyError:
        return None


def _raster(path: Path, name: str) -> Iterator[FoundFile]:
    """A raster that holds bands, with a sample of its pixels."""
    with rasterio.Env(**RASTER_OPTIONS), open_raster(path, name) as source:
        if not source.count:
            return
        step = max(1, max(source.shape) // SAMPLE_PIXELS)
        shape = (source.count, max(1, source.height // step), max(1, source.width // step))
        values = source.read(out_shape=shape, masked=True).compressed()
        values = values[np.isfinite(values)] if np.isrealobj(values) else values[:0]
        look = RasterLook(
            descriptions=tuple(text or "" for text in source.descriptions),
            has_fractions=all(np.dtype(kind).kind == "f" for kind in source.dtypes),
            is_scaled=any(scale != 1.0 for scale in source.scales),
            lowest=float(values.min()) if len(values) else 0.0,
            highest=float(values.max()) if len(values) else 0.0,
            is_colored=set(source.dtypes) == {"uint8"} and source.colorinterp[:3] == RGB,
        )
        has_crs = source.crs is not None
        yield FoundFile(name, "raster", rows=source.count, has_crs=has_crs, raster=look)


def _table(path: Path, name: str) -> Iterator[FoundFile]:
    """A table whose first line can be read as headers."""
    text, _ = text_of(content_of(path, name), name, None)
    yield from _look_at_grid(grid_of(text, name)[0], name)


def _workbook(path: Path, name: str) -> Iterator[FoundFile]:
    """The sheets of a workbook whose first rows can be read as headers."""
    content = content_of(path, name, may_be_workbook=True)
    titles = sheet_titles(content, name)
    for title in titles:
        grid, _ = grid_of_records(sheet_records(content, name, title, 1), name, 1)
        for found in _look_at_grid(grid, name):
            yield replace(found, layer=title if len(titles) > 1 else None)


def _look_at_grid(grid: Grid, name: str) -> Iterator[FoundFile]:
    if grid.headers:
        cells = [row for _, row in grid.rows[:ROWS_LOOKED_AT]]
        columns = tuple(
            column_look(header, (row[n] if n < len(row) else "" for row in cells))
            for n, header in enumerate(grid.headers)
        )
        yield FoundFile(name, "table", columns, rows=len(grid.rows))
