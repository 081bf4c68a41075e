"""What the log and the pictures say against a comparison: burns, other work, composites, cloud."""

from itertools import pairwise

import numpy as np
import pandas as pd

from pipeline.log.treatment_log import YEAR, burns_of, event_words, treatments_of, within

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
    give. Added are the last days of the pictures, the burn that the comparison does not mean and
    the other work in it; a unit without a reason gets one where a composite hides its burn, or
    where a reference has burned.
    """
    last_day, events = last_days(zone_scenes), treatments_of(treatment_log)
    burns = burns_of(treatment_log)
    days = {side: [last_day.get(date, pd.NaT) for date in rows[side]] for side in SIDES}
    other_burns = [other_burn(row, burns) for _, row in rows.iterrows()]
    works = [other_work(row, events) for _, row in rows.iterrows()]
    rows = rows.assign(
        before_last_day=pd.to_datetime(days["before"]),
        after_last_day=pd.to_datetime(days["after"]),
        other_burn=pd.to_datetime(other_burns),
        other_work=pd.Series(works, index=rows.index, dtype=object),
    )
    found = [composite_reason(row, burns) or burned_reference(row) for _, row in rows.iterrows()]
    reason = rows["reason"].fillna(pd.Series(found, index=rows.index, dtype=object))
    return rows.assign(reason=reason)


def other_burn(row: pd.Series, burns: pd.DataFrame) -> pd.Timestamp | None:
    """First day of the last burn of a unit that its comparison does not mean, None for none.

    Of a burned unit that is one of the year before the first picture, of a reference any from then
    to the second: ground that burned in the year before still answers that fire.
    """
    until = row["after"] if row["role"] == "reference" else row["before"]
    unit_burns = burns[burns["unit_id"] == row["unit_id"]]
    near = within(unit_burns, row["before"] - YEAR, until)
    return near["start"].max() if len(near) else None


def other_work(row: pd.Series, events: pd.DataFrame) -> str | None:
    """What else was done to a burned unit between its pictures, None for nothing."""
    if row["role"] != "burned":
        return None
    unit_works = events[(events["unit_id"] == row["unit_id"]) & (events["kind"] != "burn")]
    return event_words(within(unit_works, row["before"], row["after"]))


def burned_reference(row: pd.Series) -> str | None:
    """Code of why a reference unit is no unburned ground, None where it is."""
    burned = row["role"] == "reference" and pd.notna(row["other_burn"])
    return "reference_burned" if burned else None


def composite_reason(row: pd.Series, burns: pd.DataFrame) -> str | None:
    """Code of why a composite cannot be told from the burn of a unit, None where it can.

    A composite may take any pixel from any of its days: where a burn lies among them, nobody knows
    which pixels show it.
    """
    if row["role"] != "burned":
        return None
    unit_burns = burns[burns["unit_id"] == row["unit_id"]]
    for side in SIDES:
        first, last = row[side], row[f"{side}_last_day"]
        if last > first and ((unit_burns["start"] <= last) & (unit_burns["end"] >= first)).any():
            return f"burn_in_composite_{side}"
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
