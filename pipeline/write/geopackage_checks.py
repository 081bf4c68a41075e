"""Checks that every finished GeoPackage passes, those that validators leave out among them.

*Source*: OGC 12-128r17, GeoPackage Encoding Standard 1.3 (2021); requirement numbers in brackets.
"""

import sqlite3
import struct
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

APPLICATION_ID = 0x47504B47  # "GPKG"


USER_VERSION = 10300


STAMP = (
    "[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T[0-9][0-9]:[0-9][0-9]:[0-9][0-9].[0-9][0-9][0-9]Z"
)


DAY = "[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]"


WKB_NUMBERS = {
    "POINT": 1,
    "LINESTRING": 2,
    "POLYGON": 3,
    "MULTILINESTRING": 5,
    "MULTIPOLYGON": 6,
    "GEOMETRY": None,
}


STORED_AS = {
    "INTEGER": {"integer"},
    "MEDIUMINT": {"integer"},
    "REAL": {"real"},
    "BOOLEAN": {"integer"},
    "TEXT": {"text"},
    "DATE": {"text"},
    "DATETIME": {"text"},
}


EXTENT_SLACK_M = 1e-6  # the extent is stored with fewer digits than the geometries


ENVELOPE_BYTES = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}


TWICE = (
    "SELECT n FROM (SELECT count(*) AS n FROM gpkg_extensions "
    "WHERE extension_name = '{extension}') WHERE n <> 2"
)


# Each must return no row.
QUERIES: dict[str, str] = {
    "[R7] broken foreign key": "PRAGMA foreign_key_check",
    "[R11] CRS -1, 0 or 4326 missing": "VALUES (-1), (0), (4326) EXCEPT "
    "SELECT srs_id FROM gpkg_spatial_ref_sys",
    "[R14] CRS of a layer missing": "SELECT srs_id FROM gpkg_geometry_columns EXCEPT "
    "SELECT srs_id FROM gpkg_spatial_ref_sys",
    "[R13] listed table missing": "SELECT table_name FROM gpkg_contents EXCEPT "
    "SELECT name FROM sqlite_master",
    "[R13] table not listed": "SELECT name FROM sqlite_master WHERE type = 'table' AND "
    "name NOT LIKE 'gpkg%' AND name NOT LIKE 'rtree%' AND name NOT LIKE 'sqlite%' AND "
    "name <> 'qgis_projects' EXCEPT "
    "SELECT table_name FROM gpkg_contents EXCEPT SELECT table_name FROM gpkg_extensions",
    "[R15] time of change malformed": "SELECT table_name FROM gpkg_contents "
    f"WHERE last_change NOT GLOB '{STAMP}'",
    "[R146] CRS differs between tables": "SELECT c.table_name FROM gpkg_contents c "
    "JOIN gpkg_geometry_columns g USING (table_name) WHERE c.srs_id <> g.srs_id",
    "[R75] layer without spatial index": "SELECT table_name FROM gpkg_geometry_columns EXCEPT "
    "SELECT table_name FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index'",
    "[R107] constraint missing": "SELECT constraint_name FROM gpkg_data_columns "
    "WHERE constraint_name IS NOT NULL EXCEPT "
    "SELECT constraint_name FROM gpkg_data_column_constraints",
    "[R141] schema extension not registered twice": TWICE.format(extension="gpkg_schema"),
    "[R140] metadata extension not registered twice": TWICE.format(extension="gpkg_metadata"),
}


def opened_to_read(path: Path) -> closing[sqlite3.Connection]:
    """A database that cannot be changed or made by reading it; closed when the block ends."""
    return closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True))


def geopackage_faults(path: Path) -> list[str]:
    """Everything that a GeoPackage gets wrong, one line each; empty when it is sound."""
    with opened_to_read(path) as database:
        return [*_header_faults(database), *_query_faults(database), *_table_faults(database)]


def _header_faults(database: sqlite3.Connection) -> Iterator[str]:
    """[R2, R6] what the file says it is, and whether its pages hang together."""
    wanted = {
        "application_id": APPLICATION_ID,
        "user_version": USER_VERSION,
        "integrity_check": "ok",
    }
    for pragma, value in wanted.items():
        found = database.execute(f"PRAGMA {pragma}").fetchone()[0]
        if found != value:
            yield f"{pragma} is {found}, not {value}"


def _query_faults(database: sqlite3.Connection) -> Iterator[str]:
    for fault, query in QUERIES.items():
        for row in database.execute(query):
            yield f"{fault}: {row[0]}"


def _table_faults(database: sqlite3.Connection) -> Iterator[str]:
    """Faults in the rows of each listed table and of each table of pairs."""
    for (name,) in database.execute("SELECT table_name FROM gpkg_contents").fetchall():
        if database.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (name,)).fetchone():
            yield from _column_faults(database, name)
    spatial = (
        "SELECT table_name, column_name, geometry_type_name, srs_id FROM gpkg_geometry_columns"
    )
    for name, column, kind, srs in database.execute(spatial).fetchall():
        yield from _geometry_faults(database, name, column, kind, srs)
    yield from _choice_faults(database)
    yield from _pair_faults(database)


def _column_faults(database: sqlite3.Connection, table: str) -> Iterator[str]:
    """[R5] cells that are stored as something else than their column is declared."""
    for _, column, declared, *_ in database.execute(f'PRAGMA table_info("{table}")').fetchall():
        kind = declared.split("(")[0].upper()
        allowed = STORED_AS.get(kind)
        if allowed is None:
            continue
        kinds = database.execute(f'SELECT DISTINCT typeof("{column}") FROM "{table}"').fetchall()
        odd = {found for (found,) in kinds} - allowed - {"null"}
        if odd:
            yield f"[R5] {table}.{column} holds {', '.join(sorted(odd))}, not {kind}"
        form = {"DATE": DAY, "DATETIME": STAMP}.get(kind)
        if (
            form
            and database.execute(
                f'SELECT 1 FROM "{table}" WHERE "{column}" NOT GLOB ? LIMIT 1', (form,)
            ).fetchone()
        ):
            yield f"[R5] {table}.{column} holds a malformed {kind.lower()}"


def _geometry_faults(
    database: sqlite3.Connection, table: str, column: str, kind: str, srs: int
) -> Iterator[str]:
    """[R19, R33, R75-77] header, type and index of each geometry; counts and extent."""
    wanted = WKB_NUMBERS[kind]
    filled: dict[int, tuple[float, ...]] = {}
    rows = database.execute(f'SELECT fid, "{column}" FROM "{table}" WHERE "{column}" NOT NULL')
    for fid, blob in rows:
        order = "<" if blob[3] & 1 else ">"
        start = 8 + ENVELOPE_BYTES[blob[3] >> 1 & 7]
        number = struct.unpack(("<" if blob[start] else ">") + "I", blob[start + 1 : start + 5])[0]
        if blob[:2] != b"GP" or struct.unpack(order + "i", blob[4:8])[0] != srs:
            yield f"[R19] {table}: header of a geometry"
        if wanted is not None and number != wanted:
            yield f"[R33] {table}: geometry of type {number}, not {wanted}"
        if not blob[3] >> 4 & 1:
            filled[fid] = _bounds(blob, start)
    index = f"rtree_{table}_{column}"
    if database.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (index,)).fetchone():
        indexed = {fid for (fid,) in database.execute(f'SELECT id FROM "{index}"')}
        if indexed != set(filled):
            yield f"[R77] {table}: {len(indexed)} geometries in the index, {len(filled)} there"
    yield from _count_faults(database, table, list(filled.values()))


def _bounds(blob: bytes, start: int) -> tuple[float, ...]:
    """West, east, south and north of a geometry; points have no envelope, so from the point."""
    if start == 8:
        x, y = struct.unpack(("<" if blob[8] else ">") + "2d", blob[13:29])
        return x, x, y, y
    return struct.unpack(("<" if blob[3] & 1 else ">") + "4d", blob[8:40])


def _count_faults(
    database: sqlite3.Connection, table: str, bounds: list[tuple[float, ...]]
) -> Iterator[str]:
    """Number of features and extent as told to viewers, against what is there."""
    listed = database.execute(
        "SELECT feature_count FROM gpkg_ogr_contents WHERE table_name = ?", (table,)
    ).fetchone()
    count = database.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]
    if listed and listed[0] != count:
        yield f"{table}: {listed[0]} features told, {count} there"
    west, east, south, north = database.execute(
        "SELECT min_x, max_x, min_y, max_y FROM gpkg_contents WHERE table_name = ?", (table,)
    ).fetchone()
    if west is not None and any(
        max(west - x, right - east, south - y, top - north) > EXTENT_SLACK_M
        for x, right, y, top in bounds
    ):
        yield f"{table}: a geometry lies outside the extent that is told"


def _choice_faults(database: sqlite3.Connection) -> Iterator[str]:
    """[R103-109] labels of columns that do not exist, cells outside their drop-down."""
    query = "SELECT table_name, column_name, constraint_name FROM gpkg_data_columns"
    for table, column, constraint in database.execute(query).fetchall():
        names = {row[1] for row in database.execute(f'PRAGMA table_info("{table}")')}
        if column not in names:
            yield f"[R104] {table}.{column} has a label but does not exist"
            continue
        odd = database.execute(
            f'SELECT DISTINCT "{column}" FROM "{table}" WHERE "{column}" NOT NULL AND '
            "EXISTS (SELECT 1 FROM gpkg_data_column_constraints WHERE constraint_name = ?1 AND "
            "constraint_type = 'enum') EXCEPT SELECT value FROM gpkg_data_column_constraints "
            "WHERE constraint_name = ?1",
            (constraint,),
        ).fetchall()
        for (value,) in odd:
            yield f"[R109] {table}.{column}: {value!r} is none of its choices"


def _pair_faults(database: sqlite3.Connection) -> Iterator[str]:
    """[OGC 18-000] pairs that point to rows that are not there."""
    if not database.execute(
        "SELECT 1 FROM sqlite_master WHERE name='gpkgext_relations'"
    ).fetchone():
        return
    query = "SELECT base_table_name, related_table_name, mapping_table_name FROM gpkgext_relations"
    for base, related, mapping in database.execute(query).fetchall():
        for table, column in ((base, "base_id"), (related, "related_id")):
            lost = database.execute(
                f'SELECT {column} FROM "{mapping}" EXCEPT SELECT fid FROM "{table}"'
            ).fetchall()
            if lost:
                yield f"{mapping}: {len(lost)} pairs without their row in {table}"
