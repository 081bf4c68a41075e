"""The picture of the house in DEVELOPERS.md: who may import whom, and which libraries where."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "pipeline"
FILES = sorted(PACKAGE.rglob("*.py"))
ids = {"ids": lambda path: path.relative_to(PACKAGE).as_posix()}

# A room may import from its own and from those named here; the subjects meet only as layers.
BELOW_SUBJECTS = {"core", "log", "ground", "intake", "pictures"}
SUBJECTS = {"fire", "seed", "greenness", "season"}
MAY_IMPORT = {
    "core": set(),
    "log": {"core"},
    "ground": {"core"},
    "intake": {"core", "log", "ground"},
    "pictures": {"core", "log", "ground", "intake"},
    **dict.fromkeys(SUBJECTS, BELOW_SUBJECTS),
    "pages": BELOW_SUBJECTS | SUBJECTS,
    "catalog": BELOW_SUBJECTS | SUBJECTS | {"pages"},
    "write": BELOW_SUBJECTS | SUBJECTS | {"pages", "catalog"},
    "faults": BELOW_SUBJECTS | SUBJECTS | {"catalog"},
    "steps": BELOW_SUBJECTS | SUBJECTS,
    "outputs": {"core", "write"},
    "reference": {"core", "intake", "catalog", "steps"},
    "runner": BELOW_SUBJECTS | SUBJECTS | {"catalog", "faults", "write", "steps", "outputs"},
    "terminal": {"core", "intake", "runner"},
    "cli": {"core", "intake", "pages", "catalog", "reference", "runner", "terminal"},
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
    "intake": COUNTING | {"pydantic", "rasterio", "fiona", "pyogrio"},
    "pictures": COUNTING | {"rasterio"},
    **dict.fromkeys(SUBJECTS, COUNTING | {"pydantic"}),
    "pages": {"numpy", "pandas", "geopandas", "shapely", "pyproj"},
    "catalog": {"pydantic"},
    "write": COUNTING | {"rasterio", "pyogrio", "xlsxwriter", "typst"},
    "outputs": {"pandas"},
    "runner": {"pandas"},
    "terminal": {"pandas", "rich"},
}
TOUCHES_FILES = {"intake", "pictures", "write", "runner", "cli", "outputs"}
FILE_MODULES = {"pathlib", "os", "sqlite3", "io", "shutil", "tempfile", "zipfile", "csv", "glob"}


def room(path: Path) -> str:
    """Folder or, at the top, module that a file stands in."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    """Modules that a file imports, at run time or for the type checker alone."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path.name}: a relative import hides where it leads"
            yield str(node.module)


def modules_named(path: Path) -> Iterator[str]:
    """Modules of the package that a file imports, in full."""
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("pipeline"):
            module = str(node.module)
            for alias in node.names:
                inner = PACKAGE.parent / f"{module.replace('.', '/')}/{alias.name}.py"
                yield f"{module}.{alias.name}" if inner.exists() else module


def called(path: Path) -> set[str]:
    """Names that a file calls as functions."""
    nodes = ast.walk(ast.parse(path.read_text()))
    return {n.func.id for n in nodes if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}


@pytest.mark.parametrize("path", FILES, **ids)
def test_imports_run_one_way(path):
    for module in imports(path):
        parts = module.split(".")
        if parts[0] == "pipeline" and len(parts) > 1 and parts[1] != room(path):
            assert parts[1] in MAY_IMPORT[room(path)], f"{path.name} may not import {module}"


@pytest.mark.parametrize("path", FILES, **ids)
def test_each_folder_has_its_libraries_and_no_others(path):
    outside = {module.split(".")[0] for module in imports(path)} - sys.stdlib_module_names
    odd = outside - {"pipeline"} - LIBRARIES.get(room(path), set())
    assert not odd, f"{path.name} may not import {sorted(odd)}"


@pytest.mark.parametrize("path", [f for f in FILES if room(f) not in TOUCHES_FILES], **ids)
def test_all_else_knows_no_files(path):
    used = {module.split(".")[0] for module in imports(path)}
    assert not used & FILE_MODULES
    assert not called(path) & {"open", "input", "eval", "exec"}


def test_no_two_modules_import_each_other_in_a_circle():
    """Imports for the type checker count too: a circle of types is a circle of thought."""
    graph = {}
    for path in FILES:
        name = ".".join(["pipeline", *path.relative_to(PACKAGE).with_suffix("").parts])
        graph[name] = set(modules_named(path))
    gone = True
    while gone:
        gone = {name for name, targets in graph.items() if not targets & set(graph)}
        graph = {name: targets for name, targets in graph.items() if name not in gone}
    assert not graph, f"these import each other: {sorted(graph)}"


@pytest.mark.parametrize("path", [f for f in FILES if room(f) != "cli"], **ids)
def test_only_the_command_line_prints(path):
    assert "print" not in called(path)


def test_folders_and_files_stay_readable():
    lines = {path.relative_to(PACKAGE).as_posix(): path.read_text().count("\n") for path in FILES}
    assert not {name: count for name, count in lines.items() if count > 400}
    for folder in {path.parent for path in FILES}:
        assert len(list(folder.glob("*.py"))) <= 20, folder


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
