"""Findings on pictures that are likely wrong themselves, each with what to do about it."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.greenness.scene_findings import warning
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind

SPIKE_PCT, SPIKE_TIMES = 2.0, 10.0
"""One exact value in more of the pixels than this, and so much commoner than the values near it,
is no ground. Judgment, no source: NDVI in steps of a hundredth has some percent in each step, all
about as common as their neighbors."""

LEAST_SAMPLE = 200
"""Fewer pixels show no spike."""

MOST_UNMARKED_PCT = 50.0
"""A quality raster that has no data over more of a picture than this is told. Judgment."""

JUMP = 0.3
"""NDVI that all units gained or lost at once between pictures of one season.

Judgment, no source: green-up over the days that two such pictures may lie apart is 0.18 at most
(0.011 a day), and a wet and a dry year of a prairie rarely differ by more.
"""

LEAST_UNITS = 3
"""Units that must jump together: one or two may have been mown or grazed."""

KIND_WORDS = {
    "ndvi": "an NDVI raster",
    "reflectance": "a reflectance stack",
    "series": "a table of means",
}


def find_pictures(
    units: gpd.GeoDataFrame,
    picture_samples: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    property: pd.DataFrame,
    settings: GreennessSettings,
) -> gpd.GeoDataFrame:
    """Findings on pictures: their days, numbers, quality rasters, twins, signs, jumps, kinds."""
    usable = zone_scenes[zone_scenes["reason"].isna()]
    findings = [
        *_of_days(zone_scenes, int(property["season"].iloc[0])),
        *_of_spikes(picture_samples),
        *_of_quality(picture_samples),
        *_of_twins(picture_samples),
        *_of_kinds(usable, settings),
        *_of_signs(of_one_kind(usable), settings),
        *_of_jumps(of_one_kind(usable), settings),
    ]
    return findings_frame(findings, units.crs)


def _of_days(zone_scenes: pd.DataFrame, season: int) -> Iterator[Finding]:
    """Pictures of days after the season that is prepared."""
    late = zone_scenes.loc[zone_scenes["date"].dt.year > season, "date"]
    for date in sorted(set(late)):
        message = (
            f"{date:%Y-%m-%d} lies after {season}, the season being prepared: mend the date, or "
            "season in [property]"
        )
        yield warning("after_the_season", message, "scenes", subject=f"{date:%Y-%m-%d}")


def _of_spikes(samples: pd.DataFrame) -> Iterator[Finding]:
    """One exact value in too many pixels: likely a number for no data that nobody declared."""
    odd = samples[
        (samples["pixels"] >= LEAST_SAMPLE)
        & (samples["commonest_pct"] >= SPIKE_PCT)
        & (samples["times_its_neighbors"] >= SPIKE_TIMES)
    ]
    for row in odd.itertuples():
        what = "NDVI" if row.kind == "ndvi" else "red light"
        message = (
            f"{half_up(row.commonest_pct, 0)} percent of the pixels around the units hold exactly "
            f"{row.commonest_value:.4g} of {what} (stored as {row.commonest_stored:g}), far more "
            "than any value near it: if that stands for missing pixels, say "
            f"fill = {row.commonest_stored:g} for this scene, else look at the picture"
        )
        yield warning(
            "one_value_too_common", message, "scenes", row=int(row.scene), subject=row.name
        )


def _of_quality(samples: pd.DataFrame) -> Iterator[Finding]:
    """Quality rasters whose sign for no data stands where there is likely clear ground."""
    for row in samples[samples["unmarked_pct"] >= MOST_UNMARKED_PCT].itertuples():
        value = "" if np.isnan(row.quality_nodata) else f" (its value {row.quality_nodata:g})"
        message = (
            f"{half_up(row.unmarked_pct, 0)} percent of the picture around the units is left out "
            f"since the quality raster has no data{value} there, where its rule would keep it: if "
            "that value means clear ground, say nodata_is_clear = true in the mask; else the "
            "quality raster may be of another place"
        )
        yield warning(
            "quality_without_data", message, "scenes", row=int(row.scene), subject=row.name
        )


def _of_twins(samples: pd.DataFrame) -> Iterator[Finding]:
    """Two rasters of one date that show the same units: the later one is hardly looked at."""
    for row in samples[samples["same_ground_as"].notna()].itertuples():
        message = (
            f"{row.date:%Y-%m-%d}: shows the same units as {row.same_ground_as}, which is laid on "
            "top of it: this one counts only where that one has no usable pixel. Tiles of one "
            "pass may be so; of two pictures mend a date or take one out"
        )
        yield warning("shown_twice", message, "scenes", row=int(row.scene), subject=row.name)


def _of_kinds(usable: pd.DataFrame, settings: GreennessSettings) -> Iterator[Finding]:
    """NDVI rasters and stacks that are held against each other: pictures of one season."""
    kind_by_date = of_one_kind(usable).groupby("date")["kind"].first()
    pairs = _pairs_of_season(list(kind_by_date.index), settings.most_date_gap_days)
    for since, date in pairs:
        former, now = kind_by_date[since], kind_by_date[date]
        if former != now:
            message = (
                f"{since:%Y-%m-%d} is known from {KIND_WORDS[former]}, {date:%Y-%m-%d} from "
                f"{KIND_WORDS[now]}: they are held against each other, which is right only if NDVI "
                "was made alike; give both dates in one kind where you can"
            )
            yield warning("kinds_mixed", message, "scenes", subject=f"{date:%Y-%m-%d}")


def _of_signs(usable: pd.DataFrame, settings: GreennessSettings) -> Iterator[Finding]:
    """Units below zero in the growing season, when plants are not."""
    season = usable["date"].dt.day_of_year.between(settings.early_first_day, settings.late_last_day)
    for date, rows in usable[season].groupby("date"):
        below = rows[rows["mean"] < 0]
        if below.empty:
            continue
        do = "is it water, cloud or snow? Look at the picture"
        if len(below) * 2 >= len(rows):
            do = (
                "are red and near-infrared the right way round, and scale and offset right? Look "
                "at bands, scale and offset of the scene"
            )
        message = (
            f"{date:%Y-%m-%d}: mean NDVI below 0 in the growing season on {len(below)} of "
            f"{len(rows)} units ({listed(below['unit_id'])}), which plants never show: {do}"
        )
        yield warning("below_zero", message, "scenes", row=int(below["scene"].iloc[0]))


def _of_jumps(usable: pd.DataFrame, settings: GreennessSettings) -> Iterator[Finding]:
    """Pictures of one season between which every unit jumped the same way."""
    means = usable.pivot_table(index="date", columns="unit_id", values="mean", aggfunc="first")
    for since, date in _pairs_of_season(list(means.index), settings.most_date_gap_days):
        change = (means.loc[date] - means.loc[since]).dropna()
        least = float(change.abs().min()) if len(change) >= LEAST_UNITS else 0.0
        if least <= JUMP or len(set(np.sign(change))) > 1:
            continue
        way = "gained" if change.iloc[0] > 0 else "lost"
        message = (
            f"from {since:%Y-%m-%d} to {date:%Y-%m-%d} every unit {way} more than "
            f"{half_up(np.floor(least * 100) / 100, 2)} NDVI, more than weather does between such "
            "days: look whether scale, offset, bands and date of both pictures are right, and "
            "whether one shows cloud, haze or snow"
        )
        yield warning("all_jumped", message, "scenes", subject=f"{date:%Y-%m-%d}")


def _pairs_of_season(
    dates: list[pd.Timestamp], most_days: int
) -> Iterator[tuple[pd.Timestamp, pd.Timestamp]]:
    """Each date with the last one before it that lies at about the same time of a year."""
    for n, date in enumerate(dates):
        alike = [d for d in dates[:n] if _apart(d, date) <= most_days]
        if alike:
            yield alike[-1], date


def _apart(first: pd.Timestamp, second: pd.Timestamp) -> int:
    """Days between two dates in the course of the year."""
    gap = abs(first.day_of_year - second.day_of_year)
    return min(gap, 365 - gap)
