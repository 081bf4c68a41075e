"""How a layer is declared, and the exit gate that every step's result passes.

A layer is a table with a fixed list of columns, with or without a geometry. Declaring it once
gives the reader of a source its types and bounds, the writer of the GeoPackage its field types
and labels, and the documentation its text.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely import MultiLineString, MultiPolygon
from shapely.geometry.base import BaseGeometry

from pipeline.core.units import unit_of, unit_symbol

Kind = Literal["text", "integer", "number", "date", "flag"]


GeometryKind = Literal[
    "MultiPolygon", "MultiLineString", "LineString", "Point", "LineOrPolygon", "Geometry"
]


DTYPE_BY_KIND: dict[Kind, str] = {
    "text": "object",
    "integer": "Int64",
    "number": "float64",
    "date": "datetime64[s]",
    "flag": "boolean",
}


NO_CELLS = {kind: pd.Series(dtype=dtype).array for kind, dtype in DTYPE_BY_KIND.items()}
"""A column of each kind without any cells."""


NO_SHAPES = gpd.GeoSeries([]).array
"""A column of geometry without any shapes."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it holds, in which unit, and what may stand in it.

    ``dimensionless`` marks a number that has no unit (an index, a factor); every other number
    names its unit at the end of its name. ``heading`` stands over the column wherever people read
    it, without the unit, which is added from the name; ``places`` are the decimals it is rounded
    to there (a whole number without them is a name or a year and has no thousands set apart), and
    a ``signed`` number, a change, shows its sign. ``required`` speaks of the column of a source
    (must the user's table have it?), ``nullable`` of its cells. ``choices`` and the bounds hold
    for both ways, in and out. ``aliases`` are header spellings that a source may use instead of
    ``name``. Of a date with ``month_counts`` only the month is needed; a percent that is a
    ``small_part`` of a whole is a percent though it is below 1, and may be told as a trace; in a
    text where ``none_is_said`` that word is an answer, not an empty cell.
    """

    name: str
    kind: Kind
    meaning: str
    heading: str = ""
    places: int | None = None
    nullable: bool = False
    required: bool = True
    dimensionless: bool = False
    signed: bool = False
    lowest: float | None = None
    highest: float | None = None
    choices: tuple[str, ...] = ()
    aliases: tuple[str, ...] = ()
    month_counts: bool = False
    small_part: bool = False
    none_is_said: bool = False

    @property
    def symbol(self) -> str:
        """Sign of the unit, as it stands behind a heading; empty where there is none."""
        return unit_symbol(self.name) if self.unit else ""

    @property
    def unit(self) -> str | None:
        """Unit in words, None where there is none."""
        return None if self.dimensionless or self.kind != "number" else unit_of(self.name)


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer or table. ``key`` names the columns that tell its rows apart and order them.

    ``internal`` layers pass from step to step and are not written out; ``always`` ones are written
    even when they are empty.
    """

    name: str
    geometry: GeometryKind | None
    meaning: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    internal: bool = False
    always: bool = False

    @property
    def column_names(self) -> list[str]:
        """Names of the columns, without the geometry, in their order."""
        return [column.name for column in self.columns]

    def column(self, name: str) -> Column:
        """Declaration of one column. Raises KeyError for an unknown name."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(f"layer {self.name} has no column {name}")


def empty(layer: Layer, crs: object = None) -> pd.DataFrame:
    """Frame of a layer with no rows: what a step gets for a source that was not given."""
    blank = _blank(layer)
    if isinstance(blank, gpd.GeoDataFrame) and crs is not None:
        return blank.set_crs(crs)
    # A deep copy: pandas keeps a reference in the blank to each copy that shares its cells, and a
    # batch would gather many.
    return blank.copy()


@lru_cache(maxsize=1000)
def _blank(layer: Layer) -> pd.DataFrame:
    """The one frame of which every empty layer is a copy: most layers of a property are empty.

    It has no reference system, which is another one for each property of a batch.
    """
    data = pd.DataFrame({c.name: NO_CELLS[c.kind] for c in layer.columns}, copy=False)
    return data if layer.geometry is None else gpd.GeoDataFrame(data, geometry=NO_SHAPES)


def conform(frame: pd.DataFrame, layer: Layer, crs: object = None) -> pd.DataFrame:
    """The frame as its declaration says, or an error: the exit gate of every step.

    Columns in the declared order and types, rows in the order of the key, geometries of one type.
    A frame that does not fit is a fault of the step, so what is raised is a ValueError that names
    layer and column, not a message for the user.
    """
    names = layer.column_names
    geometry = ["geometry"] if layer.geometry else []
    if set(frame.columns) != {*names, *geometry}:
        missing = sorted({*names, *geometry} - set(frame.columns))
        extra = sorted(set(frame.columns) - {*names, *geometry})
        raise ValueError(f"layer {layer.name}: columns missing {missing}, not declared {extra}")
    if layer.geometry is not None:
        shapes = gpd.GeoSeries(frame["geometry"])
        if crs is not None and shapes.crs is not None and shapes.crs != crs:
            raise ValueError(f"layer {layer.name}: in {shapes.crs}, expected {crs}")
        crs = crs or shapes.crs
    if frame.empty:
        return empty(layer, crs if layer.geometry else None)
    cells = pd.DataFrame(frame)
    casts = {c.name: _cast(cells[c.name], c, layer.name) for c in layer.columns}
    result = pd.DataFrame(casts)
    if layer.geometry is not None:
        result = gpd.GeoDataFrame(result, geometry=_promoted(shapes, layer), crs=crs)
    if layer.key:
        repeated = result.duplicated(list(layer.key))
        if repeated.any():
            row = result.loc[repeated, list(layer.key)].iloc[0].to_dict()
            raise ValueError(f"layer {layer.name}: key {row} stands twice")
        result = result.sort_values(list(layer.key), kind="stable")
    return result.reset_index(drop=True)


def _cast(values: pd.Series, column: Column, layer: str) -> pd.Series:
    """One column in its declared type, its cells checked against the declaration."""
    where = f"layer {layer}, column {column.name}"
    dtype = DTYPE_BY_KIND[column.kind]
    try:
        cast = values if values.dtype == dtype else values.astype(dtype)
    except (TypeError, ValueError) as error:
        raise ValueError(f"{where}: {error}") from error
    missing = cast.isna().to_numpy()
    if missing.any():
        if not column.nullable:
            raise ValueError(f"{where}: {missing.sum()} cells are empty")
        if column.kind == "text":
            cast = cast.where(~missing, None)
    if not missing.all():
        _check(cast[~missing], column, where)
    return cast


def _check(present: pd.Series, column: Column, where: str) -> None:
    """Cells with a value against the declaration of their column."""
    if column.kind == "number" and np.isinf(present.to_numpy()).any():
        raise ValueError(f"{where}: holds infinity")
    if column.lowest is not None and (present < column.lowest).any():
        raise ValueError(f"{where}: {present.min()} is below {column.lowest}")
    if column.highest is not None and (present > column.highest).any():
        raise ValueError(f"{where}: {present.max()} is above {column.highest}")
    if column.choices and not present.isin(column.choices).all():
        odd = sorted(set(present) - set(column.choices))
        raise ValueError(f"{where}: {odd} not among {column.choices}")


def _promoted(shapes: gpd.GeoSeries, layer: Layer) -> np.ndarray:
    """Geometries of the declared type: one of a kind becomes several, anything odd is an error."""
    found = shapes.to_numpy()
    if layer.geometry in ("LineOrPolygon", "Geometry"):
        return found
    promoted = [_several(shape, layer.geometry) for shape in found]
    odd = {"null" if s is None else s.geom_type for s in promoted} - {layer.geometry}
    if odd:
        raise ValueError(f"layer {layer.name}: geometries {sorted(odd)}, not {layer.geometry}")
    return np.array(promoted, dtype=object)


SEVERAL = {"Polygon": MultiPolygon, "LineString": MultiLineString}
"""What a shape becomes in a layer that may hold several of its kind in a row."""


def _several(shape: BaseGeometry | None, kind: str | None) -> BaseGeometry | None:
    """A shape as one of several where the layer holds several, else as it is."""
    one = None if shape is None else shape.geom_type
    return SEVERAL[one]([shape]) if one in SEVERAL and kind == f"Multi{one}" else shape


def optional_text(
    name: str,
    meaning: str,
    heading: str = "",
    *,
    choices: tuple[str, ...] = (),
    aliases: tuple[str, ...] = (),
) -> Column:
    """A text column that may be empty and that a source may leave out."""
    return Column(
        name,
        "text",
        meaning,
        heading,
        nullable=True,
        required=False,
        choices=choices,
        aliases=aliases,
    )


def optional_date(
    name: str, meaning: str, heading: str = "", *, aliases: tuple[str, ...] = ()
) -> Column:
    """A column of days that may be empty and that a source may leave out."""
    return Column(name, "date", meaning, heading, nullable=True, required=False, aliases=aliases)


def optional_count(name: str, meaning: str, heading: str = "", places: int | None = None) -> Column:
    """A column of whole numbers that may be empty; with ``places`` 0 they are counts, not years."""
    return Column(name, "integer", meaning, heading, places, nullable=True, required=False)


def optional_number(
    name: str,
    meaning: str,
    heading: str = "",
    places: int | None = None,
    *,
    lowest: float = 0,
    highest: float | None = None,
    dimensionless: bool = False,
    aliases: tuple[str, ...] = (),
) -> Column:
    """A number column that may be empty; negative only where ``lowest`` says so."""
    return Column(
        name,
        "number",
        meaning,
        heading,
        places,
        nullable=True,
        required=False,
        lowest=lowest,
        highest=highest,
        dimensionless=dimensionless,
        aliases=aliases,
    )
