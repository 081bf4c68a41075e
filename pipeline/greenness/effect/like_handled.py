"""Which units were handled alike but for the fire, by the log and by their cover.

Grazing, haying and spraying change NDVI as much as a fire does, in the year before as well: ground
that was grazed before the first picture grows back without any fire.
"""

from itertools import pairwise

import numpy as np
import pandas as pd

from pipeline.log.treatment_log import YEAR, treatments_of, within


def handling_codes(
    unit_ids: pd.Series, before: pd.Timestamp, after: pd.Timestamp, treatment_log: pd.DataFrame
) -> np.ndarray:
    """Number of the way each unit was handled from a year before the first picture to the second.

    Units of one number had the same kinds of work, burns apart, in the same parts of that time: the
    calendar years, the year of the first picture before and after it. How hard they were grazed is
    not compared.
    """
    events = treatments_of(treatment_log)
    works = events[events["kind"] != "burn"]
    year_ends = pd.date_range(before - YEAR, after, freq="YE")
    edges = sorted({before - YEAR, *year_ends, before, after})
    ways: dict[str, set[tuple[int, str]]] = {unit: set() for unit in unit_ids}
    for part, (since, until) in enumerate(pairwise(edges)):
        for work in within(works, since, until).itertuples():
            ways.setdefault(work.unit_id, set()).add((part, work.kind))
    return pd.factorize(pd.Series([frozenset(ways[unit]) for unit in unit_ids], dtype=object))[0]


def cover_codes(cover: pd.Series) -> np.ndarray:
    """Number of the cover of each unit, −1 where none is stated."""
    return pd.factorize(cover)[0]


def unlike_reasons(burned: np.ndarray, handling: np.ndarray, cover: np.ndarray) -> np.ndarray:
    """Code of what each unit differs in from any of the ``burned`` ones, None for nothing.

    A cover that is not stated differs from none.
    """
    of_burned = cover[burned]
    differs = (cover[:, None] != of_burned) & (cover[:, None] >= 0) & (of_burned >= 0)
    reasons = np.full(len(cover), None, dtype=object)
    reasons[(handling[:, None] != handling[burned]).any(axis=1)] = "handled_otherwise"
    reasons[differs.any(axis=1)] = "other_cover"
    return reasons
