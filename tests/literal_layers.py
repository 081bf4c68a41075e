"""Frames of layers out of rows written as literals: the one way the tests make them."""

import geopandas as gpd
import pandas as pd

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty


def literal_layer(name, rows=(), shapes=None, crs=None):
    """Frame of the layer ``name``: a dictionary a row, what a row leaves out is empty.

    Dates may be text. A name that the layer does not declare is an error, so that a misspelled
    cell cannot pass for an empty one.
    """
    declared = LAYERS[name]
    rows = list(rows)
    unknown = sorted({cell for row in rows for cell in row} - set(declared.column_names))
    if unknown:
        raise ValueError(f"layer {name} has no column {unknown}")
    if not rows:
        return empty(declared, crs)
    frame = pd.DataFrame(
        {c.name: pd.Series([r.get(c.name) for r in rows], dtype=object) for c in declared.columns}
    )
    for column in declared.columns:
        if column.kind == "date":
            frame[column.name] = pd.to_datetime(frame[column.name]).astype("datetime64[s]")
    if declared.geometry:
        frame = gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=crs), crs=crs)
    return conform(frame, declared, crs)
