"""Dry load of each unit from clip plots, pole readings or a stated figure."""

import math

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.student_t import t_multiplier
from pipeline.core.units import G_PER_LB, SQFT_PER_AC
from pipeline.log.days import day_of
from pipeline.season.fuel.layers import STANDING
from pipeline.season.fuel.settings import FuelSettings

SAMPLE_DAYS = pd.Timedelta(days=30)
"""Plots clipped within so many days are one sample; *source*: common practice, no source."""


NUMBERS = tuple(c.name for c in STANDING.columns if c.kind in ("number", "integer"))


def clipped_lb_ac(dry_g: float, frame_sqft: float) -> float:
    """Dry load [lb/ac] of a clipped weight [g] from a frame [square foot].

    *Source*: the frames of the NRCS range handbook follow from the units: 0.96 square feet × 100.
    """
    return dry_g / G_PER_LB * SQFT_PER_AC / frame_sqft


def dry_matter_of_moisture_pct(moisture_pct: float) -> float:
    """Dry matter [percent of wet weight] at a fuel moisture [percent of dry weight]."""
    return 100.0 / (1.0 + moisture_pct / 100.0)


def plot_dry_g(clips: pd.DataFrame) -> pd.Series:
    """Dry weight [g] of each plot without its bag; missing where the row does not tell it.

    A dry weight goes before a green one. The bag is taken off before drying is reckoned with.
    """
    bag_g = clips["bag_g"].astype("float64").fillna(0.0)
    moist = dry_matter_of_moisture_pct(clips["fuel_moisture_pct"].astype("float64"))
    share = clips["dry_matter_pct"].astype("float64").fillna(moist) / 100.0
    green = (clips["green_g"].astype("float64") - bag_g) * share
    return (clips["dry_g"].astype("float64") - bag_g).fillna(green)


def pole_loads_lb_ac(obstruction: pd.DataFrame, settings: FuelSettings) -> pd.Series:
    """Dry load [lb/ac] of each reading of the pole; missing without the user's regression."""
    slope, intercept = settings.pole_slope_lb_in, settings.pole_intercept_lb_ac
    reading_in = obstruction["reading_in"].astype("float64")
    if slope is None or intercept is None:
        return reading_in * math.nan
    return intercept + slope * reading_in


def mean_interval(values: np.ndarray, confidence_pct: float) -> tuple[float, float]:
    """Interval of the mean of a few values by Student's t; NaN with a single value."""
    if len(values) < 2:
        return math.nan, math.nan
    half = t_multiplier(len(values) - 1, confidence_pct) * values.std(ddof=1) / len(values) ** 0.5
    return float(values.mean() - half), float(values.mean() + half)


def measure_standing(
    clips: pd.DataFrame, obstruction: pd.DataFrame, loads: pd.DataFrame, settings: FuelSettings
) -> pd.DataFrame:
    """Table ``standing``: dry load of each unit by date and method.

    Plots of one unit clipped within a month belong together and carry the date of the last; those
    before and after the fall day never do: one season's figure is not mixed with another's.
    """
    plots = clips.assign(
        load=clipped_lb_ac(plot_dry_g(clips), clips["frame_sqft"].astype("float64")),
        measure=np.where(clips["caged"].fillna(False).astype(bool), "production", "standing"),
    )
    rows = _grouped(plots, "clipped", "clip plots", settings)
    readings = obstruction.assign(
        load=pole_loads_lb_ac(obstruction, settings), measure="standing", bare_ground_pct=math.nan
    )
    citation = settings.pole_citation or "the user's regression, without a citation"
    rows += _grouped(readings, "pole", citation, settings)
    rows += [_stated(row) for row in loads.to_dict("records")]
    if not rows:
        return empty(STANDING)
    frame = pd.DataFrame(rows)
    frame["date"] = frame["date"].astype("datetime64[s]")
    keys = ["unit_id", "date", "method", "measure"]
    return frame.astype(dict.fromkeys(NUMBERS, "float64")).drop_duplicates(keys, keep="last")


def _grouped(
    plots: pd.DataFrame, method: str, reference: str, settings: FuelSettings
) -> list[dict[str, object]]:
    """One row for each unit, sample and measure; plots without a load are left to the findings."""
    plots = plots[plots["load"] >= 0]
    plots = plots.assign(sample=_samples(plots, settings.fall_from))
    rows = []
    for (unit_id, measure, _), group in plots.groupby(["unit_id", "measure", "sample"]):
        loads = group["load"].to_numpy("float64")
        low, high = mean_interval(loads, settings.confidence_pct)
        rows.append(
            {
                "unit_id": unit_id,
                "date": group["date"].max(),
                "method": method,
                "measure": measure,
                "plots": len(loads),
                "mean_lb_ac": loads.mean(),
                "sd_lb_ac": loads.std(ddof=1) if len(loads) > 1 else math.nan,
                "low_lb_ac": max(0.0, low) if not math.isnan(low) else low,
                "high_lb_ac": high,
                "carryover_lb_ac": math.nan,
                "bare_ground_pct": group["bare_ground_pct"].astype("float64").mean(),
                "override_reason": None,
                "reference": reference,
            }
        )
    return rows


def _samples(plots: pd.DataFrame, fall_from: str) -> list[pd.Timestamp]:
    """First day of the sample that each plot belongs to.

    A sample lasts ``SAMPLE_DAYS`` from its first plot and ends before the fall day and New Year.
    """
    first_by_plot: dict[object, pd.Timestamp] = {}
    for _, group in plots.groupby(["unit_id", "measure"]):
        first = None
        for plot, day in group["date"].sort_values().items():
            if (
                first is None
                or day - first > SAMPLE_DAYS
                or _season_of(day, fall_from) != (_season_of(first, fall_from))
            ):
                first = day
            first_by_plot[plot] = first
    return [first_by_plot[plot] for plot in plots.index]


def _season_of(day: pd.Timestamp, fall_from: str) -> tuple[int, bool]:
    """Year of a day, and whether it lies in its fall."""
    return day.year, day >= day_of(day.year, fall_from)


def _stated(row: dict[str, object]) -> dict[str, object]:
    """A stated load as a row of ``standing``."""
    kept = {name: row[name] for name in STANDING.column_names if name in row}
    return kept | {
        "method": "stated",
        "plots": math.nan,
        "mean_lb_ac": row["load_lb_ac"],
        "sd_lb_ac": math.nan,
    }
