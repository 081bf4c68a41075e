"""Work against other work on the same unit: sowing, fire, animals, mower and sprayer."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import pandas as pd

from pipeline.work.clashes import Clash
from pipeline.work.limit_clashes import has_days

Row = Mapping[Any, Any]


TAKE_FUEL = {"graze": "grazing", "hay": "haying", "mow": "mowing"}
"""Work that takes fuel off, as a sentence names it."""


BREAK_REST = ("burn", "graze", "hay", "mow")


def pair_clashes(work: Row, others: Sequence[Row], bounds: Mapping[str, float]) -> Iterator[Clash]:
    """Everything planned on the same unit that stands against a piece of work."""
    for other in others:
        if other["kind"] == "seed" and work["kind"] == "burn":
            yield from _burn_and_sowing(work, other, bounds["sowing_burned"])
        if other["kind"] == "seed" and work["kind"] == "graze":
            yield from _grazed_sowing(work, other, bounds)
        if other["kind"] == "spray" and work["kind"] == "seed" and has_days(other):
            last, names = other["last_day"], "planned spraying"
            yield from sprayed_clashes(work, other["first_day"], last, names, bounds)
        yield from _planned_twice(work, other)
        if other["kind"] in TAKE_FUEL and work["kind"] == "burn":
            yield from _fuel_taken(work, other)
        if other["kind"] == "rest" and work["kind"] in BREAK_REST:
            yield from _rest_broken(work, other)


def _planned_twice(logged: Row, other: Row) -> Iterator[Clash]:
    """A burn or sowing of the log that a block or area of the property file has for the unit too.

    It is told of the row of the log. Two that fall in different years are two, and one of a part
    of the unit, such as a blackline, is another one.
    """
    named = other["block"] or other["area"]
    is_same = logged["kind"] == other["kind"] and logged["whole_unit"]
    if logged["days_from"] != "log" or not named or not is_same:
        return
    if pd.notna(other["first_day"]) and other["first_day"].year != logged["first_day"].year:
        return
    yield Clash(code="planned_twice", day=logged["first_day"], names=named)


def _burn_and_sowing(burn: Row, sowing: Row, bound_days: float) -> Iterator[Clash]:
    """A burn on ground that is sown this season: a burn before it prepares, one after it kills."""
    sown, name = sowing["first_day"], sowing["area"] or sowing["work_id"]
    told = Clash(code="sowing_and_burn", bound_day=sown, names=name)
    if not has_days(burn) or pd.isna(sown):
        yield told
        return
    told = told | Clash(day=burn["first_day"])
    days = (burn["first_day"] - sown).days
    if 0 < days < bound_days:
        yield told | Clash(code="sowing_burned", figure=float(days))
    elif days <= 0 and burn["last_day"] > sown:
        yield told | Clash(code="sowing_in_burn_days", day=burn["last_day"])


def _grazed_sowing(graze: Row, sowing: Row, bounds: Mapping[str, float]) -> Iterator[Clash]:
    """Animals on ground that was sown less than the bound ago; oversown sod is another matter."""
    sown = sowing["first_day"]
    if not has_days(graze) or pd.isna(sown) or graze["last_day"] <= sown:
        return
    code = "oversowing_grazed" if sowing["method"] == "overseed" else "sowing_grazed"
    first = max(graze["first_day"], sown)
    days = (first - sown).days
    if days < bounds[code]:
        name = sowing["area"] or sowing["work_id"]
        yield Clash(code=code, figure=float(days), day=first, bound_day=sown, names=name)


def sprayed_clashes(
    sowing: Row,
    first: pd.Timestamp,
    last: pd.Timestamp,
    names: str,
    bounds: Mapping[str, float],
) -> Iterator[Clash]:
    """Spraying before a sowing, whose label tells the days to wait, or after it."""
    sown = sowing["first_day"]
    if pd.isna(sown):
        return
    days = (sown - last).days
    if days < 0:
        day = max(first, sown)
        yield Clash(code="sprayed_after_sowing", day=day, bound_day=sown, names=names)
    elif days < bounds["sprayed_before_sowing"]:
        yield Clash(
            code="sprayed_before_sowing",
            figure=float(days),
            day=last,
            bound_day=sown,
            names=names,
        )


def _fuel_taken(burn: Row, other: Row) -> Iterator[Clash]:
    """Grazing, haying or mowing that begins before the last day of a burn."""
    if not has_days(other) or pd.isna(burn["last_day"]) or other["first_day"] > burn["last_day"]:
        return
    yield Clash(
        code="fuel_taken_before_burn",
        figure=other["work_ac"],
        bound=other["gross_ac"],
        day=other["first_day"],
        bound_day=burn["last_day"],
        names=TAKE_FUEL[other["kind"]],
    )


def _rest_broken(work: Row, rest: Row) -> Iterator[Clash]:
    """Work in the days that the log plans a rest for."""
    if not has_days(work) or not has_days(rest):
        return
    if work["first_day"] <= rest["last_day"] and work["last_day"] >= rest["first_day"]:
        yield Clash(code="rest_broken", day=rest["first_day"], bound_day=rest["last_day"])
