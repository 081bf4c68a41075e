"""What a year of the plan may bring a unit, and the part of the year that it takes."""

from dataclasses import dataclass

import pandas as pd

from pipeline.log.days import day_of
from pipeline.season.settings import HerdSettings, SeasonSettings


@dataclass(frozen=True, slots=True)
class Treatment:
    """One of the things that may be done with a unit in a year: its code, kind of work and time."""

    code: str
    kind: str
    time: str | None = None


TREATMENTS = (
    Treatment("rest", "rest"),
    Treatment("burn_dormant", "burn", "dormant"),
    Treatment("burn_early_spring", "burn", "early_spring"),
    Treatment("burn_late_spring", "burn", "late_spring"),
    Treatment("burn_summer", "burn", "summer"),
    Treatment("burn_fall", "burn", "fall"),
    Treatment("graze_early", "graze", "early"),
    Treatment("graze_late", "graze", "late"),
    Treatment("hay", "hay", "summer"),
    Treatment("seed", "seed"),
    Treatment("wait", "wait"),
)
"""In the order in which they go before one another where nothing else tells them apart. wait: a
field without a sward is left as it is. A burn of the dormant season comes before growth begins.
Burns of summer and fall are never planned ahead: they stand for those that are settled."""


CODES = tuple(treatment.code for treatment in TREATMENTS)


UNDECIDED = "undecided"
"""Code of a year of a unit that not enough is known of: nothing is chosen for it."""


BURNS = tuple(n for n, treatment in enumerate(TREATMENTS) if treatment.kind == "burn")


GRAZINGS = tuple(n for n, treatment in enumerate(TREATMENTS) if treatment.kind == "graze")


REST, HAY, SEED, WAIT = map(CODES.index, ("rest", "hay", "seed", "wait"))


DAYS_BY_BURN_TIME = {
    "dormant": ("01-01", "03-31"),
    "early_spring": ("04-01", "04-30"),
    "late_spring": ("05-01", "06-30"),
    "summer": ("07-01", "08-31"),
    "fall": ("09-01", "10-31"),
}
"""First and last day of the times of a burn, by the months of the log; that of the dormant season
begins with the calendar year here."""


def treatment_days(
    treatment: Treatment, year: int, season: SeasonSettings, herd: HerdSettings
) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """First and last day that a treatment may take in a year; None where it takes none.

    Stock is off on the first day of the deferral. A grazing of which the settings leave no day ends
    before it begins.
    """
    spans = {
        "burn": DAYS_BY_BURN_TIME.get(treatment.time or ""),
        "graze": (herd.season_from, season.deferral_from)
        if treatment.time == "early"
        else (max(herd.native_dormant, season.deferral_until), "10-31"),
        "hay": ("07-01", "08-31"),
    }
    span = spans.get(treatment.kind)
    if span is None:
        return None
    off = pd.Timedelta(days=1 if treatment.time == "early" else 0)
    return day_of(year, span[0]), day_of(year, span[1]) - off
