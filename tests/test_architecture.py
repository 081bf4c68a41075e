"""The picture of imports in DEVELOPERS.md, held by a test."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "pipeline"
FILES = sorted(PACKAGE.rglob("*.py"))

# A room may import from rooms of a lower number and from its own.
RANK = {
    "units": 0,
    "errors": 0,
    "settings": 1,
    "layers": 1,
    "compute": 2,
    "pages": 2,
    "io": 3,
    "steps": 4,
    "reference": 5,
    "outputs": 5,
    "runner": 6,
    "terminal": 7,
    "cli": 8,
    "__main__": 9,
}
FORBIDDEN_IN_COMPUTE = {"pathlib", "os", "sqlite3", "pyogrio", "fiona", "io", "shutil", "tempfile"}


def room(path):
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path):
    """Modules that a file imports at run time; those for type checkers only do not count."""
    tree = ast.parse(path.read_text())
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            node.body = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_run_one_way(path):
    if path == PACKAGE / "__init__.py":
        assert not list(imports(path))
        return
    own = RANK[room(path)]
    for module in imports(path):
        parts = module.split(".")
        if parts[0] == "pipeline" and len(parts) > 1 and parts[1] in RANK:
            assert RANK[parts[1]] <= own, f"{path.name} reaches up to {module}"


@pytest.mark.parametrize(
    "path",
    [f for f in FILES if room(f) in ("compute", "pages")],
    ids=lambda p: str(p.relative_to(PACKAGE)),
)
def test_computations_know_no_files(path):
    used = {module.split(".")[0] for module in imports(path)}
    assert not used & FORBIDDEN_IN_COMPUTE
    calls = {node.func.id for node in ast.walk(ast.parse(path.read_text()))
             if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}  # fmt: skip
    assert not calls & {"open", "print", "input", "eval", "exec"}
    assert "rasterio.open" not in path.read_text()


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_only_the_command_line_prints(path):
    if room(path) == "cli":
        return
    called = {node.func.id for node in ast.walk(ast.parse(path.read_text()))
              if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}  # fmt: skip
    assert "print" not in called


def test_files_stay_readable():
    long = {str(f.relative_to(PACKAGE)): n for f in FILES
            if (n := len(f.read_text().splitlines())) > 400}  # fmt: skip
    assert not long


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
