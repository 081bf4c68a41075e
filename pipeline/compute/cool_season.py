"""Cool-season or warm-season stand? Green-up in spring against green-up in midsummer.

Brome and bluegrass are green in April and May, when native warm-season grasses are still brown.
"""

import numpy as np
import pandas as pd

from pipeline.compute.treatment_log import burns_of
from pipeline.compute.years_before import of_one_kind
from pipeline.settings.greenness import GreennessSettings

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


def rate_cool_season(
    zone_scenes: pd.DataFrame,
    comparisons: pd.DataFrame,
    treatments: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Table ``cool_season``: index of each unit and year with an early and a midsummer scene."""
    good = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    day, year = good["date"].dt.day_of_year, good["date"].dt.year
    windows = {
        "base": (DORMANT_FIRST_DAY, settings.dormant_last_day),
        "early": (settings.early_first_day, settings.early_last_day),
        "mid": (settings.mid_first_day, settings.mid_last_day),
    }
    means = pd.DataFrame(index=pd.MultiIndex.from_arrays([[], []], names=["unit_id", "year"]))
    for name, (first, last) in windows.items():
        own = good[(day >= first) & (day <= last)]
        grouped = own.groupby([own["unit_id"], year[own.index].rename("year")])
        means = means.join(grouped["mean"].mean().rename(name), how="outer")
        means = means.join(grouped["date"].min().rename(f"{name}_date"), how="outer")
    rows = means.dropna(subset=["early", "mid"]).reset_index()
    rows["base_from"] = np.where(rows["base"].isna(), "setting", "scene")
    rows["base"] = rows["base"].fillna(settings.dormant_greenness)
    burns = burns_of(treatments)
    spoiled = [_burn_year(row, comparisons, burns, settings) for row in rows.itertuples()]
    rows["reason"] = pd.Series(spoiled, index=rows.index, dtype=object)
    rows["cool_index"] = [
        cool_season_index(r.early, r.mid, r.base, settings.least_green_up)
        if r.reason is None else np.nan for r in rows.itertuples()
    ]  # fmt: skip
    little = rows["cool_index"].isna() & rows["reason"].isna()
    rows.loc[little, "reason"] = "too little green-up to tell"
    rows["position"] = _positions(rows, settings)
    return rows.assign(limits=LIMITS).drop(columns="base_date")


def _burn_year(  # type: ignore[no-untyped-def]
    row, comparisons: pd.DataFrame, burns: pd.DataFrame, settings: GreennessSettings
) -> str | None:
    """Why a burn spoils the index of a unit and year, None where none does.

    By the log, a burn since the midsummer window of the year before. Where the log has none
    between the pictures of a comparison, the burn may lie anywhere between them.
    """
    own = burns[burns["unit_id"] == row.unit_id]
    since = pd.Timestamp(year=row.year - 1, month=1, day=1)
    since += pd.Timedelta(days=settings.mid_last_day - 1)
    logged = (own["start"] <= row.mid_date) & (own["end"] > since)
    if logged.any():
        day = own.loc[logged, "start"].max()
        return f"burned on {day:%Y-%m-%d}: its pictures of this season show the burn"
    burned = comparisons[
        (comparisons["role"] == "burned") & (comparisons["unit_id"] == row.unit_id)
    ]
    for pair in burned.itertuples():
        known = ((own["start"] > pair.before) & (own["end"] < pair.after)).any()
        if not known and pair.before < row.mid_date and pair.after >= row.early_date:
            return "burned in this season: its early picture shows the burn"
    return None


def _positions(rows: pd.DataFrame, settings: GreennessSettings) -> list[float]:
    """Position of each unit and year between the two units the user knows, NaN without them."""
    by_key = rows[rows["reason"].isna()].set_index(["unit_id", "year"])[["early", "mid"]]
    result = []
    for row in rows.itertuples():
        keys = [(settings.warm_unit, row.year), (settings.cool_unit, row.year)]
        if row.reason is not None or not all(key in by_key.index for key in keys):
            result.append(np.nan)
            continue
        warm, cool = (by_key.loc[key].to_numpy() for key in keys)
        result.append(position_between(np.array([row.early, row.mid]), warm, cool))
    return result
