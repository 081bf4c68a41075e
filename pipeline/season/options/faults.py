"""Aims that name units which are not on the map."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import suggestion
from pipeline.season.options.settings import AimsSettings


def aim_faults(drawn_units: pd.DataFrame, aims: AimsSettings) -> Iterator[Fault]:
    """Units of ``[aims]`` that the units source does not have."""
    known = sorted(drawn_units["unit_id"].dropna())
    named = {
        "no_fire_units": aims.no_fire_units,
        "hay_units": aims.hay_units,
        "seed_units": aims.seed_units,
    }
    for name, unit_ids in named.items():
        for unit_id in unit_ids:
            if unit_id not in known:
                found = f'unit "{unit_id}" is not on the map'
                expected = "a unit of the units source"
                yield Fault(f"[aims] {name}", found, expected, suggestion(unit_id, known))
