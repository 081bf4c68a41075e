"""The log of treatments: which rows can be used, and what they say was done in a span of days."""

from collections.abc import Iterator

import pandas as pd

NO_TREATMENT = "rest"


YEAR = pd.Timedelta(days=365)


def keep_usable_rows(treatments: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    """Layer ``treatment_log``: rows that can be used, in the order of their days.

    A row without a last day ends on its first.
    """
    usable = treatments[why_left_out(treatments, units).isna()]
    whole = usable.assign(end=usable["end"].fillna(usable["start"]))
    return whole.sort_values(["start", "kind", "unit_id"], kind="stable")


def why_left_out(treatments: pd.DataFrame, units: pd.DataFrame) -> pd.Series:
    """Why each row of the log cannot be used, None where it can."""
    known = set(units["unit_id"])
    words = [" and ".join(_faults(row, known)) or None for row in treatments.itertuples()]
    return pd.Series(words, index=treatments.index, dtype=object)


def _faults(row, known: set[str]) -> Iterator[str]:  # type: ignore[no-untyped-def]
    """What keeps one row from being used."""
    if pd.isna(row.unit_id):
        yield f"the {row.kind} names no unit"
    elif row.unit_id not in known:
        yield f'unit "{row.unit_id}" is not on the map'
    if pd.isna(row.start):
        yield f"the {row.kind} has no first day"
    elif row.end < row.start:
        yield (
            f"the {row.kind} ends on {row.end:%Y-%m-%d}, before it begins on {row.start:%Y-%m-%d}"
        )


def done(treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Treatments of the log with their first and last day; rest is none."""
    columns = ["unit_id", "start", "end", "kind"]
    return treatment_log.loc[treatment_log["kind"] != NO_TREATMENT, columns]


def burns_of(treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Burns of the log with their first and last day."""
    rows = done(treatment_log)
    return rows[rows["kind"] == "burn"]


def within(events: pd.DataFrame, after: pd.Timestamp, until: pd.Timestamp) -> pd.DataFrame:
    """Events that reach into the days after ``after`` and until ``until``, that day included."""
    return events[(events["start"] <= until) & (events["end"] > after)]


def told(events: pd.DataFrame) -> str | None:
    """Events as words, None for none."""
    words = [
        f"{row.kind} {row.start:%Y-%m-%d}"
        + (f" to {row.end:%Y-%m-%d}" if row.end > row.start else "")
        for row in events.itertuples()
    ]
    return "; ".join(words) or None


def mark_treatments(scenes: pd.DataFrame, treatment_log: pd.DataFrame) -> list[str | None]:
    """What was done to each unit since its picture before, a year for the first, None for none.

    ``scenes`` has a ``unit_id`` and a ``date`` for each picture.
    """
    events = dict(list(done(treatment_log).groupby("unit_id")))
    dates = scenes[["unit_id", "date"]].drop_duplicates().sort_values("date")
    since = dates.assign(since=dates.groupby("unit_id")["date"].shift())
    since["since"] = since["since"].fillna(since["date"] - YEAR)
    rows = scenes[["unit_id", "date"]].merge(since, on=["unit_id", "date"], how="left")
    return [
        told(within(events[row.unit_id], row.since, row.date)) if row.unit_id in events else None
        for row in rows.itertuples()
    ]
