"""A look at what lies in a folder: formats, geometry, columns. Nothing is computed from it."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Literal

import geopandas as gpd
import pyogrio

from pipeline.core.errors import PipelineError, SourceError
from pipeline.core.layer import Layer
from pipeline.intake.map_file import filled_layers, layers_of, plain_errors
from pipeline.intake.map_formats import (
    MAP_SUFFIXES,
    ZIP_SUFFIXES,
    copied_geopackage,
    files_below,
    map_format,
    unpack,
)
from pipeline.intake.scenes import RASTER_SUFFIXES, open_raster
from pipeline.intake.tables import TABLE_SUFFIXES, content_of, grid_of, text_of

Content = Literal["polygons", "lines", "points", "raster", "table"]

# Words of the trade and of land records, as parts of file names. Common practice, no source.
WORDS_BY_ROLE: dict[tuple[Content, str], str] = {
    ("polygons", "exclusions"): r"exclu|leave|wetland|pond|building|yard|avoid|no_?burn|no_?seed",
    ("polygons", "breaks"): r"till|crop|break|bare|mown|lake|water",
    ("polygons", "burned_areas"): r"burned|burn_?scar|fire_?hist|partial",
    ("polygons", "units"): r"unit|field|pasture|paddock|parcel|bound",
    ("lines", "breaks"): r"road|trail|lane|track|creek|stream|river|ditch|fence|break|line",
}
HEIGHT_WORDS = r"(?<![a-z])(dem|dtm|dsm|ned|3dep|lidar)(?![a-z])|elev|height"
WAYS = ("road", "trail", "lane", "track")
OTHER_BREAKS = ("creek", "stream", "river", "ditch", "fence", "pond", "tilled", "crop", "lake")
ID_WORDS = r"^(unit_?(id|no|nr|name)?|id|name|field(_?id)?|pasture|paddock)$"
DATE_IN_NAME = re.compile(r"(?<!\d)(20\d\d)[-_]?([01]\d)[-_]?([0-3]\d)(?!\d)")

CONTENT_BY_GEOMETRY: dict[str, Content] = {
    "Polygon": "polygons",
    "LineString": "lines",
    "Point": "points",
}
ROWS_LOOKED_AT = 5000


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
        return "elevation" if re.search(HEIGHT_WORDS, found.path.lower()) else "scenes"
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
        is_there = {c.name: bool(given & {c.name, *c.aliases}) for c in layer.columns}
        if all(is_there[c.name] for c in layer.columns if c.required):
            fits.append((sum(is_there.values()), name))
    return max(fits)[1] if fits else None


def likely_id_column(found: FoundFile) -> str | None:
    """Column that tells the units apart: its values differ and its name says so."""
    named = [c for c in found.unique_columns if re.match(ID_WORDS, c.lower())]
    return next(iter([*named, *found.unique_columns]), None)


def likely_break_kind(found: FoundFile) -> str:
    """Kind of an existing break, from the name of its file."""
    name = found.path.lower()
    return next((word for word in (*WAYS, *OTHER_BREAKS) if word in name), "break")


def date_in_name(name: str) -> date | None:
    """Date written as year, month, day in a file name; None where there is none or several."""
    days = set()
    for year, month, day in DATE_IN_NAME.findall(name):
        try:
            days.add(date(int(year), int(month), int(day)))
        except ValueError:
            continue
    return days.pop() if len(days) == 1 else None


def survey(folder: Path) -> list[FoundFile]:
    """Every map file, raster and table of a folder and its subfolders, by path.

    The formats are those that ``check`` reads. A file that cannot be opened is left out:
    ``check`` will say why once it is named.
    """
    if not folder.is_dir():
        found, do = "no such folder", "check the path"
        raise SourceError.of(str(folder), found, "a folder of map files", do)
    found_files: list[FoundFile] = []
    for path in files_below(folder):
        name = path.relative_to(folder).as_posix()
        look = _looks().get(path.suffix.lower())
        if look is None or "out" in path.relative_to(folder).parts:
            continue
        try:
            found_files += look(path, name)
        except (PipelineError, OSError):
            continue
    return found_files


def _looks() -> dict[str, Callable[[Path, str], Iterator[FoundFile]]]:
    """How to look at a file, by its suffix."""
    return {
        **dict.fromkeys(MAP_SUFFIXES | ZIP_SUFFIXES, _map_layers),
        **dict.fromkeys(RASTER_SUFFIXES, _raster),
        **dict.fromkeys(TABLE_SUFFIXES, _table),
    }


def _map_layers(path: Path, name: str) -> Iterator[FoundFile]:
    """The layers of a map file, or those of the maps in a zip."""
    with TemporaryDirectory(prefix="swardline-", ignore_cleanup_errors=True) as scratch:
        driver = map_format(path, name)
        if driver != "zip":
            yield from _layers_of_map(path, name, driver, Path(scratch))
            return
        inner = unpack(path, name, Path(scratch))
        for file in inner:
            layer = file.stem if len(inner) > 1 else None
            yield from _layers_of_map(file, name, map_format(file, name), Path(scratch), layer)


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
    info = pyogrio.read_info(path, layer=layer, force_feature_count=True)
    frame = gpd.read_file(
        path, layer=layer, engine="pyogrio", rows=ROWS_LOOKED_AT, on_invalid="ignore"
    )
    kinds = {str(kind).removeprefix("Multi") for kind in frame.geom_type.unique()}
    content = next((CONTENT_BY_GEOMETRY[k] for k in CONTENT_BY_GEOMETRY if k in kinds), None)
    if content is None:
        return None
    columns = [str(column) for column in info["fields"]]
    whole = [c for c in columns if frame[c].notna().all()]
    return FoundFile(
        path=name,
        content=content,
        columns=tuple(columns),
        unique_columns=tuple(c for c in whole if frame[c].map(str).is_unique),
        rows=int(info["features"]),
        has_crs=info["crs"] is not None,
        layer=layer,
    )


def _raster(path: Path, name: str) -> Iterator[FoundFile]:
    """A raster that holds bands."""
    with open_raster(path, name) as source:
        if source.count:
            yield FoundFile(name, "raster", rows=source.count, has_crs=source.crs is not None)


def _table(path: Path, name: str) -> Iterator[FoundFile]:
    """A table whose first line can be read as headers."""
    text, _ = text_of(content_of(path, name), name, None)
    grid, _ = grid_of(text, name)
    if grid.headers:
        yield FoundFile(name, "table", tuple(grid.headers), rows=len(grid.rows))
