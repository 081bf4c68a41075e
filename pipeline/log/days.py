"""Days of the year as people write them (04-10), and the times of the year of a burn."""

import numpy as np
import pandas as pd

MONTHS_BY_BURN_TIME = {
    "dormant": (11, 12, 1, 2, 3),
    "early_spring": (4,),
    "late_spring": (5, 6),
    "summer": (7, 8),
    "fall": (9, 10),
}


BURN_TIME_BY_MONTH = {
    month: time for time, months in MONTHS_BY_BURN_TIME.items() for month in months
}


def day_of(year: int, month_day: str) -> pd.Timestamp:
    """Day of a year that is written month-day. In a common year 02-29 is the first of March."""
    month, day = map(int, month_day.split("-"))
    return pd.Timestamp(year, month, 1).as_unit("s") + pd.Timedelta(days=day - 1)


def is_month_day(text: str) -> bool:
    """Whether a text names a day of the year as month, hyphen and day, such as 04-10."""
    if len(text) != 5 or text[2] != "-" or not (text[:2] + text[3:]).isdigit():
        return False
    month, day = int(text[:2]), int(text[3:])
    return 1 <= month <= 12 and 1 <= day <= pd.Timestamp(2024, month, 1).days_in_month


def days_within(
    first: pd.Series, last: pd.Series, start: pd.Timestamp, after: pd.Timestamp
) -> np.ndarray:
    """Days of each stretch that lie in a span; the day ``after`` is no longer part of the span.

    The first and the last day of a stretch both count.
    """
    day = np.timedelta64(1, "D")
    begin = np.maximum(first.to_numpy(), start.to_datetime64())
    end = np.minimum(last.to_numpy() + day, after.to_datetime64())
    return np.maximum((end - begin) / day, 0)


def first_common_day(
    first: pd.Timestamp, last: pd.Timestamp, from_day: str, to_day: str
) -> pd.Timestamp | None:
    """First day of a span that lies in a part of the year, None where none does.

    Both ends count on both sides. The part may pass New Year, and the span any number of years.
    """
    for year in range(first.year - 1, last.year + 1):
        begin, end = day_of(year, from_day), day_of(year, to_day)
        if end < begin:
            end = day_of(year + 1, to_day)
        if begin <= last and end >= first:
            return max(begin, first)
    return None
