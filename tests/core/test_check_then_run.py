"""What `check` passes, `run` finishes: over random cells of the tables and random settings."""

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS, settings_sections
from pipeline.cli import main
from tests.core.test_settings_bounds import ends
from tests.small_property import TABLES, small_files, write_small_property

TEXTS_BY_KIND = {
    "text": ["", "x", "A", "05-01", "Poa pratensis", "Andropogon gerardii"],
    "number": ["", "0", "0.001", "7.5", "50%", "100", "1e9", "1e300"],
    "integer": ["", "0", "1", "7", "120", "99999"],
    "date": ["", "1800-01-01", "2026-04-14", "2027-02-01", "2200-12-31", "9999-12-31"],
    "flag": ["", "yes", "no"],
}
CELLS = [(table, column) for table in TABLES for column in LAYERS[table].columns]
NUMBERS = [
    (section, name, ends(field))
    for section, made_of in settings_sections().items()
    for name, field in made_of.model_fields.items()
    if ends(field)
]


@st.composite
def changed_cells(draw):
    """A table, a row of it, a column, and what is written into that cell."""
    table, column = draw(st.sampled_from(CELLS))
    row = draw(st.integers(1, len(TABLES[table]) - 1))
    return (
        table,
        row,
        column.name,
        draw(st.sampled_from([*(column.choices or TEXTS_BY_KIND[column.kind])])),
    )


@st.composite
def changed_settings(draw):
    """A section, a setting of it and a number between its ends."""
    section, name, (low, high) = draw(st.sampled_from(NUMBERS))
    between = st.integers if isinstance(low, int) and isinstance(high, int) else st.floats
    return section, name, draw(between(low, high))


def with_cell(text, row, name, written):
    """A table's text with one cell changed; the column is added where it is not there."""
    rows = [line.split(",") for line in text.strip().split("\n")]
    if name not in rows[0]:
        rows = [[*cells, name if n == 0 else ""] for n, cells in enumerate(rows)]
    rows[row][rows[0].index(name)] = written
    return "\n".join(map(",".join, rows)) + "\n"


def with_setting(text, section, name, value):
    """A property file's text with one setting changed."""
    lines = [line for line in text.split("\n") if not line.startswith(f"{name} = ")]
    if f"[{section}]" not in lines:
        lines.append(f"[{section}]")
    lines.insert(lines.index(f"[{section}]") + 1, f"{name} = {value!r}")
    return "\n".join(lines)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("small")


@settings(max_examples=8, deadline=None)
@given(cells=st.lists(changed_cells(), max_size=2), chosen=st.lists(changed_settings(), max_size=2))
@example(cells=[("treatments", 1, "end", "2200-12-31")], chosen=[])
def test_what_check_passes_run_finishes(folder, cells, chosen):
    files = small_files()
    for table, row, name, written in cells:
        files[f"{table}.csv"] = with_cell(files[f"{table}.csv"], row, name, written)
    for section, name, value in chosen:
        files["small.toml"] = with_setting(files["small.toml"], section, name, value)
    path = write_small_property(folder, files)
    checked = main(["check", str(path), "--quiet"])
    assert checked in (0, 2)
    assert main(["run", str(path), "--quiet"]) == checked
