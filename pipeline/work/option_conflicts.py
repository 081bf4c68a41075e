"""What stands against an option: the conflicts of the planned work that would carry it out."""

import pandas as pd

from pipeline.core.layer import empty
from pipeline.season.settings import SeasonSettings
from pipeline.work.layers import OPTION_CONFLICTS
from pipeline.work.limit_clashes import carries_out


def list_option_conflicts(
    season_options: pd.DataFrame,
    planned_work: pd.DataFrame,
    conflicts: pd.DataFrame,
    settings: SeasonSettings,
) -> pd.DataFrame:
    """Table ``option_conflicts``: each option that is planned, with each conflict of that work.

    A conflict of a whole block counts for each of its units. Planned work without any has a row
    without a number.
    """
    works = planned_work[["work_id", "unit_id", "kind", "first_day", "last_day"]]
    options = season_options[["unit_id", "rank", "year", "leads_to", "time"]]
    pairs = options.merge(works, on="unit_id").to_dict("records")
    rows = []
    for pair in (pair for pair in pairs if carries_out(pair, pair, settings)):
        of_work = conflicts[conflicts["work_id"] == pair["work_id"]]
        of_it = of_work[of_work["unit_id"].isna() | (of_work["unit_id"] == pair["unit_id"])]
        told = {name: pair[name] for name in ("unit_id", "rank", "work_id")}
        found = of_it[["number", "seriousness"]].to_dict("records")
        rows += [told | conflict for conflict in found or [{"number": None, "seriousness": None}]]
    if not rows:
        return empty(OPTION_CONFLICTS)
    return pd.DataFrame(rows, columns=OPTION_CONFLICTS.column_names)
