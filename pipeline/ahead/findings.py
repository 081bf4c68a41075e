"""Findings of the plan of years: what a person should look at before following it."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.ahead.build import caps_ac
from pipeline.ahead.search.solver import solver_at_hand
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.totals import BURN_CODES, is_late
from pipeline.ahead.treatments import UNDECIDED
from pipeline.ahead.words import CODE_WORDS, NO_BURN_WORDS, REASON_WORDS
from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up

FEW_WEATHER_YEARS = 10
"""Fewer years of weather than this tell little about odds. Common practice, no source."""


MANY_LATE_YEARS = 3
"""Years past its longest return from which on a unit is told. Judgment of this program."""


def find_plan_of_years(
    units: gpd.GeoDataFrame,
    plan_years: gpd.GeoDataFrame,
    plan_units: pd.DataFrame,
    plan_edges: pd.DataFrame,
    plan_totals: pd.DataFrame,
    plan_summary: pd.DataFrame,
    former_plan: pd.DataFrame,
    planned_work: pd.DataFrame,
    plan: PlanSettings,
) -> gpd.GeoDataFrame:
    """Findings of the plan of years, unit by unit and year by year."""
    if plan_years.empty:
        return findings_frame([], units.crs)
    rows = pd.DataFrame(plan_years.drop(columns="geometry"))
    acres = dict(zip(plan_units["unit_id"], plan_units["burnable_ac"], strict=True))
    findings = [
        *_undecided(rows, plan_units),
        *_broken(rows, acres),
        *_over_cap(plan_totals, rows, plan_units, plan),
        *_alone(rows, plan_edges, acres, plan),
        *_late(rows, plan_units),
        *_smoke(rows, plan_units, acres),
        *_short(plan_totals),
        *_unsown(rows, plan_summary, acres),
        *_not_kept(former_plan, rows),
        *_left_out(planned_work, rows),
        *_evidence(plan_totals, plan),
    ]
    return findings_frame(findings, units.crs)


def _undecided(rows: pd.DataFrame, plan_units: pd.DataFrame) -> Iterator[Finding]:
    """Units that not enough is known of to choose all their years."""
    open_years = rows[rows["treatment"] == UNDECIDED].groupby("unit_id").size()
    for unit in plan_units[plan_units["unit_id"].isin(open_years.index)].itertuples():
        yield Finding(
            severity="note",
            code="plan_undecided",
            source="plan",
            subject=unit.unit_id,
            message=f"{open_years[unit.unit_id]} of {rows['year'].nunique()} years ahead are "
            f"undecided, {REASON_WORDS[unit.undecided_by]}",
            amount=unit.burnable_ac,
        )


def _broken(rows: pd.DataFrame, acres: dict[str, float]) -> Iterator[Finding]:
    """Settled years that break a rule."""
    for row in rows.dropna(subset=["breaks_rule"]).itertuples():
        choice = CODE_WORDS.get(row.treatment, row.treatment)
        yield Finding(
            severity="warning",
            code="fixed_breaks_rule",
            source="plan",
            subject=row.unit_id,
            message=f"in {row.year}: {choice}; breaks a rule of the plan: "
            f"{NO_BURN_WORDS[row.breaks_rule]}",
            amount=acres[row.unit_id],
        )


def _over_cap(
    plan_totals: pd.DataFrame, rows: pd.DataFrame, plan_units: pd.DataFrame, plan: PlanSettings
) -> Iterator[Finding]:
    """Years whose burns, being settled, go beyond a cap or the crew."""
    caps, covers = caps_ac(plan_units, plan), plan_units.set_index("unit_id")["cover"]
    for total in plan_totals.itertuples():
        of_year = rows[rows["year"] == total.year]
        for name, most_ac in caps.items():
            inside = of_year if not name else of_year[of_year["unit_id"].map(covers) == name]
            burned_ac = inside["burned_ac"].sum()
            if burned_ac > most_ac + 1e-6:
                found = f"{half_up(burned_ac, 1)} ac of {name or 'all ground'}"
                yield _over(total.year, found, f"{half_up(most_ac, 1)} ac")
        if plan.crew_days is not None and total.crew_days > plan.crew_days + 1e-6:
            yield _over(total.year, f"{total.crew_days:g} crew days", f"{plan.crew_days:g}")
        if plan.money_usd is not None and total.cost_usd > plan.money_usd + 0.01:
            yield _over(total.year, f"{half_up(total.cost_usd, 0)} $", f"{plan.money_usd:g} $")


def _over(year: int, found: str, most: str) -> Finding:
    """A year beyond a limit."""
    return Finding(
        severity="warning",
        code="fixed_over_cap",
        source="plan",
        subject=str(year),
        message=f"settled burns come to {found}, more than {most}",
    )


def _alone(
    rows: pd.DataFrame, plan_edges: pd.DataFrame, acres: dict[str, float], plan: PlanSettings
) -> Iterator[Finding]:
    """Units planned to burn that have no neighbor at all."""
    both = plan_edges.dropna(subset=["neighbor"])
    beside = {*both["unit_id"], *both["neighbor"]}
    burned = rows[rows["treatment"].isin(BURN_CODES)]
    for unit_id, of_unit in burned[~burned["unit_id"].isin(beside)].groupby("unit_id"):
        if plan.refuge != "none":
            yield Finding(
                severity="note",
                code="no_neighbor",
                source="plan",
                subject=str(unit_id),
                message=f"burns in {listed(of_unit['year'].astype(str).tolist())}; no unit lies "
                "along its edge, so none stays unburned beside it",
                amount=acres[str(unit_id)],
            )


def _late(rows: pd.DataFrame, plan_units: pd.DataFrame) -> Iterator[Finding]:
    """Units that stay past their longest return for years, and what they get instead."""
    known = plan_units.set_index("unit_id")
    late = rows[is_late(rows, rows["unit_id"].map(known["most_years"]))]
    for unit_id, of_unit in late.groupby("unit_id"):
        if len(of_unit) >= MANY_LATE_YEARS:
            reason, bar = (
                words[of_unit[name].value_counts().index[0]]
                for name, words in (("reason", REASON_WORDS), ("no_burn_by", NO_BURN_WORDS))
            )
            yield Finding(
                severity="note",
                code="plan_late",
                source="plan",
                subject=str(unit_id),
                message=f"{len(of_unit)} of {rows['year'].nunique()} years past its longest return "
                f"of {known.loc[unit_id, 'most_years']} years without a burn; in most: "
                f"{reason}; what keeps it from burning: {bar}",
                amount=known.loc[unit_id, "burnable_ac"],
            )


def _smoke(
    rows: pd.DataFrame, plan_units: pd.DataFrame, acres: dict[str, float]
) -> Iterator[Finding]:
    """Burns on units whose smoke met a place on each past day."""
    closed = set(plan_units.loc[plan_units["smoke_closed"].fillna(False), "unit_id"])
    burned = rows[rows["treatment"].isin(BURN_CODES) & rows["unit_id"].isin(closed)]
    for unit_id, of_unit in burned.groupby("unit_id"):
        yield Finding(
            severity="warning",
            code="plan_smoke",
            source="plan",
            subject=str(unit_id),
            message="the plan of years burns it in "
            f"{listed(of_unit['year'].astype(str).tolist())}; no past day within the weather "
            "limits had a wind that keeps its smoke off the places named",
            amount=acres[str(unit_id)],
        )


def _short(plan_totals: pd.DataFrame) -> Iterator[Finding]:
    """Years in which the herd is short of feed."""
    for total in plan_totals[plan_totals["short_aum"] > 0.05].itertuples():
        yield Finding(
            severity="note",
            code="plan_herd_short",
            source="plan",
            subject=str(total.year),
            message=f"the herd needs {half_up(total.demand_aum, 1)} AUM and is given "
            f"{half_up(total.supply_aum, 1)}",
            amount=total.short_aum,
        )


def _unsown(
    rows: pd.DataFrame, plan_summary: pd.DataFrame, acres: dict[str, float]
) -> Iterator[Finding]:
    """Fields that wait in all years, and how far own seed goes."""
    sown_ac = half_up(plan_summary["own_seed_ac"].iloc[0], 1)
    waits = rows["treatment"].eq("wait").groupby(rows["unit_id"]).all()
    for unit_id in waits.index[waits]:
        yield Finding(
            severity="note",
            code="plan_seed_short",
            source="plan",
            subject=str(unit_id),
            message=f"waits for seed in all years: own seed sows {sown_ac} ac a year of its "
            f"{half_up(acres[str(unit_id)], 1)} ac",
            amount=acres[str(unit_id)],
        )


def _not_kept(former_plan: pd.DataFrame, rows: pd.DataFrame) -> Iterator[Finding]:
    """Units of the former plan that are no more, or of which it has none of the years ahead."""
    ahead = set(zip(rows["unit_id"], rows["year"], strict=True))
    for unit_id, of_unit in former_plan.groupby("unit_id"):
        if not ahead & set(zip(of_unit["unit_id"], of_unit["year"], strict=True)):
            yield Finding(
                severity="note",
                code="former_not_kept",
                source="plan",
                subject=str(unit_id),
                message=f"nothing of its former plan is ahead; years told: {len(of_unit)}",
            )


def _left_out(planned_work: pd.DataFrame, rows: pd.DataFrame) -> Iterator[Finding]:
    """Burns planned for the season that the plan of years has not: their ground counts as unburned.

    A fixed year says otherwise, they take less than half of the unit, or begin before its years.
    """
    burned = rows[rows["treatment"].isin(BURN_CODES)]
    counted = set(zip(burned["unit_id"], burned["year"], strict=True))
    burns = planned_work[planned_work["kind"] == "burn"]
    years = burns["first_day"].dt.year.fillna(rows["year"].min()).astype(int)
    for unit_id, year, acres in zip(burns["unit_id"], years, burns["work_ac"], strict=True):
        if (unit_id, year) not in counted:
            yield Finding(
                severity="warning",
                code="burn_not_in_years",
                source="plan",
                subject=unit_id,
                message=f"a burn is planned for {year} that the plan of years does not have",
                amount=acres,
            )


def _evidence(plan_totals: pd.DataFrame, plan: PlanSettings) -> Iterator[Finding]:
    """What the odds and the bound rest on."""
    years = plan_totals["weather_years"].dropna()
    if len(years) and years.min() < FEW_WEATHER_YEARS:
        yield Finding(
            severity="note",
            code="plan_weather_few",
            source="plan",
            message=f"whether a year's burns fit the crew rests on weather of {years.min()} "
            f"year{'' if years.min() == 1 else 's'}",
        )
    if plan.proof_seconds and not solver_at_hand():
        yield Finding(
            severity="warning",
            code="no_solver",
            source="plan",
            message="proof_seconds asks for the solver, which is not installed",
        )
