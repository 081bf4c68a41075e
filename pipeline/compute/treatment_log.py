"""What the log of treatments says was done to units in a span of days."""

import pandas as pd

NO_TREATMENT = "rest"
YEAR = pd.Timedelta(days=365)


def done(treatments: pd.DataFrame) -> pd.DataFrame:
    """Treatments with a first and a last day, in order; rest is none."""
    rows = treatments.loc[treatments["kind"] != NO_TREATMENT, ["unit_id", "start", "end", "kind"]]
    return rows.assign(end=rows["end"].fillna(rows["start"])).sort_values(["start", "kind"])


def burns_of(treatments: pd.DataFrame) -> pd.DataFrame:
    """Burns of the log, with a first and a last day."""
    rows = done(treatments)
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


def mark_treatments(scenes: pd.DataFrame, treatments: pd.DataFrame) -> list[str | None]:
    """What was done to each unit since its picture before, a year for the first, None for none.

    ``scenes`` has a ``unit_id`` and a ``date`` for each picture.
    """
    events = dict(list(done(treatments).groupby("unit_id")))
    dates = scenes[["unit_id", "date"]].drop_duplicates().sort_values("date")
    since = dates.assign(since=dates.groupby("unit_id")["date"].shift())
    since["since"] = since["since"].fillna(since["date"] - YEAR)
    rows = scenes[["unit_id", "date"]].merge(since, on=["unit_id", "date"], how="left")
    return [
        told(within(events[row.unit_id], row.since, row.date)) if row.unit_id in events else None
        for row in rows.itertuples()
    ]
