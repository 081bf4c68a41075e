"""What if: the same years under another cap, crew, herd or rule of refuge, beside the plan."""

from collections.abc import Iterator

import pandas as pd

from pipeline.ahead.search.engine import gap_pct
from pipeline.ahead.settings import PLANNED_CASE, PlanSettings, WhatIf
from pipeline.ahead.sum_layers import PLAN_CASE_YEARS, PLAN_CASES
from pipeline.ahead.totals import BURN_CODES, is_late
from pipeline.ahead.treatments import UNDECIDED
from pipeline.core.layer import empty
from pipeline.fire.mowing.mow_strips import line_hours, pass_count
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.season.settings import SeasonSettings


def list_case_years(plan_choices: pd.DataFrame, plan: PlanSettings) -> pd.DataFrame:
    """Table ``plan_case_years``: the plan and each what-if; nothing where none is asked."""
    if plan_choices.empty or not plan.what_if:
        return empty(PLAN_CASE_YEARS)
    gaps = map(gap_pct, plan_choices["value_usd"], plan_choices["bound_usd"])
    return plan_choices.assign(gap_pct=list(gaps))[PLAN_CASE_YEARS.column_names]


def sum_what_ifs(
    plan_case_years: pd.DataFrame,
    plan_units: pd.DataFrame,
    herd_balance: pd.DataFrame,
    season_settings: SeasonSettings,
    mowing: MowingSettings,
    plan: PlanSettings,
) -> pd.DataFrame:
    """Table ``plan_cases``: each case in one row."""
    if plan_case_years.empty:
        return empty(PLAN_CASES)
    demand = herd_balance["demand_aum"].sum() if len(herd_balance) else None
    own = WhatIf.model_validate({"name": PLANNED_CASE})
    told = {case.name: case for case in (own, *plan.what_if)}
    known = plan_units.set_index("unit_id")
    rows = [
        {
            "case": name,
            "most_burned_pct": told[str(name)].most_burned_pct or plan.most_burned_pct,
            **_work(part, known, mowing),
            **_feed(part, demand, told[str(name)]),
            **dict(_at_the_end(part, known, season_settings.establishment_years)),
            "gap_pct": part["gap_pct"].iloc[0],
        }
        for name, part in plan_case_years.groupby("case", sort=False)
    ]
    return pd.DataFrame(rows)


def _work(
    rows: pd.DataFrame, known: pd.DataFrame, mowing: MowingSettings
) -> dict[str, float | int]:
    """What a case takes in all of its years."""
    late = is_late(rows, rows["unit_id"].map(known["most_years"]))
    line_ft = float(rows["line_ft"].sum())
    passes = pass_count(mowing.mow_width_ft, mowing.mower_width_ft, mowing.overlap_ft)
    return {
        "burned_ac": float(rows["burned_ac"].sum()),
        "burns": int(rows["treatment"].isin(BURN_CODES).sum()),
        "line_ft": line_ft,
        "mower_hours": line_hours(line_ft * passes, mowing.speed_mph, mowing.efficiency_pct),
        "crew_days": float(rows["crew_days"].sum()),
        "cost_usd": float(rows["cost_usd"].sum()),
        "late_unit_years": int(late.sum()),
    }


def _feed(rows: pd.DataFrame, demand_aum: float | None, case: WhatIf) -> dict[str, float | None]:
    """What the herd of a case needs a year, and is short of in all years."""
    if demand_aum is None:
        return {"demand_aum": None, "short_aum": None}
    needs = demand_aum * case.herd_pct / 100.0
    given = rows.groupby("year")["supply_aum"].sum()
    return {"demand_aum": needs, "short_aum": float((needs - given).clip(lower=0).sum())}


def _at_the_end(rows: pd.DataFrame, known: pd.DataFrame, grown: int) -> Iterator[tuple[str, float]]:
    """Shares [percent] of the burnable ground by what stands at the end of the last year."""
    last = rows[rows["year"] == rows["year"].max()].set_index("unit_id")
    places = {unit: _end(last.loc[unit], rows, known.loc[unit], grown) for unit in last.index}
    acres = known.loc[list(places), "burnable_ac"]
    whole = float(acres.sum())
    summed = acres.groupby(pd.Series(places)).sum()
    for place in ("burned", "late", "young", "bare", "untold"):
        share = float(summed.get(place, 0.0)) / whole * 100.0 if whole else 0.0
        yield f"{place}_end_pct", share


def _end(last: pd.Series, rows: pd.DataFrame, known: pd.Series, grown: int) -> str:
    """What stands on a unit after the last year, as far as its work tells."""
    if last["treatment"] == UNDECIDED:
        return "untold"
    if last["treatment"] == "wait":
        return "bare"
    if last["treatment"] in BURN_CODES:
        return "burned"
    if pd.notna(last["years_since_burn"]):
        return "late" if last["years_since_burn"] + 1 > known["most_years"] else "burned"
    own = rows[(rows["unit_id"] == last.name) & rows["treatment"].isin(["seed"])]
    young = len(own) and last["year"] - own["year"].max() < grown
    return "young" if young else "untold"
