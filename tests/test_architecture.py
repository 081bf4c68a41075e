"""The picture of the house in DEVELOPERS.md: who may import whom, and which libraries where."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tests.four_forties import write_four_forties

PACKAGE = Path(__file__).parent.parent / "pipeline"
FILES = sorted(PACKAGE.rglob("*.py"))
ids = {"ids": lambda path: path.relative_to(PACKAGE).as_posix()}

# A room may import from its own and from those named here; the subjects meet only as layers.
BELOW_SUBJECTS = {"core", "log", "ground", "intake", "pictures"}
SUBJECTS = {"fire", "seed", "greenness", "season"}
# The season's work joins the subjects' layers; it may know how they are declared.
JOINED = SUBJECTS | {"work"}
RECORDED = JOINED | {"records", "ahead"}
MAY_IMPORT = {
    "core": set(),
    "log": {"core"},
    "ground": {"core"},
    "intake": {"core", "log", "ground"},
    "pictures": {"core", "log", "ground", "intake"},
    **dict.fromkeys(SUBJECTS, BELOW_SUBJECTS),
    "work": BELOW_SUBJECTS | SUBJECTS,
    # The record book holds plans against what was logged.
    "records": BELOW_SUBJECTS | JOINED,
    # The plan of years rests on all that the season knows.
    "ahead": BELOW_SUBJECTS | JOINED,
    "pages": BELOW_SUBJECTS | RECORDED,
    "catalog": BELOW_SUBJECTS | RECORDED | {"pages"},
    "write": BELOW_SUBJECTS | RECORDED | {"pages", "catalog"},
    "faults": BELOW_SUBJECTS | JOINED | {"ahead", "catalog"},
    "steps": BELOW_SUBJECTS | RECORDED,
    "outputs": {"core", "write"},
    "reference": {"core", "intake", "catalog", "steps", "years"},
    "runner": BELOW_SUBJECTS | RECORDED | {"catalog", "faults", "write", "steps", "outputs"},
    "draft": {"core", "intake", "pages", "catalog", "runner"},
    "batch": BELOW_SUBJECTS | JOINED | {"pages", "catalog", "write", "runner"},
    "years": BELOW_SUBJECTS | JOINED | {"pages", "catalog", "write"},
    "terminal": {"core", "intake", "pages", "runner", "years"},
    "batch_terminal": {"core", "pages", "batch"},
    "cli": {"core", "intake", "pages", "catalog", "reference", "runner", "draft"}
    | {"batch", "years", "terminal", "batch_terminal"},
    "__main__": {"cli"},
    "__init__": set(),
}

# Libraries outside the standard one, folder by folder. A step takes frames and shapes; only
# intake, pictures and write touch files, and so only they have the libraries that open them.
COUNTING = {"numpy", "pandas", "geopandas", "shapely", "pyproj"}
LIBRARIES = {
    "core": COUNTING | {"pydantic"},
    "log": COUNTING,
    "ground": COUNTING | {"pydantic"},
    "intake": COUNTING | {"pydantic", "rasterio", "fiona", "pyogrio", "openpyxl"},
    "pictures": COUNTING | {"rasterio"},
    **dict.fromkeys(RECORDED, COUNTING | {"pydantic"}),
    "ahead": COUNTING | {"pydantic", "highspy"},
    "pages": {"numpy", "pandas", "geopandas", "shapely", "pyproj", "segno"},
    "catalog": {"pydantic", "pandas"},
    "write": COUNTING | {"icalendar", "rasterio", "pyogrio", "xlsxwriter", "typst", "pikepdf"},
    "outputs": {"pandas"},
    "runner": {"pandas"},
    "batch": COUNTING | {"distributed"},
    "years": COUNTING,
    "cli": {"pandas"},
    "terminal": {"pandas", "rich"},
    "batch_terminal": {"rich"},
}
# terminal.py asks only what kind of stream it speaks to.
TOUCHES_FILES = {"intake", "pictures", "write", "runner", "draft", "cli", "outputs", "terminal"}
TOUCHES_FILES |= {"batch", "years", "batch_terminal"}
FILE_MODULES = {"pathlib", "os", "sqlite3", "io", "shutil", "tempfile", "zipfile", "csv", "glob"}


def room(path: Path) -> str:
    """Folder or, at the top, module that a file stands in."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(source: str) -> list[tuple[str, str]]:
    """Module and name of everything imported, at run time or for the type checker alone."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found += [(alias.name, "") for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            module = "." * node.level + str(node.module or "")
            found += [(module, alias.name) for alias in node.names]
    return found


def calls(source: str) -> set[str]:
    """Names that a source calls as functions."""
    nodes = ast.walk(ast.parse(source))
    return {n.func.id for n in nodes if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}


def upward(own: str, source: str) -> list[str]:
    """Imports of rooms that a room may not know; a relative one hides where it leads."""
    odd = []
    for module, name in imports(source):
        first, target, *_ = [*module.split("."), name]
        is_room = first == "pipeline" and target in MAY_IMPORT
        if module.startswith(".") or (is_room and target not in {own} | MAY_IMPORT[own]):
            odd.append(module)
    return odd


def foreign(own: str, source: str) -> set[str]:
    """Libraries that a room may not have."""
    outside = {module.split(".")[0] for module, _ in imports(source)} - sys.stdlib_module_names
    return outside - {"pipeline"} - LIBRARIES.get(own, set())


def file_reach(own: str, source: str) -> set[str]:
    """What of a source reaches for files from a room that has none."""
    if own in TOUCHES_FILES:
        return set()
    modules = {module.split(".")[0] for module, _ in imports(source)}
    return (modules & FILE_MODULES) | (calls(source) & {"open", "input", "eval", "exec"})


def circle(graph: dict[str, set[str]]) -> set[str]:
    """Modules that import each other in a circle, or lead only into one."""
    left = dict(graph)
    while gone := {name for name, targets in left.items() if not targets & set(left)}:
        left = {name: targets for name, targets in left.items() if name not in gone}
    return set(left)


def import_graph() -> dict[str, set[str]]:
    """Modules of the package, each with those that it imports."""
    graph = {}
    for path in FILES:
        targets = set()
        for module, name in imports(path.read_text()):
            inner = PACKAGE.parent / f"{module.replace('.', '/')}/{name}.py"
            targets.add(f"{module}.{name}" if inner.exists() else module)
        graph[".".join(["pipeline", *path.relative_to(PACKAGE).with_suffix("").parts])] = targets
    return graph


@pytest.mark.parametrize("path", FILES, **ids)
def test_imports_run_one_way(path):
    assert not upward(room(path), path.read_text())


@pytest.mark.parametrize("path", FILES, **ids)
def test_each_folder_has_its_libraries_and_no_others(path):
    assert not foreign(room(path), path.read_text())


@pytest.mark.parametrize("path", FILES, **ids)
def test_files_are_opened_in_three_folders(path):
    assert not file_reach(room(path), path.read_text())


def test_no_modules_import_each_other_in_a_circle():
    """Imports for the type checker count too: a circle of types is a circle of thought."""
    assert not circle(import_graph())


@pytest.mark.parametrize("path", [f for f in FILES if f != PACKAGE / "cli/ending.py"], **ids)
def test_only_the_command_line_prints(path):
    assert "print" not in calls(path.read_text())


TYPES_ONLY = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from pipeline.{} import x\n"


@pytest.mark.parametrize(
    ("own", "source"),
    [
        ("core", "from pipeline.seed.lots import assign_lots"),
        ("seed", "from pipeline.fire import mowing"),
        ("season", TYPES_ONLY.format("greenness.change")),
        ("ground", "from pipeline.catalog import LAYERS"),
        ("fire", "def step():\n    from pipeline.write import qml"),
        ("pages", "import pipeline.write.field.gpx"),
        ("intake", "from pipeline import runner"),
        ("log", "from . import layers"),
        ("pictures", "from ..greenness import change"),
    ],
)
def test_import_of_a_room_above_is_noticed(own, source):
    assert upward(own, source)
    assert not upward(
        "fire", "from pipeline.ground import snapping\nfrom pipeline import __version__"
    )


@pytest.mark.parametrize(
    ("own", "source"),
    [
        ("greenness", "from rasterio import open"),
        ("ground", "from rasterio.features import shapes"),
        ("seed", TYPES_ONLY.format("core").replace("pipeline.core", "xlsxwriter")),
        ("pages", "import fiona"),
        ("core", "import requests"),
    ],
)
def test_library_of_another_folder_is_noticed(own, source):
    assert foreign(own, source)
    assert not foreign(own, "import pandas as pd\nimport json")


@pytest.mark.parametrize(
    "source", ["from pathlib import Path", "import os.path", "import sqlite3", "open('x')"]
)
def test_file_opened_in_a_pure_folder_is_noticed(source):
    assert file_reach("fire", source)
    assert not file_reach("write", source)


def test_circle_is_noticed():
    assert circle({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": set()}) == {"a", "b", "c"}
    assert not circle({"a": {"b"}, "b": {"c"}, "c": set()})


def test_folders_and_files_stay_readable():
    lines = {path.relative_to(PACKAGE).as_posix(): path.read_text().count("\n") for path in FILES}
    assert not {name: count for name, count in lines.items() if count > 400}
    for folder in {path.parent for path in FILES}:
        assert len(list(folder.glob("*.py"))) <= 25, folder


@pytest.mark.parametrize("words", [["--help"], ["run", "--help"], ["--version"]])
def test_help_loads_nothing_heavy(words):
    script = (
        "import sys\n"
        "from pipeline.cli import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'pandas', 'geopandas', 'rasterio', 'matplotlib', 'fiona', 'pyogrio',"
        " 'shapely', 'pyproj', 'pydantic', 'dask', 'rich'}\n"
        "sys.exit(f'loaded {heavy & set(sys.modules)}' if heavy & set(sys.modules) else 0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, *words], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_a_run_loads_no_library_before_it_is_needed(tmp_path):
    """Loading takes half of the time of a small property.

    A library that writes packets, reads workbooks or asks a second reader of maps waits for them.
    """
    write_four_forties(tmp_path)
    script = (
        "import sys\n"
        "from pathlib import Path\n"
        "from pipeline.runner import read_property\n"
        "read_property(Path(sys.argv[1]))\n"
        "later = {'fiona', 'matplotlib', 'openpyxl', 'highspy', 'distributed', 'pikepdf', 'rich'}\n"
        "sys.exit(f'loaded {later & set(sys.modules)}' if later & set(sys.modules) else 0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "four.toml"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
