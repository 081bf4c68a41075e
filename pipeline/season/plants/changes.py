"""How the plants changed between two surveys, transect by transect."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.student_t import t_multiplier
from pipeline.log.treatment_log import burns_of, within
from pipeline.season.plants.cover import grouped_surveys
from pipeline.season.plants.layers import PLANT_CHANGES
from pipeline.season.plants.surveys import Surveys, mean_interval_pct, on_transects
from pipeline.season.settings import CommunitySettings

DAYS_OF_YEAR = 365


class Pair(NamedTuple):
    """Two surveys of a unit that are held against each other, on the transects that both read."""

    unit_id: str
    before: pd.Timestamp
    after: pd.Timestamp
    transects: pd.Index


def compare_plant_surveys(
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    treatment_log: pd.DataFrame,
    property: pd.DataFrame,
    settings: CommunitySettings,
) -> pd.DataFrame:
    """Table ``plant_changes``: each survey against the newest fitting one before it."""
    surveys = grouped_surveys(plants, plant_species, property, settings)
    rows = [
        row
        for pair in survey_pairs(surveys.read, settings.same_time_days)
        for row in _pair_rows(pair, surveys, burned_between(pair, treatment_log), settings)
    ]
    return pd.DataFrame(rows, columns=PLANT_CHANGES.column_names) if rows else empty(PLANT_CHANGES)


def survey_pairs(read: pd.DataFrame, same_time_days: int) -> Iterator[Pair]:
    """Each survey with the newest one of an earlier year that fits it.

    It lies at the same time of the year, and some transect was read both times.
    """
    for unit_id, of_unit in read.groupby("unit_id"):
        transects = {day: pd.Index(rows["transect"]) for day, rows in of_unit.groupby("survey")}
        for after in transects:
            for before in sorted((day for day in transects if day < after), reverse=True):
                both = transects[after].intersection(transects[before])
                if len(both) and is_same_time(before, after, same_time_days):
                    yield Pair(str(unit_id), before, after, both)
                    break


def is_same_time(before: pd.Timestamp, after: pd.Timestamp, most_days: int) -> bool:
    """Whether two days of different years lie at most so many days apart within the year."""
    apart = abs(before.day_of_year - after.day_of_year)
    return before.year < after.year and min(apart, DAYS_OF_YEAR - apart) <= most_days


def burned_between(pair: Pair, treatment_log: pd.DataFrame) -> str | None:
    """Days of the burns of the unit after the first survey and until the second."""
    burns = within(burns_of(treatment_log), pair.before, pair.after)
    days = burns.loc[burns["unit_id"] == pair.unit_id, "start"].drop_duplicates().sort_values()
    return ", ".join(days.dt.strftime("%Y-%m-%d")) or None


def _pair_rows(
    pair: Pair, surveys: Surveys, burned: str | None, settings: CommunitySettings
) -> Iterator[dict[str, object]]:
    """A row for each group and each species that stands on the transects of either survey."""
    covers = surveys.covers[
        (surveys.covers["unit_id"] == pair.unit_id)
        & surveys.covers["transect"].isin(pair.transects)
    ]
    of_pair = covers[covers["survey"].isin([pair.before, pair.after])]
    for group, members in of_pair.groupby("group"):
        told = {"unit_id": pair.unit_id, "date": pair.after, "before": pair.before, "group": group}
        told |= {"transects": len(pair.transects), "burned": burned}
        yield told | {"species": None, "seen": None} | _change_of(members, pair, settings)
        for species, rows in members.groupby("species"):
            if rows["ground"].isna().all():
                days = set(covers.loc[covers["species"] == species, "survey"])
                named = {"species": species, "seen": seen_code(days, pair)}
                yield told | named | _change_of(rows, pair, settings)


def _change_of(rows: pd.DataFrame, pair: Pair, settings: CommunitySettings) -> dict[str, float]:
    """Cover then and now, and the change with its interval.

    *Source*: paired differences, mean ± t(n − 1) · s ÷ √n with n the transects of both surveys.
    """
    then, now = (
        on_transects(rows[rows["survey"] == day], pair.transects)
        for day in (pair.before, pair.after)
    )
    return {
        "before_cover_pct": float(then.mean()),
        "after_cover_pct": float(now.mean()),
        **paired_change(now - then, settings.confidence_pct),
    }


def paired_change(differences: np.ndarray, confidence_pct: float) -> dict[str, float]:
    """Mean of paired differences [points], with the ends of its interval; NaN with one pair."""
    freedom = len(differences) - 1
    t = t_multiplier(freedom, confidence_pct) if freedom else np.nan
    low, high = mean_interval_pct(differences, t)
    return {
        "change_pct": float(differences.mean()),
        "change_low_pct": low,
        "change_high_pct": high,
    }


def seen_code(days: set[pd.Timestamp], pair: Pair) -> str:
    """What the surveys that saw a species on the transects of a pair tell of it."""
    then, now = pair.before in days, pair.after in days
    if then and now:
        return "both_times"
    if now:
        return "seen_again" if min(days) < pair.after else "first_seen"
    return "not_seen" if max(days) > pair.after else "not_seen_again"
