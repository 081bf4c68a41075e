"""The README and the reference pages say what the program does."""

import argparse
import json
import re
from pathlib import Path

import pytest

from pipeline import cli, reference
from pipeline.catalog import LAYERS, PropertyFile, settings_sections
from pipeline.core.errors import UsageError
from pipeline.intake.settings import table_names
from pipeline.steps import STEPS
from pipeline.years.layers import LAYERS as YEARS_LAYERS

PROJECT = Path(__file__).parent.parent
README = (PROJECT / "README.md").read_text()
DEVELOPERS = (PROJECT / "DEVELOPERS.md").read_text()


def commands():
    parser = cli.command_line()
    action = next(a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    return dict(action.choices)


@pytest.mark.parametrize("name", commands())
def test_each_command_is_in_the_readme_with_its_own_options(name):
    assert f"`swardline {name}" in README
    for action in commands()[name]._actions:
        assert action.help, f"{name} {action.option_strings or action.dest} has no help"


@pytest.mark.parametrize(
    ("section", "name"),
    [(s, n) for s, section in settings_sections().items() for n in section.model_fields],
)
def test_each_setting_is_in_the_reference(section, name):
    page = reference.describe_settings()
    assert f"[{section}]" in page
    assert re.search(rf"^{name} = ", page, re.MULTILINE)


def test_each_layer_step_and_table_is_in_the_reference():
    layers, steps = reference.describe_layers(), reference.describe_steps()
    for layer in LAYERS.values():
        if not layer.internal or layer.name in table_names():
            assert re.search(rf"^{layer.name}\b", layers, re.MULTILINE)
    for step in STEPS:
        assert re.search(rf"^{step.writes}  ", steps, re.MULTILINE)


def test_each_column_is_in_the_reference_with_heading_unit_and_choices():
    page = " ".join(reference.describe_layers().split())
    for layer in LAYERS.values():
        for column in () if layer.internal else layer.columns:
            assert not column.heading or f"“{column.heading}”: " in page
            assert not column.unit or column.unit in page
            assert not column.choices or f"One of: {', '.join(column.choices)}." in page
    assert "gross_ac “Gross”: Whole area of the unit. (number, acre)" in page


def test_each_layer_and_column_of_the_years_is_in_its_page():
    page = reference.describe_years()
    assert "swardline years" in page
    for layer in YEARS_LAYERS.values():
        assert re.search(rf"^{layer.name} \(", page, re.MULTILINE)
        assert all(re.search(rf"^    {c.name}\b", page, re.MULTILINE) for c in layer.columns)


def test_schema_of_the_property_file_is_fresh():
    kept = (PROJECT / "config" / "property.schema.json").read_text(encoding="utf-8")
    # As values, for versions of pydantic write 0 or 0.0.
    assert json.loads(kept) == json.loads(reference.property_file_schema()), (
        "run: swardline describe schema > config/property.schema.json"
    )
    assert set(json.loads(kept)["properties"]) == set(PropertyFile.model_fields)


def test_readme_opens_with_the_job_and_then_two_commands():
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert len(README.split("\n\n")[1]) > 300
    assert "swardline run" in blocks[0]
    assert "pytest" in blocks[1]


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_named_in_the_docs_is_there(page):
    for name in re.findall(r"`((?:pipeline|tests|config|sample_geo|\.ci)/[\w./-]+\w)`", page):
        assert (PROJECT / name).exists(), name


def test_cautions_are_where_people_look():
    for word in ("permit", "burn ban", "fire authority", "burn boss", "noxious", "label"):
        assert word in README.lower()
    assert "no permission to ignite" in cli.CAUTION


def test_data_flow_in_the_docs_is_that_of_the_steps():
    assert reference.data_flow() in DEVELOPERS, (
        "run: swardline describe steps, and copy its last part into DEVELOPERS.md"
    )


@pytest.mark.parametrize(
    ("asked", "first", "also"),
    [
        ("mow width", "[mowing]: mow_width_ft", "speed_mph"),
        ("overlap_ft", "[mowing]: overlap_ft", "Overlap of one pass"),
        ("WIDTH mower", "[mowing]: mower_width_ft", "Cutting width"),
        ("burnable", "burnable_ac", "Gross less"),
        ("tie_ins", "tie_ins", "reads"),
        ("spring dry fuel that is left", None, None),
        ("prefix", "[[sources.units]]: prefix", "map of units"),
        ("grazings told twice", "finding: doubled", "To do: "),
    ],
)
def test_word_finds_what_it_names_with_its_neighbors(asked, first, also):
    if first is None:
        with pytest.raises(UsageError, match=r"nothing has the word"):
            reference.describe_word(asked)
        return
    page = reference.describe_word(asked)
    assert first in page.splitlines()[0]
    assert also in page


def test_every_setting_column_and_step_is_found_by_its_name():
    for name, section in settings_sections().items():
        for setting in section.model_fields:
            assert f"[{name}]: {setting}" in reference.describe_word(setting), setting
    for layer in LAYERS.values():
        if not layer.internal:
            assert layer.name in reference.describe_word(layer.name)


def test_word_that_nothing_has_is_one_line_with_the_nearest_name():
    with pytest.raises(UsageError, match=r'did you mean "mow_width_ft"'):
        reference.describe_word("mow_widht_ft")
