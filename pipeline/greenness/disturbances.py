"""What the log and the pictures say against a comparison: burns, other work, composites, cloud."""

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from pipeline.log.treatment_log import YEAR, event_words, treatments_of, within

SIDES = ("before", "after")


def last_days(zone_scenes: pd.DataFrame) -> pd.Series:
    """Last day that the pixels of each date may be from, by date; of NDVI where there is some."""
    ready = zone_scenes[zone_scenes["kind"] == "ndvi"]
    other = zone_scenes[~zone_scenes["date"].isin(ready["date"])]
    return pd.concat([ready, other]).groupby("date")["last_day"].max()


def with_disturbances(
    rows: pd.DataFrame, zone_scenes: pd.DataFrame, treatment_log: pd.DataFrame
) -> pd.DataFrame:
    """Rows of a comparison with what was going on in and between their pictures.

    ``rows`` have ``unit_id``, ``role``, ``before``, ``after`` and the ``reason`` that the pixels
    give. Added are the last days of the pictures, the burn that the comparison does not mean,
    the other work in it, and whether a burn or anything lies between the pictures; a unit without
    a reason gets one where a picture is of the day of its burn or a composite hides it, or where a
    reference has burned.
    """
    last_day = last_days(zone_scenes)
    for side in SIDES:
        last = pd.to_datetime([last_day.get(date, pd.NaT) for date in rows[side]])
        rows = rows.assign(**{f"{side}_last_day": last})
    events = _events_of(rows, treatment_log)
    burns, is_burned = events[events["kind"] == "burn"], events["role"] == "burned"
    between = (burns["start"] > burns["before"]) & (burns["end"] < burns["after"])
    near = (events["start"] <= events["after"]) & (events["end"] > events["before"])
    works = events[near & is_burned & (events["kind"] != "burn")]
    reason = rows["reason"].astype(object).fillna(_reasons(rows, burns))
    words = {row: event_words(of_unit) for row, of_unit in works.groupby("row")}
    return rows.assign(
        other_burn=pd.to_datetime(_other_burns(burns).reindex(rows.index)),
        other_work=pd.Series(words, dtype=object).reindex(rows.index),
        burn_between=rows.index.isin(burns.loc[between, "row"]),
        work_between=rows.index.isin(events.loc[near, "row"]),
        reason=reason.where(reason.notna(), None),
    )


def _events_of(rows: pd.DataFrame, treatment_log: pd.DataFrame) -> pd.DataFrame:
    """What the log says of the units of a comparison: its events, each with the unit's row."""
    of_rows = rows[["unit_id", "role", *SIDES, "before_last_day", "after_last_day"]]
    both = (
        of_rows.rename_axis("row").reset_index().merge(treatments_of(treatment_log), on="unit_id")
    )
    for side in SIDES:
        last = both[f"{side}_last_day"]
        both[f"{side}_last_day"] = last.fillna(both[side])
    return both


def _other_burns(burns: pd.DataFrame) -> pd.Series:
    """First day of the last burn of each unit that its comparison does not mean.

    Of a burned unit that is one of the year before the first picture, of a reference any from then
    to the last day of the second: ground that burned in the year before still answers that fire.
    """
    until = burns["after_last_day"].where(burns["role"] == "reference", burns["before"])
    near = (burns["start"] <= until) & (burns["end"] > burns["before"] - YEAR)
    return burns[near].groupby("row")["start"].max()


def _reasons(rows: pd.DataFrame, burns: pd.DataFrame) -> pd.Series:
    """Code of why a picture cannot be told from a burn, or a reference is no unburned ground.

    Nobody knows whether a picture of the day of a burn was taken before it or after. A composite
    may take any pixel from any of its days.
    """
    reasons = pd.Series(None, index=rows.index, dtype=object)
    others = _other_burns(burns).index
    reasons[rows.index.isin(others) & (rows["role"] == "reference")] = "reference_burned"
    for side in reversed(SIDES):
        first, last = burns[side], burns[f"{side}_last_day"]
        on = (burns["role"] == "burned") & (burns["start"] <= last) & (burns["end"] >= first)
        reasons[burns.loc[on & (last == first), "row"]] = f"burn_on_day_{side}"
        reasons[burns.loc[on & (last > first), "row"]] = f"burn_in_composite_{side}"
    return reasons


def is_composite(row: Mapping[Any, Any]) -> bool:
    """Whether a picture of a comparison is made of several days, so that it shows no single one."""
    return any(row[f"{side}_last_day"] > row[side] for side in SIDES)


def burn_cautions(row: Mapping[Any, Any], treatment_log: pd.DataFrame) -> list[str]:
    """Codes of what the log says against a burned unit: no burn between, other work, one before.

    An empty log says nothing: nobody keeps one.
    """
    if row["role"] != "burned" or treatment_log.empty:
        return []
    cautions = {
        "no_burn_on_record": not row["burn_between"],
        "other_work": pd.notna(row["other_work"]),
        "burned_before": pd.notna(row["other_burn"]),
    }
    return [code for code, holds in cautions.items() if holds]


def cloud_caution(change: float, others: np.ndarray, drop: float) -> str | None:
    """Code of the picture that cloud is likely on, None where there is no such suspicion.

    That is where a unit lost or gained more than all ``others`` by more than ``drop``. Cloud and
    haze lower NDVI: on the later picture they look like a loss, on the earlier one like a gain.
    With fewer than two others nobody knows which of them is odd.
    """
    if len(others) < 2:
        return None
    if change < others.min() - drop:
        return "cloud_after"
    return "cloud_before" if change > others.max() + drop else None


def cloudy_units(
    zone_scenes: pd.DataFrame, treatment_log: pd.DataFrame, drop: float
) -> pd.DataFrame:
    """Units that lost much more since the picture before than all others, with no record why.

    ``zone_scenes`` are of one kind and usable. Columns ``unit_id``, ``date`` and ``drop``: how much
    more than the one of the others that lost most, if that is more than ``drop``.
    """
    means = zone_scenes.pivot_table(index="date", columns="unit_id", values="mean", aggfunc="first")
    change = means.sort_index().diff()
    events, last_day = treatments_of(treatment_log), last_days(zone_scenes)
    rows = []
    for since, date in pairwise(change.index):
        changes = change.loc[date].dropna().sort_values()
        if len(changes) < 3:
            continue
        unit, more = str(changes.index[0]), float(changes.iloc[1] - changes.iloc[0])
        unit_events = events[events["unit_id"] == unit]
        if more > drop and within(unit_events, since, last_day[date]).empty:
            rows.append((unit, date, more))
    return pd.DataFrame(rows, columns=["unit_id", "date", "drop"])
