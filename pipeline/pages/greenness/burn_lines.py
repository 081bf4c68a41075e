"""What the chart of a burn shows: readings of its units, and why some references are left out."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.units import half_up
from pipeline.greenness.change_columns import LEFT_OUT
from pipeline.greenness.columns import reason_words
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import earlier_pictures
from pipeline.pages.greenness.accounts import named_in
from pipeline.pages.greenness.slope_chart import Line

Settings = Mapping[str, str]


NO_FIGURES = ("cannot_judge", "seasonal")
"""Verdicts of units that are not put against others."""


LEFT_OUT_WORDS = {
    "unusable": "not usable",
    "handled_otherwise": "grazed, cut, sprayed or sown otherwise",
    "other_cover": "of another cover",
    "lacking_years": "half of its earlier years or more are missing",
    "unlike_start": "it began unlike the burned ground, and enough others began like it",
}
"""Why a reference is left out, by its code."""


def left_out_references(rows: pd.DataFrame, settings: Settings) -> dict[str, str]:
    """References of a comparison that no burned unit is held against, and why each is not.

    A reference that only some of the burned units are held against is not left out.
    """
    burned = rows[(rows["role"] == "burned") & ~rows["verdict"].isin(NO_FIGURES)]
    references = rows[rows["role"] == "reference"]
    used = _named_in_any(burned["references_used"], references["unit_id"])
    found = {}
    for row in references[~used].to_dict("records"):
        why = _why(row["unit_id"], burned)
        own = row["reason"] if why in (None, "unusable") else None
        if pd.notna(own):
            found[str(row["unit_id"])] = reason_words(row, settings["least_full_pixels"])
        elif why == "unusable":
            share = half_up(row["valid_pct"], 0)
            found[str(row["unit_id"])] = f"only {share} percent of it is usable on both dates"
        elif why is not None:
            found[str(row["unit_id"])] = LEFT_OUT_WORDS[why]
    return found


def _named_in_any(cells: pd.Series, unit_ids: pd.Series) -> pd.Series:
    """Which units any of some cells names."""
    named = pd.Series(False, index=unit_ids.index)
    for cell in cells:
        named |= named_in(cell, unit_ids)
    return named


def _why(unit_id: object, burned: pd.DataFrame) -> str | None:
    """Code of why a reference is left out of the burned units that were judged, None for none."""
    for column, code in LEFT_OUT.items():
        if _named_in_any(burned[column], pd.Series([unit_id])).any():
            return code
    return None


def used_though_unlike(rows: pd.DataFrame) -> list[str]:
    """References of another handling or cover that are in the figures of some burned unit."""
    units, found = rows["unit_id"], pd.Series(False, index=rows.index)
    for row in rows[rows["role"] == "burned"].to_dict("records"):
        unlike = _named_in_any(pd.Series([row[column] for column in UNLIKE_COLUMNS]), units)
        found |= unlike & named_in(row["references_used"], units)
    return [str(unit) for unit in units[found]]


UNLIKE_COLUMNS = ("references_handled_otherwise", "references_other_cover")


def burn_lines(
    rows: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    left_out: Mapping[str, str],
    settings: Settings,
) -> tuple[list[pd.Timestamp], list[Line]]:
    """Days of the columns of the chart, and a line for each unit with a reading before or after.

    Earlier years are those that the interval may rest on: pictures near the same day of the year,
    none of a unit in the year after it burned; the mean where a year has several.
    """
    before, after = rows["before"].iloc[0], rows["after"].iloc[0]
    days = settings["most_date_gap_days"]
    used = (
        GreennessSettings(most_date_gap_days=int(days)) if days.isdigit() else GreennessSettings()
    )
    earlier = earlier_pictures(before, rows["unit_id"], zone_scenes, treatment_log, used)
    years = sorted(set(earlier.season), reverse=True)
    means = {year: _season_mean(earlier.ndvi[earlier.season == year]) for year in years}
    years = [year for year in years if np.isfinite(means[year]).any()]
    earlier_days = [min(earlier.dates[earlier.season == year]) for year in years]
    lines = []
    for number, row in enumerate(rows.to_dict("records")):
        values = (*(means[y][number] for y in years), row["before_mean"], row["after_mean"])
        role = "left_out" if row["unit_id"] in left_out else row["role"]
        if not np.isnan(np.array(values[-2:], dtype=float)).all():
            lines.append(Line(str(row["unit_id"]), role, tuple(map(float, values))))
    return [*earlier_days, before, after], lines


def _season_mean(ndvi: np.ndarray) -> np.ndarray:
    """Mean of the pictures of a year for each unit, NaN where it has none."""
    seen = np.isfinite(ndvi)
    count, total = seen.sum(axis=0), np.where(seen, ndvi, 0.0).sum(axis=0)
    return np.divide(total, count, out=np.full(len(count), np.nan), where=count > 0)


def burn_days(rows: pd.DataFrame, treatment_log: pd.DataFrame) -> dict[str, Any]:
    """First day of each burned unit's last burn between the two pictures."""
    own = rows.loc[rows["role"] == "burned", ["unit_id", "before", "after"]]
    burns = treatment_log.loc[treatment_log["kind"] == "burn", ["unit_id", "start"]]
    both = own.merge(burns, on="unit_id")
    meant = both[(both["start"] > both["before"]) & (both["start"] < both["after"])]
    return {str(unit): day for unit, day in meant.groupby("unit_id")["start"].max().items()}
