"""What is drawn of the plan of years: the choices of each unit, year by year."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from pipeline.ahead.treatments import TREATMENTS, UNDECIDED
from pipeline.pages.words import code_words

Frames = Mapping[str, pd.DataFrame]


KIND_OF = {treatment.code: treatment.kind for treatment in TREATMENTS} | {UNDECIDED: UNDECIDED}
"""Kind of work of each choice."""


NEVER_LATE = ("burn", "seed", "wait", UNDECIDED)
"""Kinds of choices that are never past the longest return of a unit."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a unit gets in a year, and the days that it may take; None where it takes no days."""

    year: int
    code: str
    reason: str
    first_day: pd.Timestamp | None
    last_day: pd.Timestamp | None
    fixed: bool
    late: bool

    @property
    def kind(self) -> str:
        """Kind of work."""
        return KIND_OF[self.code]


@dataclass(frozen=True, slots=True)
class UnitPlan:
    """The years ahead of one unit."""

    unit_id: str
    name: str
    choices: tuple[Choice, ...]

    def words(self) -> str:
        """All of its years in one sentence."""
        told = ", ".join(f"{choice.year} {code_words(choice.code)}" for choice in self.choices)
        return f"{self.name}: {told}."


def unit_plans(frames: Frames) -> list[UnitPlan]:
    """The units in the order of the map, each with all years of the plan."""
    most = frames["plan_units"].set_index("unit_id")["most_years"]
    by_unit = dict(list(frames["plan_years"].groupby("unit_id")))
    units = frames["units"][["unit_id", "name"]].itertuples(index=False)
    return [
        UnitPlan(
            unit.unit_id,
            unit.unit_id if pd.isna(unit.name) else f"{unit.unit_id}, {unit.name}",
            _choices(by_unit[unit.unit_id], most.get(unit.unit_id)),
        )
        for unit in units
        if unit.unit_id in by_unit
    ]


def _choices(rows: pd.DataFrame, most_years: int | None) -> tuple[Choice, ...]:
    """Choices of one unit by the year; late are those past its longest return without a burn."""
    return tuple(
        Choice(
            int(row.year),
            row.treatment,
            row.reason,
            None if pd.isna(row.first_day) else row.first_day,
            None if pd.isna(row.last_day) else row.last_day,
            row.reason == "fixed",
            KIND_OF[row.treatment] not in NEVER_LATE
            and most_years is not None
            and pd.notna(row.years_since_burn)
            and row.years_since_burn >= most_years,
        )
        for row in rows.sort_values("year").itertuples()
    )
