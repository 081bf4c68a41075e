"""What is wrong with the tables of plants, rules and days, told before anything is computed."""

from collections.abc import Mapping

import pandas as pd

from pipeline.catalog import PropertyFile
from pipeline.core.errors import Fault
from pipeline.season.community import class_faults
from pipeline.season.facts import known_facts
from pipeline.season.green_up import green_up_faults
from pipeline.season.limits import day_faults
from pipeline.season.rules import read_rules


def faults(frames: Mapping[str, pd.DataFrame], told: PropertyFile) -> list[Fault]:
    """Cover classes, season rules and days of the year that cannot be read."""
    return [
        *class_faults(frames["plants"]),
        *read_rules(frames["season_rules"], known_facts())[1],
        *green_up_faults(frames["green_up"]),
        *day_faults(frames["nesting_seasons"], frames["unit_limits"]),
    ]
