"""Made runs of three files, for the tests of the run folder."""

import os
import sqlite3

from pipeline.write.former_run import Owner, manifest_rows, record_text
from pipeline.write.run_folder import run_folder

FILES = ("a.gpkg", "b.csv", "c.html")
SIZE = 200_000
OWNER = Owner("Place")


def write(folder, mark):
    """A made run: a database and two files that all carry the same mark."""
    with sqlite3.connect(folder / "a.gpkg") as database:
        database.execute("CREATE TABLE t (mark TEXT, filling BLOB)")
        database.execute("INSERT INTO t VALUES (?, ?)", (mark, bytes(SIZE)))
    database.close()
    (folder / "b.csv").write_text(mark)
    (folder / "c.html").write_text(mark)
    seal(folder)


def seal(folder, name="Place", file=None):
    """The record of a made run: all that is in its folder."""
    record = {
        "program": {"swardline": "0"},
        "property": {"name": name, "file": file},
        "outputs": manifest_rows(sorted(folder.iterdir())),
    }
    (folder / "run.json").write_text(record_text(record))


def marks(folder):
    """The marks of all files of a run folder; a run that is whole has one and the same."""
    with sqlite3.connect(folder / "a.gpkg") as database:
        found = [database.execute("SELECT mark FROM t").fetchone()[0]]
        assert database.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    database.close()
    return {*found, *((folder / name).read_text() for name in FILES[1:])}


def attempt(out, work, slug="place"):
    """One run that does some work in its folder."""
    with run_folder(out, slug, OWNER) as folder:
        work(folder)


def run(out, mark="new"):
    """One run that goes well."""
    attempt(out, lambda folder: write(folder, mark))


def names(folder):
    return {path.name for path in folder.iterdir()}


def tree(folder):
    """Everything below a folder: links as links, files with their bytes."""
    return {
        str(path.relative_to(folder)): os.readlink(path)
        if path.is_symlink()
        else path.read_bytes()
        if path.is_file()
        else None
        for path in sorted(folder.rglob("*"))
    }
