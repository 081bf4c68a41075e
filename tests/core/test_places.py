"""A state may be written as its name or its two postal letters, in the property file and in tables.

*Source* of the pairs: United States Postal Service, Publication 28, appendix B.
"""

import csv
from pathlib import Path

import pytest

from pipeline.core.places import STATE_BY_LETTERS, place_key, state_in, state_name
from pipeline.intake.settings import PropertyInfo

CONFIG = Path(__file__).parents[2] / "config"


def state_of(text):
    return PropertyInfo(name="East Place", season=2027, state=text).state


# Those that are easily taken for one another.
@pytest.mark.parametrize(
    ("letters", "name"),
    [
        ("AK", "Alaska"),
        ("AR", "Arkansas"),
        ("AZ", "Arizona"),
        ("IA", "Iowa"),
        ("MA", "Massachusetts"),
        ("MD", "Maryland"),
        ("ME", "Maine"),
        ("MI", "Michigan"),
        ("MN", "Minnesota"),
        ("MO", "Missouri"),
        ("MS", "Mississippi"),
        ("MT", "Montana"),
        ("NE", "Nebraska"),
        ("NV", "Nevada"),
        ("TN", "Tennessee"),
        ("TX", "Texas"),
    ],
)
def test_postal_letters_stand_for_the_state(letters, name):
    assert state_of(letters) == name
    assert state_of(f" {letters.lower()} ") == name


def test_name_stays_as_it_is_written():
    assert state_of("Nebraska") == "Nebraska"
    assert state_of("north dakota") == "north dakota"
    assert state_of("Saskatchewan") == "Saskatchewan"
    assert state_of(None) is None


def test_all_fifty_states_are_there_once():
    assert len(STATE_BY_LETTERS) == 50
    assert len(set(STATE_BY_LETTERS.values())) == 50
    assert all(letters[0] == name[0] for letters, name in STATE_BY_LETTERS.items())


@pytest.mark.parametrize("table", ["nesting_seasons", "test_rules"])
def test_states_of_our_tables_are_named_as_here(table):
    # "interstate" is the rule for seed that crosses a state line.
    with (CONFIG / f"{table}.csv").open(encoding="utf-8") as file:
        named = {row["state"] for row in csv.DictReader(file)} - {"interstate"}
    assert named
    assert named <= {state_name(letters) for letters in STATE_BY_LETTERS}


def test_a_table_may_write_a_state_or_region_in_its_own_way():
    for written in ("North Dakota", "north dakota", "North-Dakota", "ND", "nd "):
        assert place_key(written) == place_key("North Dakota"), written
    assert place_key("SD") != place_key("ND")
    assert place_key("Central Plains") == place_key("central plains")


@pytest.mark.parametrize(
    ("text", "state"),
    [
        ("Iowa", "Iowa"),
        ("Z1 IA", "Iowa"),
        ("Story County, Iowa", "Iowa"),
        ("Delaware County, IA", "Iowa"),
        ("GROWN IN KANSAS", "Kansas"),
        ("west virginia", "West Virginia"),
        ("SD, ND", None),
        ("Iowa or Missouri", None),
        ("grown in two counties or so", None),
        ("", None),
    ],
)
def test_state_is_found_in_the_words_of_a_tag(text, state):
    assert state_in(text) == state
