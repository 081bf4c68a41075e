"""Years of units that are no matter of choice: what is done, what is planned, what is fixed."""

from dataclasses import dataclass

import pandas as pd

from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.treatments import BURNS, REST, SEED, TREATMENTS, treatment_days
from pipeline.log.days import BURN_TIME_BY_MONTH
from pipeline.season.settings import HerdSettings, SeasonSettings

BEFORE = ("seed", "burn", "hay", "graze", "rest")
"""Of several works planned for one unit and year, the kind that counts."""


LEAST_SHARE = 0.5
"""Planned work on a smaller part of a unit does not settle its year."""


@dataclass(frozen=True, slots=True)
class SettledYear:
    """Treatments of which a year of a unit gets one, and its days where they are known.

    Days ``by_fuel`` nobody chose: they are those of the season in which the fuel carries.
    """

    treatments: tuple[int, ...]
    first_day: pd.Timestamp | None = None
    last_day: pd.Timestamp | None = None
    by_fuel: bool = False


Settled = dict[tuple[str, int], SettledYear]
"""Years that are settled, by unit and calendar year."""


def settle_years(
    plan_units: pd.DataFrame,
    planned_work: pd.DataFrame,
    fixed_years: pd.DataFrame,
    season: int,
    settings: SeasonSettings,
    herd: HerdSettings,
    plan: PlanSettings,
) -> Settled:
    """All settled years: what is done goes before what is fixed, and that before plans."""
    return (
        _planned(planned_work, plan_units, season, settings, herd, plan)
        | _fixed(fixed_years, plan)
        | _burned(plan_units, season, plan)
    )


def own_burns(plan: PlanSettings) -> tuple[int, ...]:
    """Burns of the times in which any may be planned."""
    return tuple(n for n in BURNS if TREATMENTS[n].time in plan.burn_times)


def _burned(plan_units: pd.DataFrame, season: int, plan: PlanSettings) -> Settled:
    """Burns of the season that are done: its year is settled, whatever else was planned."""
    burned = plan_units[plan_units["burn_on_record"] & (plan_units["years_since_burn"] == 0)]
    return {
        (row.unit_id, season): SettledYear(
            tuple(n for n in BURNS if TREATMENTS[n].time == row.last_burn_time) or own_burns(plan),
            *(None if pd.isna(row.last_burn) else row.last_burn,) * 2,
        )
        for row in burned.itertuples()
    }


def _fixed(fixed_years: pd.DataFrame, plan: PlanSettings) -> Settled:
    """Years that the user has fixed; a burn of no told time is one of the times of the plan."""
    burns = own_burns(plan)
    return {
        (row.unit_id, int(row.year)): SettledYear(
            tuple(
                n
                for n, t in enumerate(TREATMENTS)
                if row.treatment == t.code
                or (row.treatment == t.kind and (t.kind != "burn" or n in burns))
            )
        )
        for row in fixed_years.itertuples()
    }


def _planned(
    planned_work: pd.DataFrame,
    plan_units: pd.DataFrame,
    season: int,
    settings: SeasonSettings,
    herd: HerdSettings,
    plan: PlanSettings,
) -> Settled:
    """Years settled by work that is planned already: the season's blocks, sowings, the log."""
    acres = plan_units.set_index("unit_id")["burnable_ac"]
    bare = set(plan_units.loc[plan_units["state"] == "cropped", "unit_id"])
    works = planned_work[planned_work["kind"].isin(BEFORE)]
    works = works[works["work_ac"] >= LEAST_SHARE * works["unit_id"].map(acres)]
    works = works.assign(place=works["kind"].map(BEFORE.index)).sort_values("place", kind="stable")
    settled: Settled = {}
    for work in works.itertuples():
        first, last = work.first_day, work.last_day
        first = None if pd.isna(first) else first
        last = first if pd.isna(last) else last
        year = season if first is None else first.year
        if work.kind == "seed" and work.unit_id not in bare:
            continue
        found = _treatments(work.kind, year, first, last, settings, herd, plan)
        by_fuel = work.days_from == "fuel_window"
        if found:
            settled.setdefault((work.unit_id, year), SettledYear(found, first, last, by_fuel))
    return settled


def _treatments(
    kind: str,
    year: int,
    first: pd.Timestamp | None,
    last: pd.Timestamp | None,
    settings: SeasonSettings,
    herd: HerdSettings,
    plan: PlanSettings,
) -> tuple[int, ...]:
    """Treatments that a piece of planned work may be, by its days; none where no time fits."""
    if kind in ("seed", "rest"):
        return (SEED if kind == "seed" else REST,)
    if kind == "burn":
        return _burns(first, last, plan)
    spans = {
        n: treatment_days(t, year, settings, herd)
        for n, t in enumerate(TREATMENTS)
        if t.kind == kind
    }
    shared = {
        n: (min(span[1], last) - max(span[0], first)).days
        for n, span in spans.items()
        if span is not None and first is not None and last is not None
    }
    longest = max(shared.values(), default=-1)
    return tuple(n for n, days in shared.items() if days == longest >= 0)[:1]


def _burns(
    first: pd.Timestamp | None, last: pd.Timestamp | None, plan: PlanSettings
) -> tuple[int, ...]:
    """Burns of the times that some days meet; of those the plan's own where there are any."""
    own = own_burns(plan)
    if first is None or last is None:
        return own
    months = pd.period_range(first, last, freq="M").month
    times = {BURN_TIME_BY_MONTH[month] for month in months}
    met = tuple(n for n in BURNS if TREATMENTS[n].time in times)
    return tuple(n for n in met if n in own) or met
