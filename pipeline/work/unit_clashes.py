"""What is known of a unit, or planned on it too, that stands against planned work."""

from collections.abc import Iterator, Mapping
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.season.limits import nesting_of_state
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import SeasonSettings
from pipeline.work.clashes import Clash, bounds_of, clashes_frame
from pipeline.work.layers import UNIT_CLASHES
from pipeline.work.limit_clashes import limit_clashes, nesting_clashes, plan_clashes
from pipeline.work.pair_clashes import pair_clashes, sprayed_clashes
from pipeline.work.planned import WHOLE_SHARE

Row = Mapping[Any, Any]


SAID_BEFORE = {
    "plan_asks_first": {"species_limit", "contract_limit", "easement_limit", "cultural_limit"},
    "plan_otherwise": {"young_seeding_burned", "young_seeding_grazed"},
}
"""What a clash with the plan's option would only say again."""


def find_unit_clashes(
    planned_work: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    held_limits: pd.DataFrame,
    nesting_seasons: pd.DataFrame,
    season_plan: gpd.GeoDataFrame,
    season_options: gpd.GeoDataFrame,
    past_work: pd.DataFrame,
    history: gpd.GeoDataFrame,
    conflict_rules: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
    aims: AimsSettings,
) -> gpd.GeoDataFrame:
    """Layer ``unit_clashes``: planned work held against limits, seasons, the plan, other work."""
    bounds, as_of = bounds_of(conflict_rules), property["as_of"].iloc[0]
    nesting = nesting_of_state(nesting_seasons, property)
    plans = {row["unit_id"]: row for row in season_plan.to_dict("records")}
    options = {unit: rows.to_dict("records") for unit, rows in season_options.groupby("unit_id")}
    young = past_work.set_index("unit_id")["years_since_seeding"]
    known = {row["unit_id"]: row for row in history.to_dict("records")}
    gross = planned_work["unit_id"].map(units.set_index("unit_id")["gross_ac"])
    told = planned_work.drop(columns="geometry").assign(
        gross_ac=gross, whole_unit=planned_work["work_ac"] >= WHOLE_SHARE * gross
    )
    clashes: list[Clash] = []
    for unit_id, rows in told.groupby("unit_id", sort=True):
        works = rows.to_dict("records")
        for work in works:
            others = [other for other in works if other["work_id"] != work["work_id"]]
            found = [
                *limit_clashes(work, held_limits),
                *_without_fire(work, aims),
                *nesting_clashes(work, nesting),
                *_on_record(work, known[unit_id], young.get(unit_id), bounds),
                *pair_clashes(work, others, bounds),
                *_over(work, as_of),
            ]
            codes = {clash["code"] for clash in found}
            found += [
                clash
                for clash in plan_clashes(
                    work, plans.get(unit_id), options.get(unit_id, ()), settings
                )
                if not codes & SAID_BEFORE.get(clash["code"], set())
            ]
            at = Clash(work_id=work["work_id"], unit_id=str(unit_id))
            clashes += [at | clash for clash in found]
    return clashes_frame(clashes, UNIT_CLASHES, planned_work.crs)


def _without_fire(work: Row, aims: AimsSettings) -> Iterator[Clash]:
    """A burn where the owner says that fire is not possible."""
    ruled_out = not aims.fire_possible or work["unit_id"] in aims.no_fire_units
    if work["kind"] == "burn" and ruled_out:
        yield Clash(code="fire_ruled_out")


def _on_record(
    work: Row, history: Row, years: float | None, bounds: Mapping[str, float]
) -> Iterator[Clash]:
    """A young field, sown so many ``years`` ago, and sprayings that the log has for the unit."""
    kind = work["kind"]
    code = {"burn": "young_seeding_burned", "graze": "young_seeding_grazed"}.get(kind)
    if code and years is not None and pd.notna(years) and years < bounds[code]:
        yield Clash(code=code, figure=float(years), day=history["last_seeded"])
    if kind == "seed" and pd.notna(history["last_sprayed"]):
        sprayed = history["last_sprayed"]
        yield from sprayed_clashes(work, sprayed, sprayed, "spraying on record", bounds)


def _over(work: Row, as_of: pd.Timestamp) -> Iterator[Clash]:
    """Days that are over on the day the plan is looked at from, and nothing done is on record."""
    if work["last_day"] < as_of:
        yield Clash(code="days_are_over", day=work["last_day"], bound_day=as_of)
