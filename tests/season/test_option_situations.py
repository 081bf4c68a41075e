"""Situations of units and the option that comes first, through the rules that are shipped.

Expected options follow the sources that each row names; what none tells is common practice and
says so. Figures of the situations are invented.
"""

import csv
from pathlib import Path

import pytest

from pipeline.season.facts import known_facts
from pipeline.season.options.choose import open_options
from pipeline.season.settings import SeasonSettings
from tests.shipped_rules import shipped_season_rules

TABLE = Path(__file__).parents[1] / "data" / "season" / "option_situations.csv"
SITUATIONS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
USUAL = {
    "fire_possible": "yes",
    "herd_must_be_fed": "no",
    "hay_wanted": "no",
    "seed_wanted": "no",
    "refuge_wanted": "no",
    "contract": "no",
    "species_limit": "no",
    "in_burn_block": "no",
    "in_seeding": "no",
}


def facts_of(situation):
    """Facts that a row tells, as the rules read them; those it leaves out are not known.

    A bar stands between two kinds of work of last year.
    """
    told = dict(part.split(" = ") for part in situation["facts"].split("; "))
    known = known_facts()
    assert set(told) <= set(known)
    return {
        **dict.fromkeys(known),
        **USUAL,
        **{
            name: float(v) if known[name] is None else v.replace("| ", "; ")
            for name, v in told.items()
        },
    }


def test_there_are_sixty_of_them_each_with_a_source():
    assert len(SITUATIONS) >= 60
    assert all(row["source"] for row in SITUATIONS)


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda row: row["situation"])
def test_first_option(situation):
    first = open_options(shipped_season_rules(), facts_of(situation), SeasonSettings())[0]
    assert (first.leads_to, first.time or "") == (situation["leads_to"], situation["time"])


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda row: row["situation"])
def test_nothing_is_an_option_at_the_time_it_was_done_last_year(situation):
    facts = facts_of(situation)
    options = open_options(shipped_season_rules(), facts, SeasonSettings())
    done = (facts["done_last_year"] or "").split("; ")
    assert not [rule for rule in options if f"{rule.leads_to} {rule.time}" in done]


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda row: row["situation"])
def test_no_option_names_spray_and_each_is_one_thing_at_one_time(situation):
    options = open_options(shipped_season_rules(), facts_of(situation), SeasonSettings())
    assert not [rule for rule in options if "spray" in rule.suggestion.casefold()]
    things = [(rule.leads_to, rule.time) for rule in options]
    assert len(things) == len(set(things))


@pytest.mark.parametrize("situation", SITUATIONS, ids=lambda row: row["situation"])
def test_without_fire_nothing_burns(situation):
    facts = facts_of(situation) | {"fire_possible": "no"}
    options = open_options(shipped_season_rules(), facts, SeasonSettings())
    assert options
    assert "burn" not in {rule.leads_to for rule in options}
    assert not [rule for rule in options if "second burn" in rule.suggestion]
