"""What is wrong with the tables of plants, rules and days, told before anything is computed."""

from collections.abc import Mapping

import pandas as pd

from pipeline.compute.burn_conflicts import day_faults
from pipeline.compute.community import class_faults
from pipeline.compute.green_up import green_up_faults
from pipeline.compute.rules import read_rules
from pipeline.compute.season_facts import known_facts
from pipeline.errors import Fault
from pipeline.settings import PropertyFile


def faults(frames: Mapping[str, pd.DataFrame], told: PropertyFile) -> list[Fault]:
    """Cover classes, season rules and days of the year that cannot be read."""
    return [
        *class_faults(frames["plants"]),
        *read_rules(frames["season_rules"], known_facts())[1],
        *green_up_faults(frames["green_up"]),
        *day_faults(frames["nesting_seasons"], frames["unit_limits"]),
    ]
