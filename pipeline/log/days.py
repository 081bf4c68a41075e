"""Days of the year as the settings write them, and the parts of a grazing season."""

import numpy as np
import pandas as pd

BURN_WINDOW_BY_MONTH = {
    1: "dormant", 2: "dormant", 3: "dormant", 4: "early spring", 5: "late spring",
    6: "late spring", 7: "summer", 8: "summer", 9: "fall", 10: "fall", 11: "dormant",
    12: "dormant",
}  # fmt: skip


def day_of(year: int, month_day: str) -> pd.Timestamp:
    """Day of a year written month-day; 29 February of a common year is 1 March."""
    month, day = map(int, month_day.split("-"))
    return pd.Timestamp(year, month, 1).as_unit("s") + pd.Timedelta(days=day - 1)


def is_month_day(text: str) -> bool:
    """Whether a text names a day of the year: month, hyphen, day, such as 04-10."""
    if len(text) != 5 or text[2] != "-" or not (text[:2] + text[3:]).isdigit():
        return False
    month, day = int(text[:2]), int(text[3:])
    return 1 <= month <= 12 and 1 <= day <= pd.Timestamp(2024, month, 1).days_in_month


def days_within(
    first: pd.Series, last: pd.Series, start: pd.Timestamp, after: pd.Timestamp
) -> np.ndarray:
    """Days of each stretch (both ends counted) from ``start`` to before ``after``."""
    begin = first.clip(lower=start)
    end = (last + pd.Timedelta(days=1)).clip(upper=after)
    return (end - begin).dt.days.clip(lower=0).to_numpy()
