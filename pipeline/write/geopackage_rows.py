"""Cells of layers as a GeoPackage stores them, and tables without shapes.

*Source*: OGC 12-128r17, GeoPackage 1.3 (2021), table 1 (types of columns) and 2.4 (attributes).
"""

import sqlite3

import numpy as np
import pandas as pd

from pipeline.core.layer import Kind, Layer

TYPE_BY_KIND: dict[Kind, str] = {
    "text": "TEXT",
    "integer": "INTEGER",
    "number": "REAL",
    "date": "DATE",
    "flag": "BOOLEAN",
}


def stored_cells(values: pd.Series, kind: Kind) -> tuple[np.ndarray, np.ndarray]:
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


def add_table(
    database: sqlite3.Connection, layer: Layer, frame: pd.DataFrame, description: str, stamp: str
) -> None:
    """Add one table without shapes and its rows; ``stamp`` is ISO 8601 in UTC."""
    typed = "".join(f', "{c.name}" {TYPE_BY_KIND[c.kind]}' for c in layer.columns)
    database.execute(
        f'CREATE TABLE "{layer.name}" ("fid" INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL{typed})'
    )
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, "
        "srs_id) VALUES (?, 'attributes', ?, ?, ?, 0)",
        (layer.name, layer.name, description, stamp),
    )
    names = ", ".join(f'"{name}"' for name in layer.column_names)
    marks = ", ".join("?" * len(layer.columns))
    cells = [_plain(*stored_cells(frame[c.name], c.kind)) for c in layer.columns]
    rows = zip(*cells, strict=True)
    database.executemany(f'INSERT INTO "{layer.name}" ({names}) VALUES ({marks})', rows)


def _plain(values: np.ndarray, null: np.ndarray) -> list[object]:
    """Cells as the database takes them, days as ISO 8601."""
    cells = (values.astype(str) if values.dtype.kind == "M" else values).tolist()
    return [None if is_null else cell for cell, is_null in zip(cells, null, strict=True)]
