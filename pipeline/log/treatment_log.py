"""The log of treatments: which rows can be used, and what they say was done in a span of days."""

import pandas as pd

from pipeline.log.days import day_of

NO_TREATMENTS = ("rest", "move")
"""A rest leaves the stand alone; stock that moved is a treatment by the days it grazed."""


YEAR = pd.Timedelta(days=365)
DAY = pd.Timedelta(days=1)


def keep_usable_rows(treatments: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    """Layer ``usable_log``: the rows that can be used, in the order of their days.

    A row without a last day ends on its first. One that is only planned is an open plan.
    """
    usable = treatments[why_left_out(treatments, units).map(len) == 0]
    return _by_day(usable[usable["start"].notna()])


def keep_open_plans(treatments: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    """Layer ``open_plans``: rows with a planned day and no first day, on their planned days."""
    usable = treatments[why_left_out(treatments, units).map(len) == 0]
    plans = usable[usable["start"].isna()]
    return _by_day(plans.assign(start=plans["planned_start"], end=plans["planned_end"]))


def _by_day(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows with a last day, in the order of their days."""
    whole = rows.assign(end=rows["end"].fillna(rows["start"]))
    return whole.sort_values(["start", "kind", "unit_id"], kind="stable")


def keep_done(usable_log: pd.DataFrame, property: pd.DataFrame) -> pd.DataFrame:
    """Layer ``treatment_log``: what was done up to the day the plan is looked at from.

    A property without such a day has done all that its log tells.
    """
    as_of = property["as_of"].iloc[0]
    if pd.isna(as_of):
        return usable_log
    done = usable_log[usable_log["start"] <= as_of]
    return done.assign(end=done["end"].clip(upper=pd.Timestamp(as_of)))


def keep_planned(
    usable_log: pd.DataFrame, property: pd.DataFrame, open_plans: pd.DataFrame
) -> pd.DataFrame:
    """Layer ``planned_log``: what the log tells of the days after that day, this season's.

    What begins after the year of the season is for the plan of a later one. Without such a day
    nothing but open plans is planned.
    """
    as_of = property["as_of"].iloc[0]
    if pd.isna(as_of):
        return open_plans
    told = pd.concat([usable_log, open_plans]) if len(open_plans) else usable_log
    planned = told[(told["end"] > as_of) & ~is_later(told, property)]
    dated = planned.assign(start=planned["start"].clip(lower=pd.Timestamp(as_of) + DAY))
    return _by_day(dated) if len(open_plans) else dated


def is_later(usable_log: pd.DataFrame, property: pd.DataFrame) -> "pd.Series[bool]":
    """Whether each row is still to come and begins after the year of the season."""
    ends = day_of(int(property["season"].iloc[0]), "12-31")
    return usable_log["start"] > max(ends, property["as_of"].iloc[0])


OBSTACLES = (
    "no_unit",
    "unknown_unit",
    "no_first_day",
    "ends_before_it_begins",
    "doubled",
    "filled_in",
)
"""What keeps a row of the log from being used. doubled: a grazing that another row tells in every
cell, whose animals count once. filled_in: a planned row that stands a second time, as the blank log
has it; the row of the blank log counts."""


def why_left_out(treatments: pd.DataFrame, units: pd.DataFrame) -> pd.Series:
    """Codes of all that keeps each row of the log from being used; none where it can be.

    Where there is no first day, the planned one stands for it.
    """
    unit_id, is_plan = treatments["unit_id"], treatments["start"].isna()
    start = treatments["start"].fillna(treatments["planned_start"])
    end = treatments["end"].mask(is_plan, treatments["planned_end"])
    flags = (
        unit_id.isna(),
        unit_id.notna() & ~unit_id.isin(units["unit_id"]),
        start.isna(),
        end < start,
        treatments["kind"].eq("graze") & treatments.duplicated() & start.notna(),
        _is_filled_in(treatments, start),
    )
    rows = zip(*flags, strict=True)
    codes = [tuple(code for code, met in zip(OBSTACLES, row, strict=True) if met) for row in rows]
    return pd.Series(codes, index=treatments.index, dtype=object)


def _is_filled_in(treatments: pd.DataFrame, start: pd.Series) -> "pd.Series[bool]":
    """Whether each row is the planned one that a row of the blank log names as its plan.

    The blank log names a planned row by kind, unit and first day. Of several rows alike so many are
    filled in as name them.
    """
    keys = ["unit_id", "kind", "day"]
    told = treatments[["unit_id", "kind"]].assign(
        day=start.where(treatments["plan"].isna(), treatments["planned_start"])
    )
    name = told["kind"] + ":" + told["unit_id"] + ":" + told["day"].dt.strftime("%Y-%m-%d")
    own = treatments["plan"].str.replace(r":\d{1,2}$", "", regex=True)
    names_it = treatments["plan"].notna() & (own.eq(name) | treatments["plan"].eq(name))
    naming = told[names_it].groupby(keys).size().rename("naming")
    of_key = told.merge(naming.reset_index(), on=keys, how="left")["naming"].to_numpy()
    plain = treatments["plan"].isna()
    place = told[plain].groupby(keys).cumcount().reindex(told.index)
    return plain & place.lt(pd.Series(of_key, told.index).fillna(0)).fillna(False)


def treated_share(events: pd.DataFrame, units: pd.DataFrame) -> pd.Series:
    """Part of its unit's acres that each event took: 1 for all, and where no acres are told."""
    whole_ac = events["unit_id"].map(units.set_index("unit_id")["gross_ac"]).astype("float64")
    share = events["acres_treated_ac"].astype("float64") / whole_ac
    return share.fillna(1.0).clip(upper=1.0)


def treatments_of(treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Treatments of the log with their first and last day. A rest or move is none."""
    columns = ["unit_id", "start", "end", "kind"]
    return treatment_log.loc[~treatment_log["kind"].isin(NO_TREATMENTS), columns]


def burns_of(treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Burns of the log with their first and last day."""
    treatments = treatments_of(treatment_log)
    return treatments[treatments["kind"] == "burn"]


def within(events: pd.DataFrame, after: pd.Timestamp, until: pd.Timestamp) -> pd.DataFrame:
    """Events that reach into the days after ``after`` and until ``until``, that day included."""
    return events[(events["start"] <= until) & (events["end"] > after)]


def event_words(events: pd.DataFrame) -> str | None:
    """Events in words, each with its days, or None where there are none."""
    return "; ".join(_each_in_words(events)) or None


def _each_in_words(events: pd.DataFrame) -> pd.Series:
    """Each event in words, with its days."""
    first, last = (events[day].dt.strftime("%Y-%m-%d") for day in ("start", "end"))
    until = (" to " + last).where(events["end"] > events["start"], "")
    return (events["kind"] + " " + first + until).astype(object)


def mark_treatments(scenes: pd.DataFrame, treatment_log: pd.DataFrame) -> list[str | None]:
    """What was done to each unit since its picture before, in words; None where nothing was.

    The first picture of a unit looks back a year. ``scenes`` has a ``unit_id`` and a ``date`` for
    each picture.
    """
    keys = ["unit_id", "date"]
    dates = scenes[keys].drop_duplicates().sort_values("date")
    since = dates.groupby("unit_id")["date"].shift().fillna(dates["date"] - YEAR)
    both = dates.assign(since=since).merge(treatments_of(treatment_log), on="unit_id")
    done = both[(both["start"] <= both["date"]) & (both["end"] > both["since"])]
    told = done.assign(words=_each_in_words(done)).groupby(keys)["words"].agg("; ".join)
    words = scenes[keys].merge(told.rename("words").reset_index(), on=keys, how="left")["words"]
    return list(words.astype(object).where(words.notna(), None))
