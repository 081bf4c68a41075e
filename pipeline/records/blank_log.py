"""A blank log of the season: what is planned stands in it, what was done is filled in by hand."""

import pandas as pd

from pipeline.core.layer import empty
from pipeline.records.layers import BLANK_LOG

FROM_THE_LOG = (
    "animal_unit_equivalent",
    "weight_lb",
    "livestock",
    "objective",
    "permit",
    "product",
    "epa_reg_no",
    "target",
    "applicator",
    "license_no",
    "lot",
    "strip",
    "species",
    "moved_from",
    "moved_to",
    "practice",
)
"""What a planned row of the log tells beforehand."""


FIRST = ("unit_id", "kind", "planned_start", "planned_end", "start", "end", "acres_treated_ac")
LAST = ("objective", "result", "practice", "recorded_by", "note", "plan")
"""Columns of every blank log, before and after those of its kinds of work."""


WEATHER = ("weather", "temperature_f", "humidity_pct", "wind_mph", "wind_from_deg")
TIMES = ("start_time", "end_time")
ANIMALS = ("livestock", "head", "animal_unit_equivalent", "weight_lb")


COLUMNS_BY_KIND = {
    "burn": ("permit", "led_by", "notified", *TIMES, *WEATHER, "unburned_inside_pct"),
    "spray": (
        *("product", "epa_reg_no", "target", "amount_used", "applicator", "license_no"),
        *TIMES,
        *WEATHER,
    ),
    "graze": (*ANIMALS, "residual_height_in"),
    "move": (*ANIMALS, "moved_from", "moved_to"),
    "hay": ("taken_lb", "bales", "residual_height_in"),
    "mow": ("residual_height_in",),
    "seed": ("mix", "lot", "strip"),
    "harvest": ("strip", "lot", "species", "taken_lb"),
}
"""Columns that a kind of work asks for, on the sheet; the file has all that a log may have."""


def blank_columns(blank_log: pd.DataFrame) -> list[str]:
    """Columns of the sheet: those that its kinds of work ask for or that have something in them."""
    asked = [name for kind in COLUMNS_BY_KIND for name in COLUMNS_BY_KIND[kind]]
    kinds = set(blank_log["kind"])
    wanted = {name for kind in kinds for name in COLUMNS_BY_KIND.get(kind, ())}
    filled = {name for name in blank_log if blank_log[name].notna().any()}
    between = dict.fromkeys([*asked, *BLANK_LOG.column_names])
    ends = {*FIRST, *LAST}
    return [*FIRST, *(n for n in between if n in wanted | filled and n not in ends), *LAST]


def make_blank_log(
    planned_work: pd.DataFrame, planned_log: pd.DataFrame, usable_log: pd.DataFrame
) -> pd.DataFrame:
    """Table ``blank_log``: a row for each unit of each piece of planned work, its days left blank.

    What is under way is in the log already. A unit without days of its own has those of the work
    that it is part of; work without any is left out, since a row without a day cannot be read as a
    log. Of weather nothing is told beforehand.
    """
    work = _with_days_of_the_work(planned_work[~_under_way(planned_work, usable_log)])
    dated = work[work["first_day"].notna() | work["last_day"].notna()]
    if dated.empty:
        return empty(BLANK_LOG)
    rows = pd.DataFrame(dated[["unit_id", "kind", "head", "mix"]]).assign(
        planned_start=dated["first_day"].fillna(dated["last_day"]),
        planned_end=dated["last_day"],
        plan=dated["work_id"],
    )
    log = planned_log.drop(columns="planned_start").rename(columns={"start": "planned_start"})
    keys = ["unit_id", "kind", "planned_start"]
    log = log[[*keys, *FROM_THE_LOG]].drop_duplicates(keys)
    return rows.merge(log, on=keys, how="left").reindex(columns=BLANK_LOG.column_names)


def _with_days_of_the_work(planned_work: pd.DataFrame) -> pd.DataFrame:
    """Planned work; a unit without any day has the first and last of the others of its work."""
    of_work = planned_work.groupby("work_id")
    undated = planned_work["first_day"].isna() & planned_work["last_day"].isna()
    return planned_work.assign(
        first_day=planned_work["first_day"].mask(undated, of_work["first_day"].transform("min")),
        last_day=planned_work["last_day"].mask(undated, of_work["last_day"].transform("max")),
    )


def _under_way(planned_work: pd.DataFrame, usable_log: pd.DataFrame) -> "pd.Series[bool]":
    """Whether planned work is the rest of a row of the log that began before."""
    starts = usable_log.groupby(["unit_id", "kind", "end"])["start"].min().to_dict()
    flags = [
        row.days_from == "log"
        and starts.get((row.unit_id, row.kind, row.last_day), row.first_day) < row.first_day
        for row in planned_work.itertuples()
    ]
    return pd.Series(flags, index=planned_work.index, dtype=bool)
