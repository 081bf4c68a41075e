"""Findings of planned work: what the log has as done, and what it tells of later seasons."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed, natural_key
from pipeline.log.treatment_log import is_later
from pipeline.work.planned import acres_on_record, done_on, work_of_file

MOST_NAMED = 8


def find_planned(
    units: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    seedings: pd.DataFrame,
    usable_log: pd.DataFrame,
    treatment_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    fuel: pd.DataFrame,
    property: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Findings: burns and seedings that are done, and rows of the log that no plan takes up yet."""
    season = int(property["season"].iloc[0])
    findings = []
    records = acres_on_record(treatment_log, units, burned_areas)
    for work in work_of_file(units, burns, seedings, fuel):
        days = done_on(work, records, season)
        for work_id, done in work.assign(done=days).dropna(subset="done").groupby("work_id"):
            findings.append(_done_finding(str(work_id), done))
    if pd.notna(property["as_of"].iloc[0]):
        findings += _later(usable_log[is_later(usable_log, property)], season)
    return findings_frame(findings, units.crs)


def _done_finding(work_id: str, done: pd.DataFrame) -> Finding:
    """Units on which work of the property file is done; what it asked for before is no task."""
    told = sorted(zip(done["unit_id"], done["done"], strict=True), key=lambda p: natural_key(p[0]))
    days = listed([f"{unit} on {day.date()}" for unit, day in told], MOST_NAMED)
    return Finding(
        severity="note",
        source="planned_work",
        subject=work_id,
        code="work_done",
        message=f"the log has it done: {days}. It is planned there no longer: no conflict and no "
        "task is told of it",
    )


def _later(later: pd.DataFrame, season: int) -> Iterator[Finding]:
    """Rows of the log that begin after the year of the season."""
    if later.empty:
        return
    names = [f"{row.kind} of {row.unit_id} {row.start.date()}" for row in later.itertuples()]
    yield Finding(
        severity="note",
        source="treatments",
        code="after_season",
        message=f"rows of the log that begin after {season}, left for a later season: "
        f"{listed(names, MOST_NAMED)}",
    )
