"""Tables that contradict themselves: what makes a step refuse them, told before it runs."""

from collections.abc import Mapping

import pandas as pd

from pipeline.compute.burn_conflicts import day_faults
from pipeline.compute.green_up import green_up_faults
from pipeline.compute.own_harvest import harvest_faults
from pipeline.compute.rules import read_rules
from pipeline.compute.season_facts import known_facts
from pipeline.compute.seed_mixes import full_rate_faults, mix_faults
from pipeline.compute.seed_quality import lot_faults
from pipeline.errors import Fault


def contradictions(frames: Mapping[str, pd.DataFrame]) -> list[Fault]:
    """All faults of the tables that cells alone do not show."""
    return [
        *mix_faults(frames["mixes"], frames["species"], frames["full_rates"]),
        *full_rate_faults(frames["full_rates"], frames["species"]),
        *lot_faults(frames["seed_lots"]),
        *harvest_faults(frames["harvests"]),
        *read_rules(frames["season_rules"], known_facts())[1],
        *green_up_faults(frames["green_up"]),
        *day_faults(frames["nesting_seasons"], frames["unit_limits"]),
    ]
