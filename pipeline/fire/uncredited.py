"""Breaks that run along an edge and are not credited: how far, and why not."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import M_PER_FT
from pipeline.fire.break_lines import break_cover
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.words import feet_words
from pipeline.ground.intervals import joined


def feet_beside(
    lines: np.ndarray, breaks: gpd.GeoSeries, settings: FirebreakSettings
) -> np.ndarray:
    """Length [ft] of each line that runs along any of the breaks, what several cover once."""
    cover = break_cover(
        lines,
        breaks,
        along_m=settings.along_ft * M_PER_FT,
        angle_deg=settings.angle_deg,
        smoothing_m=settings.smoothing_ft * M_PER_FT,
    )
    feet = np.zeros(len(lines))
    for number in np.unique(cover.line):
        mine = cover.line == number
        runs = joined(zip(cover.start_m[mine].tolist(), cover.end_m[mine].tolist(), strict=True))
        feet[number] = sum(end - start for start, end in runs) / M_PER_FT
    return feet


def find_uncredited(
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
) -> Iterator[Finding]:
    """Hazards along any edge, and along edges without a credited break what does not serve."""
    bare = firebreaks[firebreaks["status"] != "existing"]
    for (kind, hazard), mine in break_credits.groupby(["kind", "hazard"], dropna=False):
        shapes = breaks.geometry.iloc[mine.index]
        row = mine.iloc[0]
        if pd.notna(hazard) and pd.isna(row["credited_as"]):
            code = "fence_along_break" if row["break_class"] == "fence" else "hazard_along_break"
            why = f"{hazard}; it stops no fire"
            yield from _along(code, "warning", firebreaks, shapes, kind, why, settings)
        elif pd.isna(row["break_kind"]):
            why = (
                "nothing is known of this kind and it is not credited; say what it is in kind "
                "under [[sources.breaks]], or put its words to the table [sources.break_kinds]"
            )
            yield from _along("break_kind_unknown", "warning", bare, shapes, kind, why, settings)
        elif pd.isna(row["credited_as"]):
            why = f"not credited: {row['break_kind']} stops no fire"
            yield from _along("break_not_credited", "note", bare, shapes, kind, why, settings)
        elif not row["serves"]:
            why = f"not credited, roads_as_breaks = {settings.roads_as_breaks}"
            yield from _along("road_not_credited", "note", bare, shapes, kind, why, settings)


def _along(
    code: str,
    severity: str,
    firebreaks: gpd.GeoDataFrame,
    breaks: gpd.GeoSeries,
    kind: str,
    why: str,
    settings: FirebreakSettings,
) -> Iterator[Finding]:
    """One finding of all breaks of a kind, where they run along edges at all."""
    feet = feet_beside(firebreaks.geometry.to_numpy(), breaks, settings)
    close = feet > 0
    if close.any():
        yield Finding(
            severity=severity,
            source="firebreaks",
            subject=listed(sorted(set(firebreaks.loc[close, "block"]))),
            message=f"{kind} along about {feet_words(feet.sum())} of edge: {why}",
            code=code,
            geometry=shapely.line_merge(shapely.union_all(firebreaks.geometry.to_numpy()[close])),
        )
