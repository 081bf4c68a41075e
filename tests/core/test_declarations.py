"""What is declared is whole: units in names, settings in use, each layer from one step."""

import ast
import inspect
import re
import textwrap
from pathlib import Path

import pytest

from pipeline.catalog import LAYERS, settings_sections
from pipeline.core.layer import Column
from pipeline.core.section import Section
from pipeline.core.step import sections_taken
from pipeline.core.units import unit_of
from pipeline.faults import SUBJECTS
from pipeline.runner import ARRIVING, MADE_AT_THE_END
from pipeline.steps import STEPS

PACKAGE = Path(__file__).parents[2] / "pipeline"
EVERY_LAYER = pytest.mark.parametrize("layer", LAYERS.values(), ids=str)
WRITTEN_LAYER = pytest.mark.parametrize(
    "layer", [layer for layer in LAYERS.values() if not layer.internal], ids=str
)
EVERY_SECTION = pytest.mark.parametrize("section", settings_sections())
CODE = re.compile(r"[a-z][a-z0-9]*(_[a-z0-9]+)*")


@WRITTEN_LAYER
def test_written_column_says_how_it_is_printed(layer):
    for column in layer.columns:
        assert column.heading, f"{column.name}: a heading stands over it wherever people read it"
        assert column.heading[0].isupper() or column.heading[0].isdigit(), column.name
        if column.kind == "number":
            assert column.places is not None, column.name
            assert 0 <= column.places <= 6, column.name
        assert not column.signed or column.lowest is None, column.name


@WRITTEN_LAYER
def test_no_two_columns_of_a_table_read_alike(layer):
    heads = [f"{column.heading} {column.symbol}" for column in layer.columns]
    assert len(set(heads)) == len(heads), sorted(h for h in heads if heads.count(h) > 1)


@EVERY_LAYER
def test_choices_are_codes(layer):
    others = {
        (layer.name, column.name): choice
        for column in layer.columns
        for choice in column.choices
        if not CODE.fullmatch(choice)
    }
    published = {("firebreaks", "rule")}  # names of published rules, as users write them
    assert set(others) <= published, others


def test_a_section_is_taken_in_one_folder():
    folders = {}
    for function in [step.function for step in STEPS] + list(SUBJECTS):
        for section in sections_taken(function).values():
            folders.setdefault(section, set()).add(function.__module__.split(".")[1])
    taken_twice = {section.__name__: rooms for section, rooms in folders.items() if len(rooms) > 1}
    # Corners lie within the slop; the season's work and the plan of years hold plans against what
    # subjects were told.
    subjects = {name: rooms - {"work", "ahead"} for name, rooms in taken_twice.items()}
    assert {name: rooms for name, rooms in subjects.items() if len(rooms) > 1} == {
        "AcreageSettings": {"ground", "fire"}
    }


def says_its_unit(column):
    """Whether a column has a known unit, or is a number that says it has none, or no number."""
    if column.kind == "number":
        return column.dimensionless != bool(unit_of(column.name))
    return not column.dimensionless


@EVERY_LAYER
def test_number_column_names_its_unit(layer):
    for column in layer.columns:
        assert column.meaning.endswith((".", "?", ")")), f"{column.name}: a meaning is a sentence"
        assert says_its_unit(column), column.name


@pytest.mark.parametrize("name", ["edge_ft_ac", "load_kg_m", "cost_usd_ft", "mean"])
def test_number_column_in_an_unknown_unit_is_noticed(name):
    assert not says_its_unit(Column(name, "number", "Made up."))


@EVERY_SECTION
def test_setting_says_its_unit_meaning_and_source(section):
    for name, field in settings_sections()[section].model_fields.items():
        extra = field.json_schema_extra
        assert field.description, name
        assert field.description.endswith("."), name
        assert extra["source"], name
        if field.annotation in (float, float | None):
            assert extra["dimensionless"] != bool(unit_of(name)), name


@pytest.fixture(scope="module")
def attributes_read():
    """Names of all attributes that the code reads, where settings are not declared."""
    return {
        node.attr
        for path in PACKAGE.rglob("*.py")
        if path.name != "settings.py"
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute)
    }


@EVERY_SECTION
def test_setting_is_read_by_some_computation(section, attributes_read):
    unused = set(settings_sections()[section].model_fields) - attributes_read
    assert not unused, f"[{section}] {unused} declared and never used"


def test_sections_are_frozen_and_refuse_unknown_names():
    for section in settings_sections().values():
        assert issubclass(section, Section)
        assert section.model_config["frozen"]
        assert section.model_config["extra"] == "forbid"


def test_each_step_reads_only_what_stands_above_it():
    known = {*ARRIVING, "settings", "sources"}
    for step in STEPS:
        missing = set(step.reads) - known
        assert not missing, f"{step.writes} reads {missing} before it is there"
        assert step.writes not in known, f"{step.writes} is written twice"
        known.add(step.writes)
    assert known | MADE_AT_THE_END == set(LAYERS)


@pytest.mark.parametrize("step", STEPS, ids=lambda s: s.writes)
def test_a_step_is_its_signature(step):
    assert not step.function.__name__.startswith("_")
    assert inspect.getdoc(step.function)
    assert set(step.sections.values()) <= set(settings_sections().values())
    kinds = {p.kind for p in inspect.signature(step.function).parameters.values()}
    assert kinds == {inspect.Parameter.POSITIONAL_OR_KEYWORD}


@WRITTEN_LAYER
def test_written_layer_has_a_key_or_keeps_its_order(layer):
    assert set(layer.key) <= set(layer.column_names)
    assert layer.name == layer.name.lower()
    assert layer.meaning.endswith(".")
    # Two findings may be alike, and two rows of a log.
    assert layer.key or layer.name in ("findings", "treatment_log", "blank_log")


def test_public_functions_have_docstrings_whose_first_line_stands_alone():
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text())
        classes = [node for node in tree.body if isinstance(node, ast.ClassDef)]
        for node in [n for part in (tree, *classes) for n in part.body]:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                doc = ast.get_docstring(node)
                assert doc, f"{path.name}: {node.name} has no docstring"
                first = textwrap.dedent(doc).splitlines()[0]
                assert first.endswith((".", "?")), f"{path.name}: {node.name}: {first}"
