"""What the drawing of a unit's years is made of: its states, its work, its figures year by year."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import pandas as pd

from pipeline.pages.words import code_words, date_words, number_words

Frames = Mapping[str, pd.DataFrame]


MOST_YEARS = 20
"""Years that a drawing shows at most, the newest; the table has all of them."""


FEWEST_YEARS = 8
"""Years that it spans at least, so that a short record does not look like a long one."""


PART_PCT = 50.0
"""A burn of a smaller share of the unit is drawn hollow."""


class Run(NamedTuple):
    """A stretch of days in one state; the last one ends on the day of the plan."""

    state: str
    first: pd.Timestamp
    last: pd.Timestamp


class Work(NamedTuple):
    """One row of the log; ``part`` tells that a burn took less than half of the unit."""

    kind: str
    first: pd.Timestamp
    last: pd.Timestamp
    part: bool


@dataclass(frozen=True, slots=True)
class UnitYears:
    """All that is drawn of one unit. ``years`` are its rows of ``road_years``, by the year."""

    unit_id: str
    name: str
    acres: float
    runs: list[Run]
    works: list[Work]
    years: pd.DataFrame


@dataclass(frozen=True, slots=True)
class Scales:
    """Scales that all drawings of a property share, so that they compare."""

    first_year: int
    last_year: int
    until: pd.Timestamp
    gap: float
    fuel_lb_ac: float
    aum_ac: float
    has_plants: bool
    has_greenness: bool
    has_fuel: bool


def unit_years(frames: Frames) -> tuple[list[UnitYears], Scales] | None:
    """The units in the order of their names, with the scales they share; None without a road."""
    years = frames["road_years"]
    if any(frames[name].empty for name in ("road", "road_moves", "road_years")):
        return None
    scales = _scales(frames)
    years = years[years["year"] >= scales.first_year]
    by_unit = {unit: rows.set_index("year") for unit, rows in years.groupby("unit_id")}
    units = frames["units"][["unit_id", "name", "gross_ac"]].itertuples(index=False)
    return [
        UnitYears(
            unit.unit_id,
            unit.unit_id if pd.isna(unit.name) else f"{unit.unit_id}, {unit.name}",
            float(unit.gross_ac),
            _runs(frames["road_moves"], unit.unit_id, scales),
            _works(frames["treatment_log"], unit.unit_id, by_unit[unit.unit_id]),
            by_unit[unit.unit_id],
        )
        for unit in units
        if unit.unit_id in by_unit
    ], scales


def _scales(frames: Frames) -> Scales:
    """Span of years and the largest figures of all units."""
    years = frames["road_years"]
    last = int(years["year"].max())
    first = max(last - MOST_YEARS + 1, min(int(years["year"].min()), last - FEWEST_YEARS + 1))
    shown = years[years["year"] >= first]
    as_of = frames["property"]["as_of"].iloc[0]
    acres = shown["unit_id"].map(frames["units"].set_index("unit_id")["gross_ac"])
    return Scales(
        first,
        last,
        pd.Timestamp(last, 12, 31) if pd.isna(as_of) else pd.Timestamp(as_of),
        _largest(shown["greenness_gap"].abs(), 0.05),
        _largest(shown["fuel_lb_ac"], 1000.0),
        _largest(shown["grazed_aum"] / acres, 0.1),
        bool(shown["native_share_pct"].notna().any()),
        bool(shown["greenness_gap"].notna().any()),
        bool(shown["fuel_lb_ac"].notna().any()),
    )


def _largest(figures: pd.Series, least: float) -> float:
    """The largest figure, at least so much; unknown ones do not count."""
    most = figures.astype("float64").max()
    return least if pd.isna(most) else max(least, float(most))


def _runs(road_moves: pd.DataFrame, unit_id: str, scales: Scales) -> list[Run]:
    """States of a unit with their days, within the years that are drawn."""
    moves = road_moves[road_moves["unit_id"] == unit_id].sort_values("number")
    begin = pd.Timestamp(scales.first_year, 1, 1)
    firsts = [begin if pd.isna(day) else max(begin, day) for day in moves["day"]]
    lasts = [*firsts[1:], scales.until]
    runs: list[Run] = []
    for state, first, last in zip(moves["to_state"], firsts, lasts, strict=True):
        if last <= first:
            continue
        if runs and runs[-1].state == state:
            runs[-1] = runs[-1]._replace(last=last)
        else:
            runs.append(Run(state, first, last))
    return runs


def _works(treatment_log: pd.DataFrame, unit_id: str, years: pd.DataFrame) -> list[Work]:
    """Rows of the log that fall into the years that are drawn."""
    rows = treatment_log[treatment_log["unit_id"] == unit_id]
    rows = rows[rows["end"].dt.year >= years.index.min()]
    burned = years["burned_pct"]
    return [
        Work(kind, first, last, kind == "burn" and bool(burned.get(first.year, 100.0) < PART_PCT))
        for kind, first, last in zip(rows["kind"], rows["start"], rows["end"], strict=True)
    ]


def years_words(unit: UnitYears) -> str:
    """All that is drawn of a unit, in sentences for those who do not see it."""
    runs = "; ".join(f"{code_words(run.state)} from {date_words(run.first)}" for run in unit.runs)
    told = [f"State: {runs}."]
    for title, column, places, signed in FIGURES:
        known = unit.years[column].dropna()
        values = ", ".join(
            f"{year} {number_words(value, places, signed=signed)}" for year, value in known.items()
        )
        told += [f"{title}: {values}."] * bool(values)
    done = ", ".join(f"{work.kind} {date_words(work.first)}" for work in unit.works)
    return " ".join([*told, *([f"Done: {done}."] * bool(done))])


FIGURES: tuple[tuple[str, str, int, bool], ...] = (
    ("Natives in percent of the cover", "native_share_pct", 0, False),
    ("NDVI beyond unburned units", "greenness_gap", 2, True),
    ("Fuel in pounds an acre", "fuel_lb_ac", 0, False),
    ("Animal-unit months", "grazed_aum", 1, False),
)
"""Figures that are drawn: words, column, decimals, whether the sign is shown."""


def newest_state(frames: Frames, unit_id: str) -> dict[str, Any]:
    """Where a unit stands today: its row of ``road``."""
    road = frames["road"]
    return dict(road[road["unit_id"] == unit_id].iloc[0])
