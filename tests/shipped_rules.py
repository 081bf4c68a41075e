"""The season rules that come with the program, read as a run reads them."""

from functools import cache
from pathlib import Path

from pipeline.catalog import LAYERS
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.season.facts import known_facts
from pipeline.season.rules import read_rules

CONFIG = Path(__file__).parents[1] / "config"


@cache
def shipped_season_rules():
    """Rules of the shipped table; a fault in it is an error."""
    source = TableSource(path="season_rules.csv")
    read = read_table(source, LAYERS["season_rules"], CONFIG)
    rules, faults = read_rules(read.frame, known_facts())
    assert not [*read.faults, *faults]
    return rules
