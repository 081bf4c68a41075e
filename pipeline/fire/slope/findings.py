"""What a person should look at on a slope: heads of slopes, ground too steep for the machines."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.fire.slope.settings import SlopeSettings
from pipeline.fire.words import feet_words
from pipeline.ground.overlays import united

LEAST_FT = 10.0
"""Shorter pieces are below what heights 10 m apart can tell."""

LEAST_PCT = 0.5
"""Shares of a unit below this round to nothing."""


def find_slopes(
    units: gpd.GeoDataFrame,
    seedings: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    unit_slopes: pd.DataFrame,
    break_slopes: gpd.GeoDataFrame,
    settings: SlopeSettings,
) -> gpd.GeoDataFrame:
    """Findings of the slope steps: one a block or unit, with its total."""
    findings = [
        *_unknown_heights(unit_slopes),
        *_heads_of_slopes(break_slopes, settings),
        *_too_steep_to_mow(firebreaks, break_slopes, settings),
        *_too_steep_to_drill(seedings, units, unit_slopes, settings),
    ]
    return findings_frame(findings, units.crs)


def _unknown_heights(unit_slopes: pd.DataFrame) -> Iterator[Finding]:
    """One finding on the units that the heights do not cover, or not wholly."""
    part = unit_slopes[unit_slopes["known_pct"] < 100.0 - LEAST_PCT]
    if part.empty:
        return
    if not unit_slopes["known_pct"].any():
        message = "no height is known on any unit: is it the raster of this place? Slopes are empty"
        yield Finding(
            severity="warning", source="elevation", message=message, code="heights_unknown"
        )
        return
    shares = [f"{row.unit_id} ({half_up(row.known_pct, 0)} %)" for row in part.itertuples()]
    yield Finding(
        severity="warning",
        source="elevation",
        subject=listed(part["unit_id"]),
        message=f"heights cover only part of {listed(shares)}: slopes are those of that part",
        code="heights_unknown",
    )


def _heads_of_slopes(break_slopes: gpd.GeoDataFrame, settings: SlopeSettings) -> Iterator[Finding]:
    """Blocks with edges at the head of a slope; shared edges are told for each side."""
    own = break_slopes.rename(columns={"rise_pct": "rise", "uphill_ft": "feet"})
    other = break_slopes.assign(block=break_slopes["neighbor_block"]).rename(
        columns={"neighbor_rise_pct": "rise", "neighbor_uphill_ft": "feet"}
    )
    columns = ["block", "rise", "feet", "geometry"]
    both = pd.concat([own[columns], other[columns]]) if len(own) else own[columns]
    for block, rows in both[both["feet"] > 0].groupby("block", sort=True):
        if rows["feet"].sum() < LEAST_FT:
            continue
        message = (
            f"{feet_words(rows['feet'].sum())} of edge lie at the head of a slope of "
            f"{half_up(settings.steep_pct, 0)} % or more (up to {half_up(rows['rise'].max(), 0)} "
            f"% over the last {feet_words(settings.run_ft)}): fire runs faster uphill, and no "
            "published rule says how much wider a break must be there; widths are unchanged"
        )
        yield _of_block("head_of_slope", str(block), message, rows["feet"].sum(), rows.geometry)


def _too_steep_to_mow(
    firebreaks: gpd.GeoDataFrame, break_slopes: gpd.GeoDataFrame, settings: SlopeSettings
) -> Iterator[Finding]:
    """Blocks with edges to be mown on ground above the mower's limit."""
    mown = firebreaks.loc[firebreaks["make_mown_ft"] > 0, "break_id"]
    steep = break_slopes[break_slopes["break_id"].isin(mown) & (break_slopes["over_mower_ft"] > 0)]
    for block, rows in steep.groupby("block", sort=True):
        if rows["over_mower_ft"].sum() < LEAST_FT:
            continue
        message = (
            f"{feet_words(rows['over_mower_ft'].sum())} of edge to be mown lie on ground above "
            f"the mower's limit of {half_up(settings.mower_limit_pct, 0)} %: prepare them "
            "another way, or move the line"
        )
        steep_ft = rows["over_mower_ft"].sum()
        yield _of_block("too_steep_to_mow", str(block), message, steep_ft, rows.geometry)


def _too_steep_to_drill(
    seedings: pd.DataFrame,
    units: gpd.GeoDataFrame,
    unit_slopes: pd.DataFrame,
    settings: SlopeSettings,
) -> Iterator[Finding]:
    """Units to be drilled this season with ground above the drill's limit."""
    drilled = seedings.loc[seedings["method"] == "drill", "unit_id"]
    steep = unit_slopes["unit_id"].isin(drilled) & (unit_slopes["over_drill_pct"] >= LEAST_PCT)
    gross_ac = units.set_index("unit_id")["gross_ac"]
    for row in unit_slopes[steep].itertuples():
        message = (
            f"{half_up(row.over_drill_pct, 0)} % of the unit is steeper than the drill's limit of "
            f"{half_up(settings.drill_limit_pct, 0)} %: broadcast there"
        )
        yield Finding(
            severity="warning",
            source="elevation",
            subject=row.unit_id,
            message=message,
            code="too_steep_to_drill",
            amount=gross_ac[row.unit_id] * row.over_drill_pct / 100,
        )


def _of_block(
    code: str, block: str, message: str, length_ft: float, lines: gpd.GeoSeries
) -> Finding:
    """A warning on stretches of a block, with their length [ft] and lines."""
    return Finding(
        severity="warning",
        source="firebreaks",
        subject=block,
        message=message,
        code=code,
        amount=length_ft,
        geometry=shapely.line_merge(united(lines.to_numpy())),
    )
