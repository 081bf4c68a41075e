"""Burns in the log that a comparison must not overlook: of references, and of the year before."""

import pandas as pd

from pipeline.compute.treatment_log import YEAR, burns_of, within


def _last_burn(row: pd.Series, burns: pd.DataFrame, until: str) -> pd.Timestamp | None:
    """First day of the last burn of a unit from a year before the first picture, None for none."""
    own = burns[burns["unit_id"] == row["unit_id"]]
    near = within(own, row["before"] - YEAR, row[until])
    return near["start"].max() if len(near) else None


def burned_references(rows: pd.DataFrame, treatments: pd.DataFrame) -> pd.Series:
    """Why reference units of a comparison are no unburned ground, None where they are.

    Ground that burned in the year before the first picture still answers that fire.
    """
    burns = burns_of(treatments)

    def reason(row: pd.Series) -> str | None:
        if row["role"] != "reference":
            return None
        day = _last_burn(row, burns, "after")
        return None if day is None else f"burned on {day:%Y-%m-%d}: it is no unburned ground"

    told = [reason(row) for _, row in rows.iterrows()]
    return pd.Series(told, index=rows.index, dtype=object)


def burned_before_words(row: pd.Series, treatments: pd.DataFrame) -> str | None:
    """That a unit had burned in the year before the first picture too, None where it had not."""
    day = _last_burn(row, burns_of(treatments), "before")
    if row["role"] != "burned" or day is None:
        return None
    return f"it had burned on {day:%Y-%m-%d} too, within a year before the first picture"
