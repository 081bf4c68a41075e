"""What the log and the pictures say against a comparison: burns, other work, composites, cloud."""

from itertools import pairwise

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.layers import TREATMENT_LOG
from pipeline.log.treatment_log import YEAR, burns_of, event_words, treatments_of, within

SIDES = ("before", "after")


NO_EVENTS = treatments_of(empty(TREATMENT_LOG))
"""The events of a unit that the log does not have."""


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
    give. Added are the last days of the pictures, the burn that the comparison does not mean and
    the other work in it; a unit without a reason gets one where a picture is of the day of its burn
    or a composite hides it, or where a reference has burned.
    """
    last_day = last_days(zone_scenes)
    days = {side: [last_day.get(date, pd.NaT) for date in rows[side]] for side in SIDES}
    rows = rows.assign(
        before_last_day=pd.to_datetime(days["before"]),
        after_last_day=pd.to_datetime(days["after"]),
    )
    events = dict(list(treatments_of(treatment_log).groupby("unit_id")))
    own = [events.get(unit, NO_EVENTS) for unit in rows["unit_id"]]
    records = [*zip((row for _, row in rows.iterrows()), own, strict=True)]
    works = [other_work(row, of_unit) for row, of_unit in records]
    rows = rows.assign(
        other_burn=pd.to_datetime([other_burn(row, of_unit) for row, of_unit in records]),
        other_work=pd.Series(works, index=rows.index, dtype=object),
    )
    found = [
        burn_on_picture(row, of_unit) or burned_reference(row)
        for (_, row), of_unit in zip(rows.iterrows(), own, strict=True)
    ]
    reason = rows["reason"].fillna(pd.Series(found, index=rows.index, dtype=object))
    return rows.assign(reason=reason)


def _burns(events: pd.DataFrame) -> pd.DataFrame:
    """The burns among the events of a unit."""
    return events[events["kind"] == "burn"]


def other_burn(row: pd.Series, events: pd.DataFrame) -> pd.Timestamp | None:
    """First day of the last burn of a unit that its comparison does not mean, None for none.

    Of a burned unit that is one of the year before the first picture, of a reference any from then
    to the last day of the second: ground that burned in the year before still answers that fire.
    """
    last = row["after"] if pd.isna(row["after_last_day"]) else row["after_last_day"]
    until = last if row["role"] == "reference" else row["before"]
    near = within(_burns(events), row["before"] - YEAR, until)
    return near["start"].max() if len(near) else None


def other_work(row: pd.Series, events: pd.DataFrame) -> str | None:
    """What else was done to a burned unit between its pictures, None for nothing."""
    if row["role"] != "burned":
        return None
    return event_words(within(events[events["kind"] != "burn"], row["before"], row["after"]))


def burned_reference(row: pd.Series) -> str | None:
    """Code of why a reference unit is no unburned ground, None where it is."""
    burned = row["role"] == "reference" and pd.notna(row["other_burn"])
    return "reference_burned" if burned else None


def burn_on_picture(row: pd.Series, events: pd.DataFrame) -> str | None:
    """Code of why a picture cannot be told from the burn of a unit, None where it can.

    Nobody knows whether a picture of the day of a burn was taken before it or after. A composite
    may take any pixel from any of its days.
    """
    if row["role"] != "burned":
        return None
    burns = _burns(events)
    for side in SIDES:
        first, last = row[side], row[f"{side}_last_day"]
        until = first if pd.isna(last) else last
        if ((burns["start"] <= until) & (burns["end"] >= first)).any():
            return f"burn_{'in_composite' if until > first else 'on_day'}_{side}"
    return None


def is_composite(row: pd.Series) -> bool:
    """Whether a picture of a comparison is made of several days, so that it shows no single one."""
    return any(row[f"{side}_last_day"] > row[side] for side in SIDES)


def burn_cautions(row: pd.Series, treatment_log: pd.DataFrame) -> list[str]:
    """Codes of what the log says against a burned unit: no burn between, other work, one before.

    An empty log says nothing: nobody keeps one.
    """
    if row["role"] != "burned" or treatment_log.empty:
        return []
    burns = burns_of(treatment_log)
    burns = burns[burns["unit_id"] == row["unit_id"]]
    between = (burns["start"] > row["before"]) & (burns["end"] < row["after"])
    cautions = {
        "no_burn_on_record": not between.any(),
        "other_work": pd.notna(row["other_work"]),
        "burned_before": pd.notna(row["other_burn"]),
    }
    return [code for code, holds in cautions.items() if holds]


def loss_is_explained(row: pd.Series, treatment_log: pd.DataFrame) -> bool:
    """Whether something on record was done to a unit between the pictures of a comparison."""
    events = treatments_of(treatment_log)
    unit_events = events[events["unit_id"] == row["unit_id"]]
    return not within(unit_events, row["before"], row["after"]).empty


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
