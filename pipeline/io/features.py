"""Read the rows of an opened map file: every row, its attributes as text, its shape as drawn."""

from dataclasses import dataclass
from datetime import date, datetime

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.errors import Fault, SourceError
from pipeline.io.gdal import gdal_options
from pipeline.io.geojson import plain_number
from pipeline.io.map_file import MapFile, plain_errors


@dataclass(frozen=True, slots=True)
class Features:
    """Rows of a map file in their order. ``texts`` holds the attributes asked for, by field.

    ``closed`` and ``rewound`` are the positions of rows whose rings the reader had to close, or
    whose holes are wound like outlines.
    """

    shapes: gpd.GeoSeries
    texts: dict[str, list[str]]
    closed: list[int]
    rewound: list[int]


def read_features(opened: MapFile, fields: list[str]) -> Features:
    """All rows of a map file, or a SourceError: none is ever left out."""
    frame, closed = _read(opened, fields)
    if len(frame) != opened.rows:
        raise SourceError(
            Fault(opened.name, f"{opened.rows} rows in the file, {len(frame)} of them can be read",
                  "every row of the file", "get a new copy of the file")
        )  # fmt: skip
    if opened.written is not None:
        texts = {
            name: [row.get(name, "") for row in opened.written.attributes] for name in fields
        }  # fmt: skip
    else:
        texts = {name: [native_text(value) for value in frame[name]] for name in fields}
    rewound = _rewound(opened, frame) if opened.driver == "ESRI Shapefile" else []
    return Features(frame.geometry, texts, closed, rewound)


def _read(opened: MapFile, fields: list[str]) -> tuple[gpd.GeoDataFrame, list[int]]:
    """The rows, and positions of those whose rings had to be closed."""
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
    with plain_errors(opened.name), gdal_options(**opened.options):
        frame = gpd.read_file(
            opened.path, layer=opened.layer, engine="pyogrio", columns=fields, force_2d=True,
            encoding=opened.encoding, fid_as_index=True, on_invalid=on_invalid,
        )  # fmt: skip
    if opened.fid_field:
        frame[opened.fid_field] = frame.index
    shapes = gpd.GeoDataFrame(frame.drop(columns="geometry"), geometry=list(frame.geometry))
    return shapes.reset_index(drop=True)


def _rewound(opened: MapFile, frame: gpd.GeoDataFrame) -> list[int]:
    """Positions of shapes that differ when rings are trusted to be wound as the format asks."""
    by_winding = opened.options | {"OGR_ORGANIZE_POLYGONS": "ONLY_CCW"}
    with plain_errors(opened.name), gdal_options(**by_winding):
        trusted = gpd.read_file(opened.path, layer=opened.layer, engine="pyogrio", columns=[],
                                force_2d=True, on_invalid="fix")  # fmt: skip
    if len(trusted) != len(frame):
        return []
    ours, theirs = (
        shapely.area(frame.geometry.to_numpy()),
        shapely.area(trusted.geometry.to_numpy()),
    )
    differ = ~np.isclose(ours, theirs, rtol=1e-9) & np.isfinite(ours)
    return np.flatnonzero(differ).tolist()


def native_text(value: object) -> str:
    """An attribute as a person would type it: 7.0 is "7", a day has no hour, null is empty."""
    if value is None or value is pd.NaT or (isinstance(value, float) and np.isnan(value)):
        return ""
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, float | np.floating):
        return plain_number(repr(float(value)))
    if isinstance(value, datetime):
        return (
            value.date().isoformat() if value.time() == datetime.min.time() else value.isoformat()
        )
    return value.isoformat() if isinstance(value, date) else str(value).strip("\0")
