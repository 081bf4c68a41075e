"""What makes a GeoPackage legible beyond its layers: labels, drop-downs, provenance, relations.

*Source*: OGC 12-128r17, GeoPackage 1.3 (2021), annexes F.8 metadata and F.9 schema;
OGC 18-000, GeoPackage Related Tables Extension (2019).
"""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pipeline.catalog import LAYERS
from pipeline.core.layer import Column, Kind, Layer
from pipeline.pages.palette import change_scale
from pipeline.pages.symbols.layer_symbols import CHANGE_COLUMN, greenness_styles, layer_styles
from pipeline.pages.symbols.looks import Style
from pipeline.pages.words import cell_words, heading_words
from pipeline.write.desktop_project import Styles, add_project
from pipeline.write.foreign_keys import add_foreign_keys
from pipeline.write.qml import qml
from pipeline.write.sld import sld

SCHEMA_DDL = """
CREATE TABLE gpkg_data_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT,
  mime_type TEXT, constraint_name TEXT,
  CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
  CONSTRAINT gdc_tn UNIQUE (table_name, name));
CREATE TABLE gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC,
  min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value));
"""


METADATA_DDL = """
CREATE TABLE gpkg_metadata (
  id INTEGER CONSTRAINT m_pk PRIMARY KEY ASC NOT NULL, md_scope TEXT NOT NULL DEFAULT 'dataset',
  md_standard_uri TEXT NOT NULL, mime_type TEXT NOT NULL DEFAULT 'text/xml',
  metadata TEXT NOT NULL DEFAULT '');
CREATE TABLE gpkg_metadata_reference (
  reference_scope TEXT NOT NULL, table_name TEXT, column_name TEXT, row_id_value INTEGER,
  timestamp DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  md_file_id INTEGER NOT NULL, md_parent_id INTEGER,
  CONSTRAINT crmr_mfi_fk FOREIGN KEY (md_file_id) REFERENCES gpkg_metadata(id),
  CONSTRAINT crmr_mpi_fk FOREIGN KEY (md_parent_id) REFERENCES gpkg_metadata(id));
"""


STYLES_DDL = """
CREATE TABLE layer_styles (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT, f_table_schema TEXT,
  f_table_name TEXT, f_geometry_column TEXT, styleName TEXT, styleQML TEXT, styleSLD TEXT,
  useAsDefault BOOLEAN, description TEXT, owner TEXT, ui TEXT, update_time DATETIME);
"""


RELATIONS_DDL = """
CREATE TABLE gpkgext_relations (
  id INTEGER PRIMARY KEY AUTOINCREMENT, base_table_name TEXT NOT NULL,
  base_primary_column TEXT NOT NULL DEFAULT 'id', related_table_name TEXT NOT NULL,
  related_primary_column TEXT NOT NULL DEFAULT 'id', relation_name TEXT NOT NULL,
  mapping_table_name TEXT NOT NULL UNIQUE);
"""


EXTENSIONS = {
    "gpkg_schema": "http://www.geopackage.org/spec130/#extension_schema",
    "gpkg_metadata": "http://www.geopackage.org/spec130/#extension_metadata",
    "gpkg_related_tables": "http://www.opengis.net/doc/IS/gpkg-rte/1.0",
}


PROVENANCE_URI = "urn:swardline:provenance:1"


@dataclass(frozen=True, slots=True)
class Relation:
    """Rows of one layer that belong to rows of a table: how the pairs are found.

    ``pairs`` is SQL that gives the fid of the base and of the related row; ``through`` names the
    further tables that it asks. A relation is written where all of them are there.
    """

    base: str
    related: str
    pairs: str
    through: tuple[str, ...] = ()

    @property
    def mapping_table(self) -> str:
        """Name of the table of pairs."""
        return f"{self.base}_{self.related}"


# The order lines of a unit are reached over the areas it is part of and the lots used there. Other
# tables hang on one key, which stands in both, so a table of pairs would only be in the way.
RELATIONS: tuple[Relation, ...] = (
    Relation(
        "seed_areas",
        "seed_use",
        "SELECT b.fid, r.fid FROM seed_areas b JOIN seed_use r ON r.area = b.area",
    ),
    Relation(
        "seed_areas",
        "seed_order",
        "SELECT DISTINCT b.fid, r.fid FROM seed_areas b JOIN seed_use u ON u.area = b.area "
        "JOIN seed_order r ON r.species = u.species AND r.lot IS u.lot",
        through=("seed_use",),
    ),
    Relation(
        "units",
        "seed_order",
        "SELECT DISTINCT n.fid, r.fid FROM units n JOIN seed_areas b "
        "ON instr(', ' || b.unit_ids || ', ', ', ' || n.unit_id || ', ') "
        "JOIN seed_use u ON u.area = b.area "
        "JOIN seed_order r ON r.species = u.species AND r.lot IS u.lot",
        through=("seed_areas", "seed_use"),
    ),
)


def add_tables(
    database: sqlite3.Connection,
    names: Iterable[str],
    provenance: Mapping[str, object],
    title: str,
    stamp: str,
) -> None:
    """Add every table that stands beside the layers ``names``; ``stamp`` is ISO 8601 in UTC."""
    layers = [LAYERS[name] for name in names]
    add_schema(database, layers)
    _add_metadata(database, provenance, stamp)
    styles = _styles(database, layers)
    _add_styles(database, layers, styles, stamp)
    add_project(database, layers, styles, title, stamp)
    _add_relations(database, {layer.name for layer in layers})
    add_foreign_keys(database, layers)


def add_field_tables(
    database: sqlite3.Connection,
    layers: Iterable[Layer],
    styles: Mapping[str, Style],
    provenance: Mapping[str, object],
    stamp: str,
) -> None:
    """Add what stands beside the layers of a package for the field: labels, origin, symbols."""
    listed = list(layers)
    add_schema(database, listed)
    _add_metadata(database, provenance, stamp)
    _add_styles(database, listed, {name: {name: s} for name, s in styles.items()}, stamp)


def _register(database: sqlite3.Connection, extension: str, tables: Iterable[str]) -> None:
    """Tell readers which extension a table belongs to."""
    database.executemany(
        "INSERT INTO gpkg_extensions (table_name, extension_name, definition, scope) "
        "VALUES (?, ?, ?, 'read-write')",
        [(table, extension, EXTENSIONS[extension]) for table in tables],
    )


def add_schema(database: sqlite3.Connection, layers: Iterable[Layer]) -> None:
    """Labels and descriptions of all fields; drop-downs and ranges where they are declared."""
    database.executescript(SCHEMA_DDL)
    _register(database, "gpkg_schema", ("gpkg_data_columns", "gpkg_data_column_constraints"))
    for layer in layers:
        for column in layer.columns:
            heading, rules = heading_words(column), _constraint_rows(layer, column)
            constraint = rules[0][0] if rules else None
            database.execute(
                "INSERT INTO gpkg_data_columns VALUES (?, ?, ?, ?, ?, NULL, ?)",
                (layer.name, column.name, heading, heading, described(column), constraint),
            )
            database.executemany(
                "INSERT INTO gpkg_data_column_constraints VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rules
            )


def described(column: Column) -> str:
    """Meaning of a column, with its unit in words."""
    return f"{column.meaning} Unit: {column.unit}." if column.unit else column.meaning


def _constraint_rows(layer: Layer, column: Column) -> list[tuple[object, ...]]:
    """Rows of the constraint of one column, none where nothing is declared; codes with words."""
    name = f"{layer.name}_{column.name}"
    if column.choices:
        return [
            (name, "enum", choice, None, None, None, None, cell_words(choice, column))
            for choice in column.choices
        ]
    if column.lowest is not None and column.highest is not None:
        return [(name, "range", None, column.lowest, True, column.highest, True, None)]
    return []


def _add_metadata(
    database: sqlite3.Connection, provenance: Mapping[str, object], stamp: str
) -> None:
    """Where the figures come from, as JSON."""
    database.executescript(METADATA_DDL)
    _register(database, "gpkg_metadata", ("gpkg_metadata", "gpkg_metadata_reference"))
    text = json.dumps(provenance, ensure_ascii=False, allow_nan=False, sort_keys=True)
    database.execute(
        "INSERT INTO gpkg_metadata VALUES (1, 'dataset', ?, 'application/json', ?)",
        (PROVENANCE_URI, text),
    )
    database.execute(
        "INSERT INTO gpkg_metadata_reference VALUES ('geopackage', NULL, NULL, NULL, ?, 1, NULL)",
        (stamp,),
    )


def _add_styles(
    database: sqlite3.Connection, layers: list[Layer], styles: Styles, stamp: str
) -> None:
    """Symbols for viewers that look for a table of styles: the first one of a layer by itself."""
    database.executescript(STYLES_DDL)
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) "
        "VALUES ('layer_styles', 'attributes', 'layer_styles', 'Symbols of the layers.', ?)",
        (stamp,),
    )
    rows = [
        (layer, name, style, number == 0)
        for layer in layers
        for number, (name, style) in enumerate(styles.get(layer.name, {}).items())
    ]
    for layer, name, style, by_itself in rows:
        database.execute(
            "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, "
            "f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, "
            "owner, ui, update_time) VALUES ('', '', ?, 'geom', ?, ?, ?, ?, ?, '', NULL, ?)",
            (
                layer.name,
                name,
                qml(layer, style),
                sld(layer.name, style),
                by_itself,
                layer.meaning,
                stamp,
            ),
        )


def _styles(database: sqlite3.Connection, layers: list[Layer]) -> Styles:
    """Styles of the layers: one for each comparison of greenness, one for each other layer."""
    named = {name: {name: s} for name, s in layer_styles(change_scale((), noise_floor=0)).items()}
    if any(layer.name == "greenness" for layer in layers):
        query = f'SELECT comparison, "after", {CHANGE_COLUMN}, noise_floor FROM greenness'
        rows = database.execute(query).fetchall()
        columns = ["comparison", "after", CHANGE_COLUMN, "noise_floor"]
        changes = pd.DataFrame(rows, columns=columns).astype(dict.fromkeys(columns[2:], "float64"))
        named["greenness"] = greenness_styles(changes)
    return named


def _add_relations(database: sqlite3.Connection, names: set[str]) -> None:
    """Pairs of rows that belong together, for viewers that show them; the keys stay in both."""
    present = [r for r in RELATIONS if {r.base, r.related, *r.through} <= names]
    if not present:
        return
    database.executescript(RELATIONS_DDL)
    _register(
        database,
        "gpkg_related_tables",
        ("gpkgext_relations", *(r.mapping_table for r in present)),
    )
    for relation in present:
        database.execute(
            "INSERT INTO gpkgext_relations (base_table_name, base_primary_column, "
            "related_table_name, related_primary_column, relation_name, mapping_table_name) "
            "VALUES (?, 'fid', ?, 'fid', 'attributes', ?)",
            (relation.base, relation.related, relation.mapping_table),
        )
        database.execute(
            f'CREATE TABLE "{relation.mapping_table}" '
            "(base_id INTEGER NOT NULL, related_id INTEGER NOT NULL)"
        )
        database.execute(f'INSERT INTO "{relation.mapping_table}" {relation.pairs} ORDER BY 1, 2')


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
    text = values.to_numpy(dtype=object, copy=True)
    text[null] = None
    return text, null


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
