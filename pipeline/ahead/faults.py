"""What is wrong with what is asked of the plan of years, told before anything is computed."""

from collections.abc import Iterable, Iterator

import geopandas as gpd
import pandas as pd

from pipeline.ahead.build import crew_days, crew_usd_day
from pipeline.ahead.search.problem import Array
from pipeline.ahead.settings import PlanSettings
from pipeline.core.errors import Fault
from pipeline.core.names import listed, suggestion
from pipeline.core.units import half_up
from pipeline.ground.acreage import measure_units
from pipeline.season.options.settings import AimsSettings
from pipeline.season.road.layers import STATES
from pipeline.work.settings import CostSettings


def ahead_faults(
    drawn_units: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    fixed_years: pd.DataFrame,
    property: pd.DataFrame,
    aims: AimsSettings,
    costs: CostSettings,
    plan: PlanSettings,
) -> list[Fault]:
    """Limits that a unit does not fit in, names that nothing has, fixed years out of the plan."""
    if not plan.years:
        return []
    covers = sorted(set(drawn_units["cover"].dropna()))
    found = [
        *_names(plan, covers),
        *_fixed_years(fixed_years, int(property["season"].iloc[0]), plan.years),
    ]
    if not aims.fire_possible:
        return found
    units = measure_units(drawn_units, exclusions)
    to_burn = units[~units["unit_id"].isin(aims.no_fire_units)]
    days = crew_days(to_burn["burnable_ac"].to_numpy(float), plan)
    if len(to_burn):
        found += [*_caps(units, aims, plan), *_crews(to_burn, days, plan)]
        found += _money(days, costs, plan)
    return found


def _capped(plan: PlanSettings) -> Iterator[tuple[str, float]]:
    """Caps of the whole property: that of the plan and those of its what-ifs."""
    yield "most_burned_pct", plan.most_burned_pct
    for case in plan.what_if:
        if case.most_burned_pct is not None:
            yield f'what_if "{case.name}"', case.most_burned_pct


def _names(plan: PlanSettings, covers: list[str]) -> Iterator[Fault]:
    """Kinds of ground and states that are not there."""
    asked: dict[str, tuple[Iterable[str], list[str]]] = {
        "most_cover_burned_pct": (plan.most_cover_burned_pct, covers),
        "returns": (plan.returns, [*covers, *STATES]),
    }
    for setting, (told, known) in asked.items():
        for name in told:
            if name not in known:
                expected = f"one of {listed(known, 20)}"
                yield Fault(f"[plan] {setting}", f'"{name}"', expected, suggestion(name, known))


def _fixed_years(fixed_years: pd.DataFrame, first: int, years: int) -> Iterator[Fault]:
    """Fixed years outside those that are planned."""
    last = first + years - 1
    for row in fixed_years.itertuples(index=False):
        if not first <= row.year <= last:
            where, found = f"[sources.fixed_years] {row.unit_id}", f"year {row.year}"
            yield Fault(where, found, f"a year from {first} to {last}", "take it out")


def _caps(units: gpd.GeoDataFrame, aims: AimsSettings, plan: PlanSettings) -> Iterator[Fault]:
    """Units larger than a cap of acres: they could never burn, and nobody would be told.

    The ground that a share is taken of is at most that of all units, so what is refused here fits
    in no case.
    """
    share = 1.0 - plan.margin_pct / 100.0
    parts = [(setting, pct, units) for setting, pct in _capped(plan)] + [
        (f'most_cover_burned_pct "{cover}"', pct, units[units["cover"] == cover])
        for cover, pct in plan.most_cover_burned_pct.items()
    ]
    for setting, pct, part in parts:
        most_ac = pct / 100.0 * share * part["burnable_ac"].sum()
        burnable = part[~part["unit_id"].isin(aims.no_fire_units)]
        for unit in burnable[burnable["burnable_ac"] > most_ac].itertuples():
            yield Fault(
                f"[plan] {setting}",
                f"unit {unit.unit_id} of {half_up(unit.burnable_ac, 1)} ac can never burn within "
                f"{half_up(most_ac, 1)} ac a year",
                "a cap that each unit fits in",
                "split the unit, raise the cap, or name it in no_fire_units of [aims]",
            )


def _crews(units: pd.DataFrame, days: Array, plan: PlanSettings) -> Iterator[Fault]:
    """Units whose burn takes more days than the crew has in a year: they could never burn."""
    told = {"crew_days": plan.crew_days} | {
        f'what_if "{case.name}"': case.crew_days for case in plan.what_if
    }
    for setting, most in told.items():
        if most is not None and most < days.min():
            yield Fault(
                f"[plan] {setting}",
                f"{most:g} days a year are enough for no burn: a started day counts as one",
                f"at least {days.min():g} a year",
                "count days of the whole crew, or take the setting out",
            )
            continue
        for unit_id, needed in zip(units["unit_id"], days, strict=True):
            if most is not None and needed > most:
                yield Fault(
                    f"[plan] {setting}",
                    f"a burn of unit {unit_id} takes {needed:g} days of {most:g} a year",
                    "days that each unit can be burned in",
                    "raise crew_days or burn_day_ac, or name the unit in no_fire_units of [aims]",
                )


def _money(days: Array, costs: CostSettings, plan: PlanSettings) -> Iterator[Fault]:
    """Money that pays for no burn in any year, its lines left out: dollars told as thousands."""
    least = float(days.min()) * crew_usd_day(plan, costs)
    if plan.money_usd is not None and plan.money_usd < least:
        priced = "the stand-in" if costs.burn_crew_usd_day is None else "your price"
        yield Fault(
            "[plan] money_usd",
            f"{plan.money_usd:g} dollars a year pay for no burn: the crew of the smallest takes "
            f"{least:g} dollars by {priced} of a day",
            "dollars, not thousands of them",
            "raise it, give burn_crew_usd_day in [costs], or set fire_possible = false in [aims]",
        )
