"""When a picture does not show what its date says: composites of several days, cloud and haze."""

from itertools import pairwise

import numpy as np
import pandas as pd

from pipeline.log.treatment_log import burns_of, treatments_of, within


def last_days(zone_scenes: pd.DataFrame) -> pd.Series:
    """Last day that the pixels of each date may be from, by date; of NDVI where there is some."""
    ready = zone_scenes[zone_scenes["kind"] == "ndvi"]
    other = zone_scenes[~zone_scenes["date"].isin(ready["date"])]
    return pd.concat([ready, other]).groupby("date")["last_day"].max()


def burned_within(
    rows: pd.DataFrame, last_day: pd.Series, treatment_log: pd.DataFrame
) -> pd.Series:
    """Why a composite cannot be told from a burn, for each unit of a comparison, else None.

    A composite may take any pixel from any of its days: where a burn lies among them, nobody knows
    which pixels show it. ``rows`` have ``unit_id``, ``role``, ``before`` and ``after``.
    """
    burns = burns_of(treatment_log)

    def reason(row: pd.Series) -> str | None:
        own = burns[burns["unit_id"] == row["unit_id"]]
        for side in ("before", "after"):
            first, last = row[side], last_day.get(row[side], row[side])
            if last > first and ((own["start"] <= last) & (own["end"] >= first)).any():
                return (
                    f"the picture {side}, of {first:%Y-%m-%d} to {last:%Y-%m-%d}, is made of days "
                    "before and after the burn"
                )
        return None

    burned = rows["role"] == "burned"
    told = [reason(row) if is_burned else None
            for (_, row), is_burned in zip(rows.iterrows(), burned, strict=True)]  # fmt: skip
    return pd.Series(told, index=rows.index, dtype=object)


def composite_words(row: pd.Series, last_day: pd.Series) -> str | None:
    """That a comparison rests on composites, which show no single day, else None."""
    sides = [row[side] for side in ("before", "after") if last_day.get(row[side]) is not None]
    spans = [f"{day:%Y-%m-%d} to {last_day[day]:%Y-%m-%d}" for day in sides if last_day[day] > day]
    if not spans:
        return None
    return f"made of the best pixels of {' and of '.join(spans)}: the burn must not lie among them"


def cloud_suspicion(
    change: float, others: np.ndarray, before: pd.Timestamp, after: pd.Timestamp, drop: float
) -> str | None:
    """That a unit lost or gained more than all others by so much that cloud is likely, else None.

    Cloud and haze lower NDVI: on the later picture they look like a loss, on the earlier one like a
    gain. With fewer than two others nobody knows which of them is odd.
    """
    if len(others) < 2:
        return None
    if change < others.min() - drop:
        return f"lost over {drop:g} more than every other unit: cloud or haze on {after:%Y-%m-%d}?"
    if change > others.max() + drop:
        return (
            f"gained over {drop:g} more than every other unit: cloud or haze on {before:%Y-%m-%d}?"
        )
    return None


def cloudy_units(
    zone_scenes: pd.DataFrame, treatment_log: pd.DataFrame, drop: float
) -> pd.DataFrame:
    """Units that lost much more since the picture before than all others, with no record why.

    ``zone_scenes`` are of one kind and usable. Columns ``unit_id``, ``date`` and ``drop``: how much
    more than the one of the others that lost most, if that is more than ``drop``.
    """
    means = zone_scenes.pivot_table(index="date", columns="unit_id", values="mean", aggfunc="first")
    change, events, last_day = (
        means.sort_index().diff(),
        treatments_of(treatment_log),
        last_days(zone_scenes),
    )
    rows = []
    for since, date in pairwise(change.index):
        told = change.loc[date].dropna().sort_values()
        if len(told) < 3:
            continue
        unit, more = str(told.index[0]), float(told.iloc[1] - told.iloc[0])
        own = events[events["unit_id"] == unit]
        if more > drop and within(own, since, last_day[date]).empty:
            rows.append((unit, date, more))
    return pd.DataFrame(rows, columns=["unit_id", "date", "drop"])
