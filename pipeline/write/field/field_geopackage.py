"""The plan as a small GeoPackage to carry in a field app: few columns, symbols, degrees.

*Source*: OGC 12-128r17, GeoPackage Encoding Standard 1.3 (2021).
"""

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import pandas as pd
import shapely
from pyproj import CRS

from pipeline import __version__
from pipeline.catalog import LAYERS
from pipeline.core.layer import Column, GeometryKind, Layer
from pipeline.core.run import Run
from pipeline.core.units import M_PER_FT
from pipeline.pages.cautions import CAUTION
from pipeline.pages.conflict_lines import stop_lines
from pipeline.pages.field.items import plan_items
from pipeline.pages.field.settings import gps_settings
from pipeline.pages.field.told import Item
from pipeline.pages.palette import change_scale
from pipeline.pages.symbols.layer_symbols import layer_styles
from pipeline.pages.symbols.looks import Kind, Style, Test
from pipeline.pages.words import plain
from pipeline.write.geopackage import write_layers
from pipeline.write.geopackage_checks import geopackage_faults
from pipeline.write.geopackage_tables import add_field_tables

COLUMNS = (
    Column("name", "text", "What it is called, also on sheets and receivers.", "Name"),
    Column("block", "text", "Burn blocks that it is of.", "Block", nullable=True),
    Column("what", "text", "What it is.", "What it is"),
    Column("note", "text", "Figures, and what to do there.", "Note", nullable=True),
    Column("symbol", "text", "Words of the legend, by which it is drawn.", "Symbol"),
)


GEOMETRIES: tuple[GeometryKind, ...] = ("Point", "MultiLineString", "MultiPolygon")
"""Geometry of the layers of places, of lines and of ground."""


KINDS: tuple[Kind, ...] = ("point", "line", "polygon")


APART = ("_places", "_lines", "_ground")
"""End of the name of a layer whose rows are of another kind than most of its theme are."""


USUAL = {"smoke_places": 0, "conflicts": 0}
"""Kind of the rows of themes that may have any, as a position in these lists."""


PAGE_BYTES = 1024
"""Every table takes whole pages, and there are many small ones."""


WGS_84 = CRS(4326)


def write_field_plan(run: Run, path: Path) -> None:
    """Write ``field_plan.gpkg``: what a crew looks for on the ground, the same bytes each time."""
    by_layer: dict[str, list[Item]] = {}
    for item in plan_items(run.frames):
        by_layer.setdefault(_layer_of(item), []).append(item)
    layers = {name: _layer(name, items) for name, items in by_layer.items()}
    styles = {name: _style(items) for name, items in by_layer.items()}
    thin_ft = gps_settings(run.frames["settings"]).thin_ft
    frames = {name: _frame(run, items, thin_ft) for name, items in by_layer.items()}
    write_layers(frames, layers, WGS_84, path, run.stamp)
    origin = {
        "program": "swardline",
        "version": __version__,
        "property": {"name": run.name, "season": run.season},
        "newest_source": run.stamp,
        "thinned_ft": thin_ft,
        "caution": CAUTION,
        "stop_and_ask": stop_lines(run.frames["conflicts"]),
    }
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("PRAGMA synchronous = OFF")
        add_field_tables(database, layers.values(), styles, origin, run.stamp)
    with closing(sqlite3.connect(path)) as database:
        database.execute(f"PRAGMA page_size = {PAGE_BYTES}")
        database.execute("VACUUM")
    if faults := geopackage_faults(path):
        raise ValueError("the GeoPackage breaks its standard: " + "; ".join(faults))


def _dimension(item: Item) -> int:
    return int(shapely.get_dimensions(item.shape))


def _layer_of(item: Item) -> str:
    """Name of the layer that a thing stands in: a layer has places, lines or ground alone."""
    own = LAYERS[item.layer].geometry
    usual = USUAL.get(item.layer)
    if usual is None:
        usual = {"Point": 0, "LineString": 1, "MultiLineString": 1}.get(str(own), 2)
    dimension = _dimension(item)
    return item.layer if dimension == usual else item.layer + APART[dimension]


def _layer(name: str, items: list[Item]) -> Layer:
    meaning = LAYERS[items[0].layer].meaning
    return Layer(name, GEOMETRIES[_dimension(items[0])], meaning, COLUMNS)


def _style(items: list[Item]) -> Style:
    """The looks of the table of symbols, asked for by their words; named are layers named there."""
    named = layer_styles(change_scale((), noise_floor=0))[items[0].layer].label
    looks = dict.fromkeys(item.look for item in items)
    shown = tuple(replace(look, tests=(Test("symbol", (look.words,)),)) for look in looks)
    return Style(KINDS[_dimension(items[0])], shown, "name" if named else "")


def _frame(run: Run, items: list[Item], thin_ft: float) -> gpd.GeoDataFrame:
    """Rows of a layer in longitude and latitude, their lines thinned by up to ``thin_ft`` [ft]."""
    rows = pd.DataFrame(
        {
            "name": [plain(item.told.name) for item in items],
            "block": [plain(", ".join(item.told.blocks)) or None for item in items],
            "what": [plain(item.told.kind) for item in items],
            "note": [plain(item.told.remark) for item in items],
            "symbol": [item.look.words for item in items],
        },
        dtype=object,
    )
    shapes = gpd.GeoSeries([_many(item.shape) for item in items], crs=run.crs)
    if thin_ft > 0:
        shapes = shapes.simplify(thin_ft * M_PER_FT)
    return gpd.GeoDataFrame(rows, geometry=shapes.to_crs(WGS_84))


def _many(shape: shapely.Geometry) -> shapely.Geometry:
    """Lines and ground as collections of their parts."""
    dimension = int(shapely.get_dimensions(shape))
    if not dimension:
        return shape
    parts = shapely.get_parts(shape)
    return (shapely.multilinestrings, shapely.multipolygons)[dimension - 1](parts)
