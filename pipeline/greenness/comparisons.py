"""Which units to hold against which, where the user does not say.

Burned units of the latest season of burning that has pictures before and after it. References are
units of the same kind of ground that were as green before and to which, but for the fire, the log
says the same kinds of things were done: proposed, for the user to confirm.
"""

from itertools import combinations

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.log.treatment_log import YEAR, burns_of, event_words, treatments_of, within

COLUMNS = ["comparison", "before", "after", "unit_id", "role", "why"]


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
    summer = range(settings.mid_first_day, settings.mid_last_day + 1)
    for burn in burns.sort_values("start", ascending=False).itertuples():
        last_day = pictures[pictures["unit_id"] == burn.unit_id].groupby("date")["last_day"].max()
        around = [
            (before, after) for before, after in combinations(last_day.index, 2)
            if last_day[before] < burn.start and after > burn.end
            and _years_apart(before, after) >= 1
            and season_gap_days(before, after) <= settings.date_gap_days
        ]  # fmt: skip
        if around:
            return min(
                around,
                key=lambda p: (
                    _years_apart(*p), p[1].day_of_year not in summer, season_gap_days(*p), p
                ),
            )  # fmt: skip
    return None


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
        return pd.DataFrame(columns=COLUMNS)
    means = good[good["date"] == pair[0]].groupby("unit_id")["mean"].first()
    table = pd.DataFrame({
        "unit_id": units["unit_id"], "cover": units["cover"].fillna(NO_COVER),
        "before_mean": units["unit_id"].map(means),
    })  # fmt: skip
    own = burns[(burns["start"] > pair[0]) & (burns["end"] < pair[1])]
    burned = table["unit_id"].isin(own["unit_id"])
    parts = []
    for cover in sorted(table.loc[burned, "cover"].unique()):
        events = within(treatments_of(treatment_log), pair[0] - YEAR, pair[1])
        parts += _of_cover(table[table["cover"] == cover], own, events, settings)
    rows = pd.concat(parts, ignore_index=True)
    return rows.assign(before=pair[0], after=pair[1])[COLUMNS]


def _of_cover(
    alike: pd.DataFrame, burns: pd.DataFrame, events: pd.DataFrame, settings: GreennessSettings
) -> list[pd.DataFrame]:
    """Comparisons of one kind of ground: one for each way that burned units were handled.

    A grazed unit is held against grazed ones, so that the fire is what they differ in.
    """
    burned = alike["unit_id"].isin(burns["unit_id"])
    other = events[events["kind"] != "burn"]
    kinds = other.groupby("unit_id")["kind"].agg(lambda own: " and ".join(sorted(set(own))))
    handled = alike["unit_id"].map(kinds).fillna("")
    year, cover, frames = f"{burns['start'].max():%Y}", alike["cover"].iloc[0], []
    for way in sorted(set(handled[burned])):
        own = alike[~burned | (handled == way)].assign(burned=burned, handled=handled == way)
        name = f"{year} {' and '.join(filter(None, ('burn', way)))}, {cover}"
        frames.append(_parts(own, events, settings).assign(comparison=name))
    return frames


def _parts(alike: pd.DataFrame, events: pd.DataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """What each unit stands for, and why.

    Each has the flags ``burned`` and ``handled`` (as the burned ones were, but for the fire).
    """
    middle = float(alike.loc[alike["burned"], "before_mean"].mean())
    rows = []
    for unit in alike.itertuples():
        own = events[events["unit_id"] == unit.unit_id]
        apart = unit.before_mean - middle
        known = event_words(own) or "no treatment on record"
        if unit.burned:
            role, why = "burned", known
        elif "burn" in set(own["kind"]) or not unit.handled:
            role, why = "left out", f"treated otherwise than the burned units: {known}"
        elif not np.isfinite(apart):
            role, why = "left out", "no usable picture before the burn"
        elif abs(apart) > settings.similar_before:
            role, why = "left out", f"NDVI before was {apart:+.3f} from the burned units'"
        else:
            role, why = "reference", f"{known}, NDVI before {apart:+.3f} from the burned units'"
        rows.append((unit.unit_id, role, why))
    return pd.DataFrame(rows, columns=["unit_id", "role", "why"])


def choose_comparisons(
    comparisons: pd.DataFrame, proposed_comparisons: pd.DataFrame
) -> pd.DataFrame:
    """Layer ``compared``: the user's comparisons, or else the proposed ones."""
    chosen = proposed_comparisons.loc[proposed_comparisons["role"] != "left out", COLUMNS[:-1]]
    return comparisons if len(comparisons) else chosen
