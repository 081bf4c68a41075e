"""Which rows belong to which unit, block or seed area, told in the tables of a GeoPackage.

Programs that look for relations find foreign keys without any project.

*Source*: SQLite, ALTER TABLE, section 7: a constraint that changes nothing of what is stored may be
written into the schema of a table; OGC 12-128r17, GeoPackage 1.3, requirement 7.
"""

import sqlite3

from pipeline.core.layer import Layer

KEYS = {"unit_id": "units", "block": "burn_blocks", "area": "seed_areas"}
"""Layer that a column of the same name points to."""


def add_foreign_keys(database: sqlite3.Connection, layers: list[Layer]) -> None:
    """Tell the keys of every table all of whose rows have theirs; others, as logs do, have none."""
    names = {layer.name for layer in layers}
    keys = [
        (layer.name, key, base)
        for layer in layers
        for key, base in KEYS.items()
        if base in names and layer.name != base and key in layer.column_names
    ]
    for key, base in KEYS.items():
        if base in names:
            database.execute(f'CREATE UNIQUE INDEX "{base}_{key}" ON "{base}" ("{key}")')
    told = {(table, key): base for table, key, base in keys if _holds(database, table, key, base)}
    _write(database, told)


def _holds(database: sqlite3.Connection, table: str, key: str, base: str) -> bool:
    """Whether each row of a table that names a key has a row of it."""
    lost = (
        f'SELECT 1 FROM "{table}" WHERE "{key}" NOT NULL '
        f'AND "{key}" NOT IN (SELECT "{key}" FROM "{base}") LIMIT 1'
    )
    return database.execute(lost).fetchone() is None


def _write(database: sqlite3.Connection, told: dict[tuple[str, str], str]) -> None:
    """Write the constraints into the schema, and have SQLite read it again."""
    version = database.execute("PRAGMA schema_version").fetchone()[0]
    database.execute("PRAGMA writable_schema = ON")
    for (table, key), base in told.items():
        constraint = f', FOREIGN KEY ("{key}") REFERENCES "{base}" ("{key}"))'
        database.execute(
            "UPDATE sqlite_master SET sql = substr(rtrim(sql), 1, length(rtrim(sql)) - 1) || ? "
            "WHERE type = 'table' AND name = ?",
            (constraint, table),
        )
    database.execute(f"PRAGMA schema_version = {version + 1}")
    database.execute("PRAGMA writable_schema = OFF")
