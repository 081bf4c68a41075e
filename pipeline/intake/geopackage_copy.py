"""A GeoPackage made ready for reading: copied, since reading one that is open writes beside it."""

import re
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from pipeline.core.errors import Fault, SourceError
from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.intake.archive import READABLE

HARMLESS_VIRTUAL_TABLES = re.compile(r"(?is)create\s+virtual\s+table\b.*?\busing\s+(rtree|fts\d)\b")


CURVES = ("CIRCULARSTRING", "COMPOUNDCURVE", "CURVEPOLYGON", "MULTICURVE", "MULTISURFACE", "CURVE")


def copied_database(path: Path, name: str, role: str, scratch: Path) -> tuple[Path, list[Finding]]:
    """A copy of a GeoPackage with the latest edits of a program that has it open, and what is odd.

    Raises SourceError where it is damaged, no GeoPackage, or links to data elsewhere.
    """
    copy = scratch / "copy.gpkg"
    shutil.copyfile(path, copy)
    messages = []
    log = path.with_name(path.name + "-wal")
    if log.is_file() and not log.is_symlink() and log.stat().st_size:
        shutil.copyfile(log, copy.with_name(copy.name + "-wal"))
        messages.append("is open in another program; its latest edits were read too")
    curved = _checked(copy, name)
    if curved:
        messages.append(
            f"layer {listed(curved)} is drawn in arcs; read as straight pieces of 4 degrees, which "
            "makes a full circle 0.08 % smaller"
        )
    return copy, [
        Finding(severity="warning", source=role, message=f"{name}: {message}")
        for message in messages
    ]  # fmt: skip


def _checked(copy: Path, name: str) -> list[str]:
    """Names of the layers drawn in arcs. Raises SourceError for what must not be opened."""
    try:
        with closing(sqlite3.connect(copy)) as database:
            declared = database.execute("SELECT name, sql FROM sqlite_master").fetchall()
            if "gpkg_contents" not in {table for table, _ in declared}:
                raise SourceError(Fault(name, "a SQLite database that is no GeoPackage", READABLE,
                                        "save it as a GeoPackage"))  # fmt: skip
            kinds = database.execute(
                "SELECT table_name, upper(geometry_type_name) FROM gpkg_geometry_columns"
            ).fetchall()
    except sqlite3.DatabaseError as error:
        found = f"the database is damaged ({error})"
        raise SourceError(Fault(name, found, READABLE, "get a new copy")) from error
    virtual = [(table, sql) for table, sql in declared if "virtual" in (sql or "").lower()]
    odd = [table for table, sql in virtual if not HARMLESS_VIRTUAL_TABLES.match(sql)]
    if odd:
        found = f'table "{odd[0]}" is a link to data elsewhere'
        expected = "tables that hold their own data"
        raise SourceError(Fault(name, found, expected, "save it as a new GeoPackage"))
    return [table for table, kind in kinds if kind in CURVES]
