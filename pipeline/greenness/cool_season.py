"""Cool-season or warm-season stand? Green-up in spring against green-up in midsummer.

Brome and bluegrass are green in April and May, when native warm-season grasses are still brown.
"""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from pipeline.greenness.cool_season_layers import COOL_SEASON
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.log.treatment_log import burns_of, within

DORMANT_FIRST_DAY = 60
"""First day of the year of the dormant window."""


LIMITS = (
    "Native cool-season grasses, sedges and early forbs look the same; grazing, mowing, hail and "
    "drought raise the index too; springs differ by weeks. Not a share of brome."
)


def cool_season_index(
    early: float, midsummer: float, dormant: float, least_green_up: float = 0.0
) -> float:
    """(E − M) / (E + M) of the green-up above dormant ground in spring and midsummer, −1 to 1.

    Above 0 is like a cool-season stand. NaN where there is too little green-up to tell. Negative
    green-up counts as none.

    *Source*: form of the two-date phenometric indices, as in D. G. Dye et al., Remote Sensing 8
    (2016) 889, with the sign turned.
    """
    e, m = max(early - dormant, 0.0), max(midsummer - dormant, 0.0)
    return (e - m) / (e + m) if e + m > 0 and e + m >= least_green_up else np.nan


def position_between(values: np.ndarray, warm: np.ndarray, cool: np.ndarray) -> float:
    """Position of a unit between two known ones, 0 warm and 1 cool, by least squares over dates.

    Cut at −0.25 and 1.25; NaN where the known ones do not differ.
    """
    apart = np.asarray(cool) - np.asarray(warm)
    length = float((apart**2).sum())
    if length == 0:
        return np.nan
    position = float(((np.asarray(values) - warm) * apart).sum()) / length
    return float(np.clip(position, -0.25, 1.25))


def shoulder_index(
    early: float, midsummer: float, late: float, dormant: float, least_green_up: float
) -> float:
    """Green-up of spring or fall, the greater, by that of midsummer; NaN with little in midsummer.

    Cool-season grass is green in both shoulders of the summer. NaN without a late picture.
    """
    if np.isnan(late) or not midsummer - dormant >= least_green_up:
        return np.nan
    return (max(early, late) - dormant) / (midsummer - dormant)


def early_to_midsummer_ratio(early: float, midsummer: float) -> float:
    """Early greenness by midsummer greenness, NaN where midsummer has none."""
    return early / midsummer if midsummer > 0 else np.nan


class BurnDays(NamedTuple):
    """First and last day that a burn may have been; the same where the log tells it."""

    first: pd.Timestamp
    last: pd.Timestamp


def burn_between(
    unit_id: str,
    after: pd.Timestamp,
    until: pd.Timestamp,
    comparisons: pd.DataFrame,
    burns: pd.DataFrame,
) -> BurnDays | None:
    """Days of a burn of a unit after ``after`` and until ``until``, None where there is none.

    By the log. Where the log has no burn between the pictures of a comparison that calls the unit
    burned, the burn may lie anywhere between them.
    """
    unit_burns = burns[burns["unit_id"] == unit_id]
    logged = within(unit_burns, after, until)
    if len(logged):
        return BurnDays(logged["start"].max(), logged["start"].max())
    pairs = comparisons[(comparisons["role"] == "burned") & (comparisons["unit_id"] == unit_id)]
    for pair in pairs.itertuples():
        between = (unit_burns["start"] > pair.before) & (unit_burns["end"] < pair.after)
        if not between.any() and pair.before < until and pair.after > after:
            return BurnDays(pair.before, pair.after)
    return None


def rate_cool_season(
    zone_scenes: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``cool_season``: index of each unit and year with an early and a midsummer scene."""
    rows = _window_means(of_one_kind(zone_scenes[zone_scenes["reason"].isna()]), settings)
    dormant_from = np.where(rows["dormant"].isna(), "setting", "scene")
    dormant = rows["dormant"].fillna(settings.dormant_greenness)
    rows = rows.assign(dormant_from=dormant_from, dormant=dormant)
    burns = burns_of(treatment_log)
    figures = [_figures(row, chosen_comparisons, burns, settings) for row in rows.itertuples()]
    columns = list(_NO_FIGURES)
    table = pd.DataFrame(figures, index=rows.index, columns=columns)
    rows = rows.join(table.astype({"reason": object, "shoulder_reason": object}))
    rows = rows.assign(position=_positions(rows, settings), limits=LIMITS)
    return rows[COOL_SEASON.column_names]


WINDOWS = ("dormant", "early", "midsummer", "late")


def _window_means(scenes: pd.DataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """Mean, first and last date of each window of each unit and year with early and midsummer."""
    day, year = scenes["date"].dt.day_of_year, scenes["date"].dt.year.rename("year")
    spans = {
        "dormant": (DORMANT_FIRST_DAY, settings.dormant_last_day),
        "early": (settings.early_first_day, settings.early_last_day),
        "midsummer": (settings.midsummer_first_day, settings.midsummer_last_day),
        "late": (settings.late_first_day, settings.late_last_day),
    }
    means = pd.DataFrame(index=pd.MultiIndex.from_arrays([[], []], names=["unit_id", "year"]))
    for name in WINDOWS:
        in_window = scenes[day.between(*spans[name])]
        grouped = in_window.groupby([in_window["unit_id"], year[in_window.index]])
        window = {
            name: grouped["mean"].mean(),
            f"{name}_date": grouped["date"].min(),
            f"{name}_end": grouped["date"].max(),
            f"{name}_days": grouped["date"].agg(_joined_days),
        }
        means = means.join(pd.DataFrame(window), how="outer")
    rows = means.dropna(subset=["early", "midsummer"]).reset_index()
    # Late pictures are in no index: the others are what units must share to be compared.
    shared = WINDOWS[:3]
    days = rows[[f"{name}_days" for name in shared]].astype(object).fillna("none")
    pictures = [
        "; ".join(f"{name} {cell}" for name, cell in zip(shared, row, strict=True))
        for row in days.itertuples(index=False)
    ]
    return rows.assign(pictures=pictures)


def _joined_days(days: pd.Series) -> str:
    """Days as one text, in their order."""
    return " ".join(f"{day:%Y-%m-%d}" for day in sorted(days))


Figures = dict[str, Any]


_NO_FIGURES: Figures = {
    "cool_index": np.nan,
    "early_to_midsummer": np.nan,
    "shoulder_index": np.nan,
    "reason": None,
    "shoulder_reason": None,
    "burned_from": pd.NaT,
    "burned_until": pd.NaT,
}


def _figures(  # type: ignore[no-untyped-def]
    row, comparisons: pd.DataFrame, burns: pd.DataFrame, settings: GreennessSettings
) -> Figures:
    """Index, ratio and shoulder index of a unit and year, and the codes of why there is none.

    A burn since the midsummer window of the year before spoils the year. One that is later than
    the midsummer pictures spoils the late picture alone.
    """
    since = pd.Timestamp(year=row.year - 1, month=1, day=1)
    since += pd.Timedelta(days=settings.midsummer_last_day - 1)
    burned = burn_between(row.unit_id, since, row.midsummer_end, comparisons, burns)
    if burned is not None:
        return _NO_FIGURES | _in_the_way(burned) | {"reason": "burned", "shoulder_reason": "burned"}
    least = settings.least_green_up
    index = cool_season_index(row.early, row.midsummer, row.dormant, least)
    figures = _NO_FIGURES | {
        "cool_index": index,
        "early_to_midsummer": early_to_midsummer_ratio(row.early, row.midsummer),
        "reason": "little_green_up" if np.isnan(index) else None,
    }
    if pd.isna(row.late):
        return figures | {"shoulder_reason": "no_late_picture"}
    burned = burn_between(row.unit_id, row.midsummer_end, row.late_end, comparisons, burns)
    if burned is not None:
        return figures | _in_the_way(burned) | {"shoulder_reason": "burned_late"}
    shoulder = shoulder_index(row.early, row.midsummer, row.late, row.dormant, least)
    little = "little_midsummer" if np.isnan(shoulder) else None
    return figures | {"shoulder_index": shoulder, "shoulder_reason": little}


def _in_the_way(burned: BurnDays) -> Figures:
    """The days of a burn that spoils a picture."""
    return {"burned_from": burned.first, "burned_until": burned.last}


def _positions(rows: pd.DataFrame, settings: GreennessSettings) -> list[float]:
    """Position of each unit and year between the two units the user knows, NaN without them."""
    by_key = rows[rows["reason"].isna()].set_index(["unit_id", "year"])
    both = ["early", "midsummer"]
    result = []
    for row in rows.itertuples():
        keys = [(settings.warm_unit, row.year), (settings.cool_unit, row.year)]
        known = pd.isna(row.reason) and all(key in by_key.index for key in keys)
        if not known or {by_key.loc[key, "pictures"] for key in keys} != {row.pictures}:
            result.append(np.nan)
            continue
        warm, cool = (by_key.loc[key, both].to_numpy(float) for key in keys)
        values = np.array([row.early, row.midsummer])
        result.append(position_between(values, warm, cool))
    return result
