"""Findings of the record book: what a record lacks, and plans and records that do not meet."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.units import half_up

KEPT = pd.DateOffset(years=3)
"""Records of so many years are asked for what they lack.

*Source*: South Dakota keeps records of commercial spraying for three years (ARSD 12:56:07), those
of private applicators for two; other states differ.
"""


LACKING = (
    ("burn", "permit", "burn_without_permit", "no permit number"),
    ("spray", "license_no", "spray_without_license", "no license of the applicator"),
    ("spray", "epa_reg_no", "spray_without_registration", "no registration number of the label"),
    ("harvest", "lot", "harvest_without_lot", "no lot"),
)
"""Kind of record, column that is empty, cause, and words for it."""


CODE_BY_OUTCOME = {"not_done": "planned_not_done", "done_unplanned": "done_not_planned"}


def find_records(
    record_book: gpd.GeoDataFrame, plan_records: pd.DataFrame, property: pd.DataFrame
) -> gpd.GeoDataFrame:
    """Findings: records without what is usually asked for, and plans that do not meet records.

    Without a day that the plan is looked at from, the season's year stands for it.
    """
    as_of, season = property["as_of"].iloc[0], property["season"].iloc[0]
    until = pd.Timestamp(int(season), 12, 31) if pd.isna(as_of) else as_of
    # Of a row that is left out that is told, and it is to be mended first.
    is_used = record_book["left_out"].isna()
    kept = record_book[is_used & (record_book["start"] > until - KEPT)]
    newest = plan_records[plan_records["year"] == plan_records["year"].max()]
    findings = [*_lacking(kept), *_plans(newest)]
    return findings_frame(findings, record_book.crs)


def _lacking(kept: gpd.GeoDataFrame) -> Iterator[Finding]:
    """Records that leave out what those who may ask for them usually want."""
    for kind, column, code, words in LACKING:
        for row in kept[kept["kind"].eq(kind) & kept[column].isna()].to_dict("records"):
            yield Finding(
                severity="note",
                source="treatments",
                row=row["number"],
                subject=row["unit_id"],
                code=code,
                amount=row["record_ac"],
                message=f"{kind} of {row['start'].date()}: {words} is written down",
                geometry=row["geometry"],
            )


def _plans(newest: pd.DataFrame) -> Iterator[Finding]:
    """Plans of the newest year of which nothing is on record, and records without a plan."""
    for row in newest.to_dict("records"):
        code = CODE_BY_OUTCOME.get(row["outcome"])
        if code is None:
            continue
        acres = "" if pd.isna(row["record_ac"]) else f", {half_up(row['record_ac'], 1)} ac"
        yield Finding(
            severity="note",
            source="plan_records",
            subject=row["unit_id"],
            code=code,
            amount=row["record_ac"],
            message=f"{row['kind']} of {row['start'].date()}{acres}: no plan has it"
            if code == "done_not_planned"
            else f"{row['kind']} planned for {row['planned_start'].date()} to "
            f"{row['planned_end'].date()}: nothing of it is in the log",
        )
