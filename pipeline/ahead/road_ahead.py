"""Where each unit would stand on the road if every choice of the plan were done.

The rules of the road are walked on through the work of the plan, as they are walked through the
log. What the work grows nobody knows: no survey and no greenness is foreseen, so what only these
can show never comes.
"""

from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.ahead.sum_layers import PLAN_ROAD, PLAN_STATES
from pipeline.ahead.treatments import CODES, TREATMENTS, UNDECIDED, treatment_days
from pipeline.core.layer import empty
from pipeline.log.days import day_of
from pipeline.season.road.layers import EVENTS, STATES
from pipeline.season.road.moves import walk_roads
from pipeline.season.settings import HerdSettings, SeasonSettings

MIDSUMMER = "07-01"
"""Day of work that takes no days of its own: a rest is one of the growing season."""


def walk_ahead(
    units: gpd.GeoDataFrame,
    plan_choices: pd.DataFrame,
    road_records: pd.DataFrame,
    road_rules: pd.DataFrame,
    season_settings: SeasonSettings,
    herd: HerdSettings,
) -> pd.DataFrame:
    """Table ``plan_road``: state of each unit at the end of each year, case by case."""
    if plan_choices.empty:
        return empty(PLAN_ROAD)
    rows: list[dict[str, object]] = []
    for case, chosen in plan_choices.groupby("case", sort=False):
        ahead = pd.DataFrame(_events(chosen, road_records, season_settings, herd))
        records = pd.concat([road_records, ahead.reindex(columns=road_records.columns)])
        records = records.assign(place=records["event"].map(EVENTS.index)).sort_values(
            ["unit_id", "day", "place"], kind="stable"
        )
        moves = walk_roads(units, records, road_rules)
        years = sorted(chosen["year"].unique())
        for unit_id, of_unit in moves.groupby("unit_id"):
            told = _states(of_unit.to_dict("records"), years)
            rows += [{"case": case, "unit_id": unit_id} | row for row in told]
    return pd.DataFrame(rows, columns=PLAN_ROAD.column_names)


def _events(
    chosen: pd.DataFrame, road_records: pd.DataFrame, season: SeasonSettings, herd: HerdSettings
) -> Iterator[dict[str, object]]:
    """Work of the plan and ends of its years as records; what is on record already is left out."""
    known = set(
        zip(
            road_records["unit_id"], road_records["event"], road_records["day"].dt.year, strict=True
        )
    )
    ends = road_records.loc[road_records["event"] == "year_end", "day"]
    first = ends.max().year + 1 if len(ends) else int(chosen["year"].min())
    for unit_id in chosen["unit_id"].unique():
        for year in range(first, int(chosen["year"].max()) + 1):
            yield {"unit_id": unit_id, "event": "year_end", "day": pd.Timestamp(year, 12, 31)}
    for row in chosen[~chosen["treatment"].isin([UNDECIDED, "wait"])].itertuples():
        treatment = TREATMENTS[CODES.index(row.treatment)]
        if (row.unit_id, treatment.kind, row.year) not in known:
            days = treatment_days(treatment, row.year, season, herd)
            day = days[0] if days else day_of(row.year, MIDSUMMER)
            yield {"unit_id": row.unit_id, "event": treatment.kind, "day": day, "share_pct": 100.0}


def _states(moves: list[dict[Any, Any]], years: list[int]) -> Iterator[dict[str, object]]:
    """State of a unit at the end of each year, and the rule where it moved in the year."""
    newest, ahead = moves[0], moves[1:]
    for year in years:
        while ahead and ahead[0]["day"].year <= year:
            newest, ahead = ahead[0], ahead[1:]
        row = {"year": year, "state": newest["to_state"]}
        if pd.notna(newest["day"]) and newest["day"].year == year:
            row |= {name: newest[name] for name in ("event", "rule", "reason", "source")}
        yield row


def sum_states(plan_road: pd.DataFrame, plan_units: pd.DataFrame) -> pd.DataFrame:
    """Table ``plan_states``: shares of the ground by state, today and at the end of each case."""
    if plan_road.empty:
        return empty(PLAN_STATES)
    acres = plan_units.set_index("unit_id")["burnable_ac"]
    today = acres.groupby(plan_units.set_index("unit_id")["state"]).sum()
    rows = []
    for case, road in plan_road[plan_road["year"] == plan_road["year"].max()].groupby(
        "case", sort=False
    ):
        end = acres.groupby(road.set_index("unit_id")["state"]).sum()
        rows += [
            {
                "case": case,
                "state": state,
                "today_pct": 100.0 * today.get(state, 0.0) / (acres.sum() or 1.0),
                "end_pct": 100.0 * end.get(state, 0.0) / (acres.sum() or 1.0),
            }
            for state in STATES
            if state in today.index or state in end.index
        ]
    return pd.DataFrame(rows)
