"""Days on which the season's plan closes units to stock, and why."""

from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.days import day_of
from pipeline.season.herd import contracts_unapproved
from pipeline.season.limits import nesting_of_state
from pipeline.season.settings import SeasonSettings
from pipeline.work.stock.layers import CLOSED_DAYS

DAY = pd.Timedelta(days=1)


CLOSED_FOR_ALL = ("grows_fuel", "burn_recovery", "new_seeding", "rest")
"""What closes ground to stock whichever unit they came onto it from."""


ROWS = ["unit_id", "closed_by", "first_day", "last_day", "closed_ac", "work_id", "rule"]


def list_closed_days(
    units: gpd.GeoDataFrame,
    planned_work: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    season_plan: gpd.GeoDataFrame,
    held_limits: pd.DataFrame,
    nesting_seasons: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> pd.DataFrame:
    """Table ``closed_days``: stretches of days on which stock has to stay off a unit, or a part.

    They begin on the day the plan is looked at from, since days before it are done.
    """
    season = int(property["season"].iloc[0])
    as_of = property["as_of"].iloc[0]
    begin = day_of(season, "01-01") if pd.isna(as_of) else pd.Timestamp(as_of) + DAY
    whole = units.set_index("unit_id")["gross_ac"]
    planned = _planned(planned_work, whole)
    work = pd.concat([_done(treatment_log, whole), planned])
    parts = [
        _grows_fuel(planned, begin, season, settings),
        _burned(work, settings),
        _seeded(work, season, settings),
        _rested(planned),
        _contracted(held_limits, nesting_of_state(nesting_seasons, property), whole, season),
        _hayed(work, season, settings),
        _by_option(season_plan, whole, settings),
        _deferred(season_plan, whole),
    ]
    rows = pd.concat([part[ROWS] for part in parts if len(part)] or [parts[0][ROWS]])
    rows = rows.assign(first_day=rows["first_day"].clip(lower=begin))
    rows = rows[rows["first_day"] <= rows["last_day"]]
    if rows.empty:
        return empty(CLOSED_DAYS)
    rows = rows.sort_values(["unit_id", "closed_by", "first_day", "last_day"], kind="stable")
    return rows.assign(number=rows.groupby(["unit_id", "closed_by"]).cumcount() + 1)


WORK = ["unit_id", "kind", "first_day", "last_day", "closed_ac", "work_id", "method"]


def _planned(planned_work: pd.DataFrame, whole: pd.Series) -> pd.DataFrame:
    """Planned work with the acres it closes: what the log says of a part, else all of the unit.

    Of a burn or seeding of the property file all of a unit is closed, whatever part of it is
    burned or sown: stock walks. A unit without burn days of its own has those of its block.
    """
    of_unit = planned_work["unit_id"].map(whole).astype("float64")
    in_part = planned_work["days_from"] == "log"
    return planned_work.assign(
        closed_ac=of_unit.mask(in_part, planned_work["work_ac"]),
        last_day=planned_work["last_day"].fillna(
            planned_work.groupby("work_id")["last_day"].transform("max")
        ),
    )[WORK]


def _done(treatment_log: pd.DataFrame, whole: pd.Series) -> pd.DataFrame:
    """Work on record in the columns of planned work."""
    days = {"start": "first_day", "end": "last_day", "acres_treated_ac": "closed_ac"}
    done = treatment_log.rename(columns=days).assign(work_id=None)[WORK]
    return done.assign(closed_ac=done["closed_ac"].fillna(done["unit_id"].map(whole)))


def _closed(work: pd.DataFrame, closed_by: str, **columns: Any) -> pd.DataFrame:
    """Rows of work as rows of closed days."""
    return work.assign(closed_by=closed_by, rule=None).assign(**columns)


def _grows_fuel(
    planned: pd.DataFrame, begin: pd.Timestamp, season: int, settings: SeasonSettings
) -> pd.DataFrame:
    """Ground of planned burns, until the last day that the burn may fall on.

    A burn without days needs its fuel until the ground would have recovered from one.
    """
    burns = planned[planned["kind"] == "burn"]
    last = burns["last_day"].fillna(day_of(season, settings.burned_deferral_until))
    return _closed(burns, "grows_fuel", first_day=begin, last_day=last)


def _burned(work: pd.DataFrame, settings: SeasonSettings) -> pd.DataFrame:
    """Ground that burned and has not regrown: until the end of the deferral that comes next.

    *Source*: common practice, no source; what is published does not agree: Gates et al. (2017)
    found no loss from grazing in the first year.
    """
    burns = work[(work["kind"] == "burn") & work["last_day"].notna()]
    first = burns["last_day"] + DAY
    last = _next_day_of(first, settings.burned_deferral_until)
    return _closed(burns, "burn_recovery", first_day=first, last_day=last)


def _next_day_of(days: pd.Series, month_day: str) -> pd.Series:
    """The first such day of the year that is not before each day."""
    return days.map(
        lambda day: next(
            found for year in (day.year, day.year + 1) if (found := day_of(year, month_day)) >= day
        )
    ).astype("datetime64[s]")


def _seeded(work: pd.DataFrame, season: int, settings: SeasonSettings) -> pd.DataFrame:
    """New seedings, from sowing to the end of the seasons in which they establish.

    Overseeded ground is not closed: grazing it hard in the first season is a way of helping the
    seed (Helzer, 2010 and 2013).
    """
    sown = work[(work["kind"] == "seed") & (work["method"] != "overseed")]
    first = sown["first_day"].fillna(day_of(season, "01-01")).astype("datetime64[s]")
    grows_in = first.map(lambda day: day.year + int(day > day_of(day.year, settings.growing_until)))
    last = grows_in.map(lambda year: day_of(year + settings.establishment_years - 1, "12-31"))
    return _closed(sown, "new_seeding", first_day=first, last_day=last.astype("datetime64[s]"))


def _rested(planned: pd.DataFrame) -> pd.DataFrame:
    """Rests that the log tells of days still to come."""
    return _closed(planned[planned["kind"] == "rest"], "rest")


def _contracted(
    held_limits: pd.DataFrame, nesting: pd.DataFrame, whole: pd.Series, season: int
) -> pd.DataFrame:
    """Contracts and easements without an approval, on the days of the year that they hold.

    The nesting season of the state closes such ground as well.
    """
    limits = contracts_unapproved(held_limits)
    limits = limits[limits["unit_id"].isin(whole.index)]
    begins, ends = limits["first_day"].fillna("01-01"), limits["last_day"].fillna("12-31")
    spans = list(zip(limits["unit_id"], ["contract"] * len(limits), begins, ends, strict=True))
    spans += [
        (unit_id, "nesting", row.first_day, row.last_day)
        for unit_id in dict.fromkeys(limits["unit_id"])
        for row in nesting.dropna(subset=["first_day", "last_day"]).itertuples(index=False)
    ]
    rows = [
        (unit_id, code, day_of(year, begin), day_of(year + int(end < begin), end))
        for unit_id, code, begin, end in spans
        for year in (season - 1, season)
    ]
    contracts = pd.DataFrame(rows, columns=["unit_id", "closed_by", "first_day", "last_day"])
    acres = contracts["unit_id"].map(whole).astype("float64")
    return contracts.assign(closed_ac=acres, work_id=None, rule=None)


def _hayed(work: pd.DataFrame, season: int, settings: SeasonSettings) -> pd.DataFrame:
    """Ground that is cut for hay in the season: its growth is hay and no feed of the herd."""
    hay = work[(work["kind"] == "hay") & (work["first_day"].dt.year == season)]
    first = hay["first_day"].clip(upper=day_of(season, settings.growing_from))
    return _closed(hay, "hay", first_day=first, last_day=day_of(season, "12-31"))


OFF, OFF_FROM_DEFERRAL, OFF_UNTIL_DEFERRAL_ENDS, OFF_UNTIL_REGROWN = range(4)


STOCK_OFF = {
    "rest": OFF,
    "establish": OFF,
    "seed": OFF,
    "defer": OFF_FROM_DEFERRAL,
    "rest_or_graze": OFF_UNTIL_DEFERRAL_ENDS,
    "burn": OFF_UNTIL_REGROWN,
    "hay": OFF,
    "harvest": OFF,
}
"""When an option of the season plan asks for stock off, by what it comes to.

A burn asks for it before, so that fuel stands, and after, until the ground has regrown. On which
day hay or seed will be in is not known, so the whole season is closed.
"""


def _by_option(
    season_plan: pd.DataFrame, whole: pd.Series, settings: SeasonSettings
) -> pd.DataFrame:
    """Options of the season plan that ask for stock off, for the days that they ask for.

    From the growing season on to the end of the year, or what the midsummer deferral bounds.
    """
    plan = season_plan[season_plan["leads_to"].isin(STOCK_OFF)]
    growing, regrown, ends = (
        plan["year"].map(lambda year, day=day: day_of(int(year), day)).astype("datetime64[s]")
        for day in (settings.growing_from, settings.burned_deferral_until, "12-31")
    )
    off = plan["leads_to"].map(STOCK_OFF)
    return plan[["unit_id", "rule"]].assign(
        closed_by="plan_option",
        first_day=growing.mask(off == OFF_FROM_DEFERRAL, plan["stock_off_from"]),
        last_day=ends.mask(off == OFF_UNTIL_DEFERRAL_ENDS, plan["stock_off_until"]).mask(
            off == OFF_UNTIL_REGROWN, regrown
        ),
        closed_ac=plan["unit_id"].map(whole),
        work_id=None,
    )


def _deferred(season_plan: pd.DataFrame, whole: pd.Series) -> pd.DataFrame:
    """The midsummer deferral of each unit, longer on ground that burned."""
    return season_plan[["unit_id"]].assign(
        closed_by="deferral",
        first_day=season_plan["stock_off_from"],
        last_day=season_plan["stock_off_until"],
        closed_ac=season_plan["unit_id"].map(whole),
        work_id=None,
        rule=None,
    )
