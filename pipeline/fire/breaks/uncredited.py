"""Breaks that run along an edge and are not credited: how far, and why not."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.break_lines import break_cover
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.words import feet_words
from pipeline.ground.intervals import joined
from pipeline.ground.overlays import united


def cover_beside(
    lines: np.ndarray, breaks: gpd.GeoSeries, settings: FirebreakSettings
) -> pd.DataFrame:
    """Parts of lines along breaks: line, from and to [m] along it, and place of the break."""
    cover = break_cover(
        lines,
        breaks,
        along_m=settings.along_ft * M_PER_FT,
        angle_deg=settings.angle_deg,
        smoothing_m=settings.smoothing_ft * M_PER_FT,
    )
    parts = {"line": cover.line, "start_m": cover.start_m, "end_m": cover.end_m, "row": cover.row}
    return pd.DataFrame(parts)


def covered_ft(parts: pd.DataFrame, count: int) -> np.ndarray:
    """Length [ft] of each of so many lines in those parts, what several cover once."""
    feet = np.zeros(count)
    for number, mine in parts.groupby("line"):
        runs = joined(zip(mine["start_m"].tolist(), mine["end_m"].tolist(), strict=True))
        feet[number] = sum(end - start for start, end in runs) / M_PER_FT
    return feet


def find_uncredited(
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    firebreaks: gpd.GeoDataFrame,
    settings: FirebreakSettings,
) -> Iterator[Finding]:
    """Hazards along any edge, and along edges without a credited break what does not serve."""
    idle = break_credits[~break_credits["serves"].astype(bool)].reset_index(drop=True)
    shapes = breaks.geometry[~break_credits["serves"].to_numpy(bool)]
    parts = cover_beside(firebreaks.geometry.to_numpy(), shapes, settings)
    prepared = firebreaks["status"].to_numpy() != "existing"
    for kind, mine in idle.groupby("kind"):
        code, severity, why = _told(mine.iloc[0], settings)
        feet = covered_ft(parts[parts["row"].isin(mine.index)], len(firebreaks))
        close = (feet > 0) & (prepared | code.endswith("along_break"))
        if close.any():
            yield Finding(
                severity=severity,
                source="firebreaks",
                subject=listed(sorted(set(firebreaks.loc[close, "block"]))),
                message=f"{kind} along about {feet_words(feet[close].sum())} of edge: {why}",
                code=code,
                amount=feet[close].sum(),
                geometry=shapely.line_merge(united(firebreaks.geometry.to_numpy()[close])),
            )


def _told(row: pd.Series, settings: FirebreakSettings) -> tuple[str, str, str]:
    """Code and severity of what is told of a break that does not serve, and why it does not."""
    if pd.isna(row["break_kind"]):
        why = (
            "nothing is known of this kind and it is not credited; say what it is in kind under "
            "[[sources.breaks]], or put its words to the table [sources.break_kinds]"
        )
        return "break_kind_unknown", "warning", why
    if pd.notna(row["credited_as"]):
        why = f"not credited, roads_as_breaks = {settings.roads_as_breaks}"
        return "road_not_credited", "note", why
    if pd.isna(row["hazard"]):
        return "break_not_credited", "note", f"not credited: {row['break_kind']} stops no fire"
    code = "fence_along_break" if row["break_class"] == "fence" else "hazard_along_break"
    return code, "warning", f"{row['hazard']}; it stops no fire"
