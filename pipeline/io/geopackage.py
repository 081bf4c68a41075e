"""The GeoPackage of a run: its layers and tables, labeled, the same bytes for the same layers.

*Source*: OGC 12-128r17, GeoPackage Encoding Standard 1.3 (2021).
"""

import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pyogrio
import pyogrio.raw
import shapely
from pyproj import CRS

from pipeline.layers import LAYERS, Layer, conform

if TYPE_CHECKING:
    from pipeline.outputs import Run

VERSION = "1.3"  # The newest that common viewers read without a complaint.


def write_geopackage(run: "Run", path: Path) -> None:
    """Write every layer and table of the run that has rows, and those that are always there."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": run.stamp})
    try:
        for name, layer in LAYERS.items():
            frame = run.frames[name]
            if not layer.internal and (layer.always or len(frame)):
                _write_layer(path, layer, frame, run.crs)
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def _write_layer(path: Path, layer: Layer, frame: pd.DataFrame, crs: CRS) -> None:
    """Append one layer. Types are set here, since a date would else arrive as text."""
    values, masks = zip(*(_field(frame[c.name], c.kind) for c in layer.columns), strict=True)
    spatial = layer.geometry is not None
    options = {"VERSION": VERSION} if not path.exists() else {}
    pyogrio.raw.write(
        path,
        geometry=shapely.to_wkb(frame["geometry"].to_numpy()) if spatial else None,
        field_data=list(values),
        fields=np.array(layer.column_names, dtype=object),
        field_mask=list(masks),
        layer=layer.name,
        driver="GPKG",
        geometry_type=_geometry_type(layer),
        crs=crs.to_wkt() if spatial else None,
        append=path.exists(),
        dataset_options=options,
        layer_options={"DESCRIPTION": layer.meaning, "IDENTIFIER": layer.name},
    )


def _geometry_type(layer: Layer) -> str | None:
    """Geometry type in the words of the format."""
    return "Unknown" if layer.geometry == "Geometry" else layer.geometry


def _field(values: pd.Series, kind: str) -> tuple[np.ndarray, np.ndarray]:
    """Values of a column as the format takes them, and where they are null."""
    null = values.isna().to_numpy(dtype=bool)
    if kind == "date":
        return values.to_numpy().astype("datetime64[D]"), null
    if kind == "integer":
        return values.fillna(0).to_numpy(dtype="int64"), null
    if kind == "flag":
        return values.fillna(False).to_numpy(dtype=bool), null
    if kind == "number":
        return values.to_numpy(dtype="float64"), null
    return values.where(~values.isna(), None).to_numpy(dtype=object), null


def read_geopackage(path: Path) -> Mapping[str, Any]:
    """Every layer and table of a GeoPackage that a run wrote, by name, as declared."""
    import geopandas as gpd

    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as database:
        names = [row[0] for row in database.execute("SELECT table_name FROM gpkg_contents")]
    return {
        name: conform(gpd.read_file(path, layer=name), LAYERS[name])
        for name in names
        if name in LAYERS
    }
