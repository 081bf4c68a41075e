"""Burns against their fuel: whether it carries, whether it is known, and the days of its window."""

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from pipeline.log.days import day_of
from pipeline.season.settings import SeasonSettings
from pipeline.work.clashes import Clash

Row = Mapping[Any, Any]


OWN_DAYS = ("property_file", "log")
"""Where days come from that are not those of the window."""


CODE_BY_NEED = {
    "needs_measurement": "fuel_not_measured",
    "needs_new_measurement": "fuel_taken_since",
    "needs_animals": "fuel_animals_unknown",
}
"""What stands against a burn whose load is not known, by what is missing to know it."""


def fuel_clashes(
    burns: pd.DataFrame, fuel: pd.DataFrame, settings: SeasonSettings
) -> Iterator[Clash]:
    """What the layer ``fuel`` has against planned burns: load, continuity, days.

    The days of a burn without days of its own are those of the window, which nothing of them can
    contradict. Of a burn after the growing season the layer knows nothing: its fuel has yet to
    grow.
    """
    of_unit = {row["unit_id"]: row for row in fuel.to_dict("records")}
    for burn in burns.to_dict("records"):
        known = of_unit[burn["unit_id"]]
        at: Clash = {"code": "", "work_id": burn["work_id"], "unit_id": burn["unit_id"]}
        if _burns_new_growth(burn, known, settings):
            yield at | Clash(code="fuel_not_measured")
            continue
        for clash in (*_load(known), *_continuity(known), *_days(burn, known)):
            yield at | clash


def _burns_new_growth(burn: Row, fuel: Row, settings: SeasonSettings) -> bool:
    """Whether a burn falls after the growing season that the fuel known is older than."""
    if burn["days_from"] not in OWN_DAYS or pd.isna(fuel["burn_until"]):
        return False
    grown = day_of(fuel["burn_until"].year, settings.growing_until)
    return bool(burn["first_day"] > grown)


def _load(fuel: Row) -> Iterator[Clash]:
    """Whether the load carries a fire; where it is not known, what is missing."""
    likely, high = fuel["spring_load_lb_ac"], fuel["spring_load_high_lb_ac"]
    if fuel["carries"] == "unknown":
        code = CODE_BY_NEED.get(fuel["reason"], "fuel_not_measured")
        yield Clash(code=code, day=fuel["removed_on"], names=fuel["removed_by"])
    elif fuel["carries"] == "patchy":
        yield Clash(code="fuel_patchy", figure=likely)
    elif fuel["carries"] == "no" and fuel["carries_high"] in ("yes", "patchy"):
        yield Clash(code="fuel_only_at_high", figure=likely, bound=high)
    elif fuel["carries"] == "no":
        yield Clash(code="fuel_will_not_carry", figure=likely)
    if fuel["load_class"] == "heavy":
        yield Clash(code="fuel_heavy", figure=likely)


def _continuity(fuel: Row) -> Iterator[Clash]:
    if fuel["continuity"] == "broken":
        yield Clash(code="fuel_broken", figure=fuel["bare_ground_pct"])


def _days(burn: Row, fuel: Row) -> Iterator[Clash]:
    """The planned days against the window: likely, with less fuel, and in an early spring."""
    last, low, early = (fuel[f"burn_until{end}"] for end in ("", "_low", "_early"))
    if fuel["carries"] in ("yes", "patchy") and pd.isna(last):
        yield Clash(code="window_unknown")
    if burn["days_from"] not in OWN_DAYS:
        return
    if burn["first_day"] < fuel["burn_from"]:
        yield Clash(code="days_before_cured", day=burn["first_day"], bound_day=fuel["burn_from"])
    if burn["first_day"] > last:
        yield Clash(code="days_after_window", day=burn["first_day"], bound_day=last)
    elif burn["last_day"] > last:
        yield Clash(code="days_run_past_window", day=burn["last_day"], bound_day=last)
    elif burn["last_day"] > low:
        yield Clash(code="days_past_low_window", day=burn["last_day"], bound_day=low)
    elif burn["last_day"] > early:
        yield Clash(code="days_past_early_window", day=burn["last_day"], bound_day=early)
