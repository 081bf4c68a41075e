"""What the log says of a comparison: burned references, burns of the year before, or none."""

import pandas as pd

from pipeline.log.treatment_log import YEAR, burns_of, event_words, treatments_of, within


def _last_burn(row: pd.Series, burns: pd.DataFrame, until: str) -> pd.Timestamp | None:
    """First day of the last burn of a unit from a year before the first picture, None for none."""
    own = burns[burns["unit_id"] == row["unit_id"]]
    near = within(own, row["before"] - YEAR, row[until])
    return near["start"].max() if len(near) else None


def burned_references(rows: pd.DataFrame, treatment_log: pd.DataFrame) -> pd.Series:
    """Why reference units of a comparison are no unburned ground, None where they are.

    Ground that burned in the year before the first picture still answers that fire.
    """
    burns = burns_of(treatment_log)

    def reason(row: pd.Series) -> str | None:
        if row["role"] != "reference":
            return None
        day = _last_burn(row, burns, "after")
        return None if day is None else f"burned on {day:%Y-%m-%d}: it is no unburned ground"

    told = [reason(row) for _, row in rows.iterrows()]
    return pd.Series(told, index=rows.index, dtype=object)


def burn_words(row: pd.Series, treatment_log: pd.DataFrame) -> list[str]:
    """What the log says against a burned unit of a comparison: no burn between, or one before."""
    if row["role"] != "burned" or treatment_log.empty:
        return []
    burns = burns_of(treatment_log)
    own, words = burns[burns["unit_id"] == row["unit_id"]], []
    if not ((own["start"] > row["before"]) & (own["end"] < row["after"])).any():
        words.append("no burn of it is on record from after the first picture to before the second")
    events = treatments_of(treatment_log)
    own = events[(events["unit_id"] == row["unit_id"]) & (events["kind"] != "burn")]
    if others := event_words(within(own, row["before"], row["after"])):
        words.append(f"also on record between the pictures, and in the change: {others}")
    day = _last_burn(row, burns, "before")
    if day is not None:
        words.append(f"it had burned on {day:%Y-%m-%d}, within a year before the first picture")
    return words


def loss_is_explained(row: pd.Series, treatment_log: pd.DataFrame) -> bool:
    """Whether something on record was done to a unit between the pictures of a comparison."""
    events = treatments_of(treatment_log)
    own = events[events["unit_id"] == row["unit_id"]]
    return not within(own, row["before"], row["after"]).empty
