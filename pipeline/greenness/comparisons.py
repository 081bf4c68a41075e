"""Which units to hold against which, where the user does not say.

Burned units of the latest season of burning that has pictures before and after it. References are
units of the same kind of ground that were as green before and to which, but for the fire, the log
says the same kinds of things were done: proposed, for the user to confirm.
"""

from collections.abc import Mapping
from itertools import combinations
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.greenness.effect.like_handled import handling_codes
from pipeline.greenness.layers import CHOSEN_COMPARISONS, PROPOSED_COMPARISONS
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.log.treatment_log import YEAR, burns_of, event_words, treatments_of, within

NO_COVER = "ground of no stated kind"


def season_gap_days(first: pd.Timestamp, second: pd.Timestamp) -> int:
    """Days between two dates in the course of the year, whichever years they are in."""
    gap = abs(first.day_of_year - second.day_of_year)
    return int(min(gap, YEAR.days - gap))


def pictures_of_burn(
    pictures: pd.DataFrame, burns: pd.DataFrame, settings: GreennessSettings
) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """Dates before and after the latest burn that match in the course of the year.

    ``pictures`` are usable ones of a ``unit_id`` on a ``date``, with a later ``last_day`` for
    composites: the burned unit itself must be seen on both. Of several pairs the one with the
    shortest span of years counts, then one of midsummer, then the one that matches best. None where
    no burn has a pair.
    """
    for burn in burns.sort_values("start", ascending=False).itertuples():
        last_day = pictures[pictures["unit_id"] == burn.unit_id].groupby("date")["last_day"].max()
        around = [
            (before, after)
            for before, after in combinations(last_day.index, 2)
            if last_day[before] < burn.start
            and after > burn.end
            and _years_apart(before, after) >= 1
            and season_gap_days(before, after) <= settings.date_gap_days
        ]
        if around:
            return min(around, key=lambda pair: _preference(pair, settings))
    return None


def _preference(
    pair: tuple[pd.Timestamp, pd.Timestamp], settings: GreennessSettings
) -> tuple[Any, ...]:
    """What a pair of dates is chosen by, the smallest first."""
    before, after = pair
    midsummer = range(settings.midsummer_first_day, settings.midsummer_last_day + 1)
    gap = season_gap_days(before, after)
    return _years_apart(before, after), after.day_of_year not in midsummer, gap, before, after


def _years_apart(before: pd.Timestamp, after: pd.Timestamp) -> int:
    """Whole years between two dates of about the same season, whichever calendar years they are."""
    return round((after - before).days / YEAR.days)


def propose_comparisons(
    units: gpd.GeoDataFrame,
    comparisons: pd.DataFrame,
    treatment_log: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``proposed_comparisons``: each unit as burned, as reference or left out, and why.

    Empty where the user gives comparisons, or where no burn lies between two matching pictures.
    """
    good = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    burns = burns_of(treatment_log)
    pair = None if len(comparisons) else pictures_of_burn(good, burns, settings)
    if pair is None:
        return pd.DataFrame(columns=PROPOSED_COMPARISONS.column_names)
    means = good[good["date"] == pair[0]].groupby("unit_id")["mean"].first()
    table = pd.DataFrame(
        {
            "unit_id": units["unit_id"],
            "cover": units["cover"].fillna(NO_COVER),
            "before_mean": units["unit_id"].map(means),
            "way": handling_codes(units["unit_id"], *pair, treatment_log),
        }
    )
    burns = burns[(burns["start"] > pair[0]) & (burns["end"] < pair[1])]
    burned = table["unit_id"].isin(burns["unit_id"])
    events = within(treatments_of(treatment_log), pair[0] - YEAR, pair[1])
    parts = []
    for cover in sorted(table.loc[burned, "cover"].unique()):
        parts += _of_cover(table[table["cover"] == cover], burns, events, settings)
    rows = pd.concat(parts, ignore_index=True).assign(before=pair[0], after=pair[1])
    return rows[PROPOSED_COMPARISONS.column_names]


def _of_cover(
    alike: pd.DataFrame, burns: pd.DataFrame, events: pd.DataFrame, settings: GreennessSettings
) -> list[pd.DataFrame]:
    """Comparisons of one kind of ground: one for each way that burned units were handled.

    A grazed unit is held against ones that were grazed in the same years, so that the fire is what
    they differ in.
    """
    burned = alike["unit_id"].isin(burns["unit_id"])
    other = events[events["kind"] != "burn"]
    kinds = other.groupby("unit_id")["kind"].agg(lambda rows: " and ".join(sorted(set(rows))))
    handled = alike["unit_id"].map(kinds).fillna("")
    year, cover, frames = f"{burns['start'].max():%Y}", alike["cover"].iloc[0], []
    for way in sorted(set(handled[burned])):
        chosen = ~burned | (handled == way)
        like = alike["way"].isin(alike.loc[burned & (handled == way), "way"])
        flagged = alike[chosen].assign(burned=burned, handled=like)
        name = f"{year} {' and '.join(filter(None, ('burn', way)))}, {cover}"
        frames.append(_parts(flagged, events, settings).assign(comparison=name))
    return frames


def _parts(alike: pd.DataFrame, events: pd.DataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """What each unit stands for, and why.

    Each has the flags ``burned`` and ``handled`` (as the burned ones were, but for the fire).
    """
    middle = float(alike.loc[alike["burned"], "before_mean"].mean())
    rows = []
    for unit in alike.to_dict("records"):
        unit_events = events[events["unit_id"] == unit["unit_id"]]
        gap = np.nan if unit["burned"] else unit["before_mean"] - middle
        role, why = _part(unit, "burn" in set(unit_events["kind"]), gap, settings)
        rows.append((unit["unit_id"], role, why, event_words(unit_events), gap))
    return pd.DataFrame(rows, columns=["unit_id", "role", "why", "treatments", "before_gap"])


def _part(
    unit: Mapping[Any, Any], has_burned: bool, gap: float, settings: GreennessSettings
) -> tuple[str, str]:
    """Role of a unit in a comparison, and the code of why."""
    if unit["burned"]:
        return "burned", "burned"
    if has_burned or not unit["handled"]:
        return "left_out", "treated_otherwise"
    if not np.isfinite(gap):
        return "left_out", "no_picture_before"
    if abs(gap) > settings.similar_before:
        return "left_out", "unlike_before"
    return "reference", "like_the_burned"


def part_words(row: Mapping[Any, Any]) -> str:
    """Why a unit of a proposed comparison stands for what it stands for, in words."""
    treatments = row["treatments"] or "no treatment on record"
    if row["why"] == "treated_otherwise":
        return f"treated otherwise than the burned units: {treatments}"
    if row["why"] == "no_picture_before":
        return "no usable picture before the burn"
    if row["why"] == "unlike_before":
        return f"NDVI before was {row['before_gap']:+.3f} from the burned units'"
    if row["why"] == "like_the_burned":
        return f"{treatments}, NDVI before {row['before_gap']:+.3f} from the burned units'"
    return treatments


def choose_comparisons(
    comparisons: pd.DataFrame, proposed_comparisons: pd.DataFrame
) -> pd.DataFrame:
    """Layer ``chosen_comparisons``: the user's comparisons, or else the proposed ones."""
    part = proposed_comparisons["role"] != "left_out"
    chosen = proposed_comparisons.loc[part, CHOSEN_COMPARISONS.column_names]
    return comparisons if len(comparisons) else chosen
