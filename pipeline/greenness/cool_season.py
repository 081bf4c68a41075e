"""Cool-season or warm-season stand? Green-up in spring against green-up in midsummer.

Brome and bluegrass are green in April and May, when native warm-season grasses are still brown.
"""

import numpy as np
import pandas as pd

from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import of_one_kind
from pipeline.log.treatment_log import burns_of, within

DORMANT_FIRST_DAY = 60


LIMITS = (
    "Native cool-season grasses, sedges and early forbs look the same; grazing, mowing, hail and "
    "drought raise the index too; springs differ by weeks. Not a share of brome."
)


def cool_season_index(early: float, mid: float, base: float, least_green_up: float = 0.0) -> float:
    """(E − M) / (E + M) of the green-up above the base in spring and midsummer, −1 to 1.

    Above 0 is like a cool-season stand. NaN where there is too little green-up to tell. Negative
    green-up counts as none.

    *Source*: form of the two-date phenometric indices, as in D. G. Dye et al., Remote Sensing 8
    (2016) 889, with the sign turned.
    """
    e, m = max(early - base, 0.0), max(mid - base, 0.0)
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
    early: float, mid: float, late: float, base: float, least_green_up: float
) -> float:
    """Green-up of spring or fall, the greater, by that of midsummer; NaN with little in midsummer.

    Cool-season grass is green in both shoulders of the summer. NaN without a late picture.
    """
    if np.isnan(late) or not mid - base >= least_green_up:
        return np.nan
    return (max(early, late) - base) / (mid - base)


def early_to_mid_ratio(early: float, mid: float) -> float:
    """Early greenness by midsummer greenness, NaN where midsummer has none."""
    return early / mid if mid > 0 else np.nan


def burn_between(
    unit_id: str,
    after: pd.Timestamp,
    until: pd.Timestamp,
    comparisons: pd.DataFrame,
    burns: pd.DataFrame,
) -> str | None:
    """How a unit burned after ``after`` and until ``until``, in words; None where it did not.

    By the log. Where the log has no burn between the pictures of a comparison that calls the unit
    burned, the burn may lie anywhere between them.
    """
    own = burns[burns["unit_id"] == unit_id]
    logged = within(own, after, until)
    if len(logged):
        return f"burned on {logged['start'].max():%Y-%m-%d}"
    pairs = comparisons[(comparisons["role"] == "burned") & (comparisons["unit_id"] == unit_id)]
    for pair in pairs.itertuples():
        known = ((own["start"] > pair.before) & (own["end"] < pair.after)).any()
        if not known and pair.before < until and pair.after > after:
            return f"burned some day from {pair.before:%Y-%m-%d} to {pair.after:%Y-%m-%d}"
    return None


def rate_cool_season(
    zone_scenes: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``cool_season``: index of each unit and year with an early and a midsummer scene."""
    rows = _window_means(of_one_kind(zone_scenes[zone_scenes["reason"].isna()]), settings)
    rows["base_from"] = np.where(rows["base"].isna(), "setting", "scene")
    rows["base"] = rows["base"].fillna(settings.dormant_greenness)
    burns = burns_of(treatment_log)
    told = [_figures(row, chosen_comparisons, burns, settings) for row in rows.itertuples()]
    figures = pd.DataFrame(told, index=rows.index, columns=_FIGURES)
    figures = figures.astype({"reason": object, "shoulder_reason": object})
    rows = rows.join(figures)
    rows = rows.assign(position=_positions(rows, settings), limits=LIMITS)
    return rows.drop(columns=["base_date", *(f"{w}_end" for w in ("base", "early", "mid", "late"))])


_FIGURES = ["cool_index", "early_to_mid", "shoulder_index", "reason", "shoulder_reason"]


def _window_means(scenes: pd.DataFrame, settings: GreennessSettings) -> pd.DataFrame:
    """Mean, first and last date of each window of each unit and year with an early and a mid."""
    day, year = scenes["date"].dt.day_of_year, scenes["date"].dt.year.rename("year")
    windows = {
        "base": (DORMANT_FIRST_DAY, settings.dormant_last_day),
        "early": (settings.early_first_day, settings.early_last_day),
        "mid": (settings.mid_first_day, settings.mid_last_day),
        "late": (settings.late_first_day, settings.late_last_day),
    }
    means = pd.DataFrame(index=pd.MultiIndex.from_arrays([[], []], names=["unit_id", "year"]))
    for name, (first, last) in windows.items():
        own = scenes[day.between(first, last)]
        grouped = own.groupby([own["unit_id"], year[own.index]])
        told = {name: grouped["mean"].mean(), f"{name}_date": grouped["date"].min(),
                f"{name}_end": grouped["date"].max(),
                f"{name}_days": grouped["date"].agg(lambda days: " ".join(
                    f"{day:%Y-%m-%d}" for day in sorted(days)))}  # fmt: skip
        means = means.join(pd.DataFrame(told), how="outer")
    rows = means.dropna(subset=["early", "mid"]).reset_index()
    # Late pictures are in no index: the others are what units must share to be compared.
    days = rows[["base_days", "early_days", "mid_days"]].astype(object).fillna("none")
    return rows.assign(
        pictures=["base " + base + "; early " + early + "; mid " + mid
                  for base, early, mid in days.itertuples(index=False)]
    ).drop(columns=[f"{name}_days" for name in windows])  # fmt: skip


def _figures(  # type: ignore[no-untyped-def]
    row, comparisons: pd.DataFrame, burns: pd.DataFrame, settings: GreennessSettings
) -> tuple[float, float, float, str | None, str | None]:
    """Index, ratio and shoulder index of a unit and year, and why there is none.

    A burn since the midsummer window of the year before spoils the year. One that is later than
    the midsummer pictures spoils the late picture alone.
    """
    nothing = np.nan
    since = pd.Timestamp(year=row.year - 1, month=1, day=1)
    since += pd.Timedelta(days=settings.mid_last_day - 1)
    burned = burn_between(row.unit_id, since, row.mid_end, comparisons, burns)
    if burned is not None:
        spoiled = f"{burned}: its pictures of this season may show the burn"
        return nothing, nothing, nothing, spoiled, spoiled
    index = cool_season_index(row.early, row.mid, row.base, settings.least_green_up)
    reason = "too little green-up to tell" if np.isnan(index) else None
    ratio = early_to_mid_ratio(row.early, row.mid)
    if pd.isna(row.late):
        return index, ratio, nothing, reason, "no picture of the late window"
    burned = burn_between(row.unit_id, row.mid_end, row.late_end, comparisons, burns)
    if burned is not None:
        return index, ratio, nothing, reason, f"{burned}: its late picture may show the burn"
    shoulder = shoulder_index(row.early, row.mid, row.late, row.base, settings.least_green_up)
    little = "too little green-up in midsummer" if np.isnan(shoulder) else None
    return index, ratio, shoulder, reason, little


def _positions(rows: pd.DataFrame, settings: GreennessSettings) -> list[float]:
    """Position of each unit and year between the two units the user knows, NaN without them."""
    by_key = rows[rows["reason"].isna()].set_index(["unit_id", "year"])
    result = []
    for row in rows.itertuples():
        keys = [(settings.warm_unit, row.year), (settings.cool_unit, row.year)]
        if pd.notna(row.reason) or not all(key in by_key.index for key in keys):
            result.append(np.nan)
            continue
        if {by_key.loc[key, "pictures"] for key in keys} != {row.pictures}:
            result.append(np.nan)
            continue
        warm, cool = (by_key.loc[key, ["early", "mid"]].to_numpy(float) for key in keys)
        result.append(position_between(np.array([row.early, row.mid]), warm, cool))
    return result
