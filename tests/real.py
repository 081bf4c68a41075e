"""Start, check and run over a folder of folders, and print a table: for layers of your own.

    python tests/real.py FOLDER [--layers]

Each folder in FOLDER is taken for a property, and so is each map that lies in FOLDER itself. With
``--layers`` each map file in FOLDER, and below it, is taken for a property of its own instead.
Where the draft does not pass and offers lines of [mend], these are taken up; the column ``asked``
tells them behind how many things the draft asks for. Nothing is written into FOLDER.
"""

import argparse
import os
import resource
import shutil
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pyogrio

MAPS = {".shp", ".gpkg", ".geojson", ".json", ".kml", ".kmz", ".zip", ".fgb"}
ROOT = Path(__file__).parent.parent
COLUMNS = "name,status,units,acres,stated_ac,warnings,notes,seconds,peak_MB,asked"


def main() -> None:
    """Print a line for each property."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--layers", action="store_true", help="each map file alone")
    options = parser.parse_args()
    _tell(COLUMNS.split(","))
    for name, files in _properties(options.folder, alone=options.layers):
        with TemporaryDirectory() as scratch:
            home = Path(scratch) / "property"
            _copy(files, options.folder, home)
            _tell((name, *_tried(home)))


def _tell(cells: Iterable[object]) -> None:
    """Write a line of the table."""
    sys.stdout.write("\t".join(map(str, cells)) + "\n")
    sys.stdout.flush()


def _properties(folder: Path, *, alone: bool) -> Iterator[tuple[str, list[Path]]]:
    """Name and files of each property."""
    inside = sorted(folder.rglob("*") if alone else folder.iterdir())
    for path in inside:
        if path.is_dir() and not alone:
            yield path.name, [file for file in path.rglob("*") if file.is_file()]
        elif path.is_file() and path.suffix.lower() in MAPS:
            yield path.relative_to(folder).as_posix(), list(path.parent.glob(f"{path.stem}.*"))


def _copy(files: list[Path], folder: Path, home: Path) -> None:
    """Copy the files of a property, with the times of their last change."""
    for path in files:
        target = home / path.relative_to(folder)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, target)
        target.chmod(0o644)


def _tried(home: Path) -> tuple[object, ...]:
    """What start, check and run come to."""
    began = time.monotonic()
    saved, _ = _called("start", str(home), "--save", "--quiet")
    draft = home / "property.toml"
    if saved:
        return ("start failed", *"-" * 8)
    text = draft.read_text(encoding="utf-8")
    asked = str(_lines(text.partition("# What only you can fill in:\n")[2]))
    refused, said = _called("check", str(draft), "--quiet")
    mended, lines = _mended(text)
    if refused and lines:
        draft.write_text(mended, encoding="utf-8")
        asked = f"{asked}, mended: {', '.join(lines)}"
        refused, said = _called("check", str(draft), "--quiet")
    if refused:
        told = f"check {refused}: {said.splitlines()[0][:90]}" if said else f"check {refused}"
        return (told, *"-" * 5, round(time.monotonic() - began, 1), _peak_mb(), asked)
    failed, said = _called("run", str(draft), "--out", str(home / "out"), "--quiet")
    seconds = round(time.monotonic() - began, 1)
    if failed:
        return (f"run {failed}: {said[:90]}", *"-" * 5, seconds, _peak_mb(), asked)
    return ("done", *_figures(home), seconds, _peak_mb(), asked)


def _mended(text: str) -> tuple[str, list[str]]:
    """The draft with the # taken away from the lines of [mend] that it offers, and those lines."""
    before, mark, rest = text.partition("passes check:\n# [mend]\n")
    offered, blank, after = rest.partition("\n\n")
    lines = offered.replace("# ", "")
    mended = f"{before}{mark.replace('# ', '')}{lines}{blank}{after}"
    return mended, lines.splitlines()


def _called(*words: str) -> tuple[int, str]:
    """Exit code of a command and what it said."""
    command = [sys.executable, "-m", "pipeline", *words]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    return done.returncode, done.stderr


def _figures(home: Path) -> tuple[object, ...]:
    """Units, their acres and those that the map states, warnings and notes of a run."""
    package = next(p for p in (home / "out").rglob("*.gpkg") if p.stem != "field_plan")
    units = pyogrio.read_dataframe(package, layer="units", read_geometry=False)
    severity = pyogrio.read_dataframe(package, layer="findings", read_geometry=False)["severity"]
    counts = [int((severity == kind).sum()) for kind in ("warning", "note")]
    return len(units), f"{units['gross_ac'].sum():.2f}", _stated_ac(home), *counts


def _stated_ac(home: Path) -> str:
    """Sum of the acres that the units' map states, where the draft found such a column."""
    draft = tomllib.loads((home / "property.toml").read_text(encoding="utf-8"))
    units = draft["sources"]["units"]
    column = units.get("columns", {}).get("stated_ac")
    if column is None:
        return "-"
    stated = pyogrio.read_dataframe(home / units["path"], layer=units.get("layer"))[column]
    return f"{stated.astype(float).sum():.2f}"


def _peak_mb() -> int:
    """Most memory that any command so far has taken."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024


def _lines(asked: str) -> int:
    """How many things the draft asks for beyond the first two, which are always asked."""
    return max(0, len(asked.splitlines()) - 2)


if __name__ == "__main__":
    main()
