"""Findings of the road of recovery: where the record contradicts itself, or stands still."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.units import half_up
from pipeline.season.road.records import ROW, TAKES_FUEL
from pipeline.season.settings import SeasonSettings

LONG_YEARS = 3
"""Years after which a burn that nobody looked at is told. Common practice, no source."""


def find_road(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    road: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Findings of the road: contradictions of log, map and surveys, and burns not looked at."""
    acres = dict(zip(units["unit_id"], units["gross_ac"], strict=True))
    covers = dict(zip(units["unit_id"], units["cover"], strict=True))
    year = int(property["season"].iloc[0]) - 1
    findings = [
        *_rests_used(treatment_log, acres, settings.whole_unit_pct),
        *_rows_twice(treatment_log),
        *_covers(road, covers, acres),
        *_not_looked_at(road, year, acres),
        *_parts(road, acres),
    ]
    return findings_frame(findings, units.crs)


def _rests_used(
    treatment_log: pd.DataFrame, acres: dict[str, float], whole_unit_pct: float
) -> Iterator[Finding]:
    """Rests on record within which the greater part of the unit was used."""
    rests = treatment_log[treatment_log["kind"] == "rest"]
    uses = treatment_log[treatment_log["kind"].isin(TAKES_FUEL)]
    least_ac = uses["unit_id"].map(acres).astype("float64") * whole_unit_pct / 100.0
    uses = uses[~(uses["acres_treated_ac"].astype("float64") < least_ac)]
    both = rests.merge(uses, on="unit_id", suffixes=("", "_of_use"))
    inside = both[(both["start_of_use"] <= both["end"]) & (both["end_of_use"] >= both["start"])]
    for row in inside.drop_duplicates(["unit_id", "start"]).itertuples(index=False):
        yield Finding(
            severity="warning",
            code="rest_and_use",
            source="treatments",
            subject=row.unit_id,
            message=f"rest from {row.start:%Y-%m-%d} to {row.end:%Y-%m-%d}, and {row.kind_of_use} "
            f"from {row.start_of_use:%Y-%m-%d} within it",
            amount=acres[row.unit_id],
        )


def _rows_twice(treatment_log: pd.DataFrame) -> Iterator[Finding]:
    """Rows that tell the same work; two herds of one day are told too, for they may be right."""
    again = treatment_log[treatment_log.duplicated(ROW)]
    for row in again.drop_duplicates(ROW).itertuples(index=False):
        yield Finding(
            severity="warning",
            code="row_twice",
            source="treatments",
            subject=row.unit_id,
            message=f"{row.kind} from {row.start:%Y-%m-%d} stands twice in the log",
        )


def _covers(
    road: pd.DataFrame, covers: dict[str, str | None], acres: dict[str, float]
) -> Iterator[Finding]:
    """Units that the map calls cropland though something grows there, or the other way round."""
    for row in road.itertuples(index=False):
        cover = covers[row.unit_id]
        cropland = cover is not None and "crop" in cover.casefold()
        if cropland == (row.state == "cropped"):
            continue
        yield Finding(
            severity="note",
            code="cover_against_record",
            source="units",
            subject=row.unit_id,
            message=f'the map says "{cover or "nothing"}"; by {row.moved_by} it is '
            f"{row.state.replace('_', ' ')}",
            amount=acres[row.unit_id],
        )


def _not_looked_at(road: pd.DataFrame, year: int, acres: dict[str, float]) -> Iterator[Finding]:
    """Units that wait for what a burn showed, though nobody looked."""
    waits = road[(road["state"] == "waiting") & road["since"].notna()]
    for row in waits.itertuples(index=False):
        looked = pd.notna(row.surveyed) and row.surveyed >= row.since
        if not looked and year - row.since.year >= LONG_YEARS:
            yield Finding(
                severity="warning",
                code="burn_not_looked_at",
                source="plants",
                subject=row.unit_id,
                message=f"has waited since the burn of {row.since:%Y-%m-%d} for what came up: "
                "no survey since",
                amount=acres[row.unit_id],
            )


def _parts(road: pd.DataFrame, acres: dict[str, float]) -> Iterator[Finding]:
    """Units of which a part was treated on its own."""
    for row in road[road["part_on"].notna()].itertuples(index=False):
        yield Finding(
            severity="note",
            code="part_only",
            source="treatments",
            subject=row.unit_id,
            message=f"{row.part_done.removeprefix('part_')} of {row.part_on:%Y-%m-%d} took "
            f"{half_up(row.part_pct, 0)} % of the unit: the state is that of the rest",
            amount=acres[row.unit_id] * row.part_pct / 100.0,
        )
