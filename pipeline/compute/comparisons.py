"""Which units to hold against which, where the user does not say.

Burned units of the latest season of burning that has pictures before and after it. References are
units of the same kind of ground that the log of treatments leaves alone and that were as green
before: proposed, for the user to confirm.
"""

from itertools import combinations

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.compute.treatment_log import YEAR, burns_of, done, told, within
from pipeline.compute.years_before import of_one_kind
from pipeline.settings.greenness import GreennessSettings

COLUMNS = ["comparison", "before", "after", "unit_id", "role", "why"]
NO_COVER = "ground of no stated kind"


def season_gap_days(first: pd.Timestamp, second: pd.Timestamp) -> int:
    """Days between two dates in the course of the year, whichever years they are in."""
    gap = abs(first.day_of_year - second.day_of_year)
    return int(min(gap, YEAR.days - gap))


def pictures_of_burn(
    dates: list[pd.Timestamp], burns: pd.DataFrame, settings: GreennessSettings
) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """Dates before and after the latest burn that match in the course of the year.

    Of several pairs the one with the shortest span of years counts, then one of midsummer, then
    the one that matches best. None where no burn has a pair.
    """
    summer = range(settings.mid_first_day, settings.mid_last_day + 1)
    pairs = [
        pair for pair in combinations(sorted(set(dates)), 2)
        if pair[0].year < pair[1].year and season_gap_days(*pair) <= settings.date_gap_days
    ]  # fmt: skip
    for burn in burns.sort_values("start", ascending=False).itertuples():
        around = [pair for pair in pairs if pair[0] < burn.start and pair[1] > burn.end]
        if around:
            return min(
                around,
                key=lambda p: (
                    p[1].year - p[0].year, p[1].day_of_year not in summer, season_gap_days(*p), p
                ),
            )  # fmt: skip
    return None


def propose_comparisons(
    units: gpd.GeoDataFrame,
    comparisons: pd.DataFrame,
    treatments: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``proposed_comparisons``: each unit as burned, as reference or left out, and why.

    Empty where the user gives comparisons, or where no burn lies between two matching pictures.
    """
    good = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    burns = burns_of(treatments[treatments["unit_id"].isin(units["unit_id"])])
    pair = None if len(comparisons) else pictures_of_burn(list(good["date"]), burns, settings)
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
        alike = table[table["cover"] == cover]
        parts.append(_of_cover(alike, own, done(treatments), pair, settings))
        parts[-1]["comparison"] = f"{own['start'].max():%Y} burn, {cover}"
    rows = pd.concat(parts, ignore_index=True)
    return rows.assign(before=pair[0], after=pair[1])[COLUMNS]


def _of_cover(
    alike: pd.DataFrame,
    burns: pd.DataFrame,
    events: pd.DataFrame,
    pair: tuple[pd.Timestamp, pd.Timestamp],
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Units of one kind of ground: what each stands for, and why."""
    burned = alike["unit_id"].isin(burns["unit_id"])
    middle = float(alike.loc[burned, "before_mean"].mean())
    near = within(events, pair[0] - YEAR, pair[1])
    rows = []
    for unit in alike.assign(burned=burned).itertuples():
        own = near[near["unit_id"] == unit.unit_id]
        apart = unit.before_mean - middle
        if unit.burned:
            role, why = "burned", told(own)
        elif len(own):
            role, why = "left out", f"treated: {told(own)}"
        elif not np.isfinite(apart):
            role, why = "left out", "no usable picture before the burn"
        elif abs(apart) > settings.similar_before:
            role, why = "left out", f"NDVI before was {apart:+.3f} from the burned units'"
        else:
            role = "reference"
            why = f"no treatment on record, NDVI before {apart:+.3f} from the burned units'"
        rows.append((unit.unit_id, role, why))
    return pd.DataFrame(rows, columns=["unit_id", "role", "why"])


def choose_comparisons(comparisons: pd.DataFrame, proposed: pd.DataFrame) -> pd.DataFrame:
    """Layer ``compared``: the user's comparisons, or else the proposed ones."""
    chosen = proposed.loc[proposed["role"] != "left out", COLUMNS[:-1]]
    return comparisons if len(comparisons) else chosen
