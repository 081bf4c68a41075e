"""The years of each unit: state, work, greenness against unburned units, plants, fuel, grazing."""

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.treatment_log import event_words
from pipeline.season.road.layers import ROAD_YEARS
from pipeline.season.road.records import distinct_rows

MIDSUMMER = "07-20"


MOST_DAYS = 35
"""A picture this many days off midsummer still shows it. Common practice, no source."""


FEWEST_ALIKE = 3
"""Unburned units of the same kind of ground from which on those alone count."""


SWARDLESS = ("cropped", "establishing")
"""States whose greenness is no yardstick for a sward."""


def tell_road_years(
    units: pd.DataFrame,
    road_records: pd.DataFrame,
    road_moves: pd.DataFrame,
    treatment_log: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    community: pd.DataFrame,
    standing: pd.DataFrame,
    grazing: pd.DataFrame,
    property: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``road_years``: one row for each unit and each year of the property's record."""
    as_of = property["as_of"].iloc[0]
    days = pd.concat([road_records["day"], treatment_log["start"], standing["date"]]).dropna()
    if units.empty or (days.empty and pd.isna(as_of)):
        return empty(ROAD_YEARS)
    until = days.max() if pd.isna(as_of) else as_of
    last = int(until.year)
    first = min(int(days.dt.year.min()), last) if len(days) else last
    index = pd.MultiIndex.from_product(
        [units["unit_id"], range(first, last + 1)], names=["unit_id", "year"]
    )
    years = pd.DataFrame(index=index).reset_index()
    years["state"] = _states(years, road_moves)
    parts = (
        _work(treatment_log),
        _shares(road_records),
        _newest(community, until, "surveyed", ["native_share_pct", "cool_exotic_share_pct"]),
        _newest(standing, until, "fuel_on", ["mean_lb_ac"]).rename(
            columns={"mean_lb_ac": "fuel_lb_ac"}
        ),
        _grazing(grazing),
    )
    for part in parts:
        years = years.merge(part, on=["unit_id", "year"], how="left")
    return _greenness(years, units, zone_scenes).reindex(columns=ROAD_YEARS.column_names)


def _states(years: pd.DataFrame, road_moves: pd.DataFrame) -> list[str]:
    """State of each unit at the end of each year: that of its newest move until then."""
    by_unit = dict(list(road_moves.sort_values("number").groupby("unit_id")))
    states = []
    for unit_id, year in zip(years["unit_id"], years["year"], strict=True):
        moves = by_unit[unit_id]
        until = moves[moves["day"].isna() | (moves["day"].dt.year <= year)]
        states.append(str(until["to_state"].iloc[-1]))
    return states


def _work(treatment_log: pd.DataFrame) -> pd.DataFrame:
    """What the log has of each unit and year, in words; rests are told too."""
    rows = distinct_rows(treatment_log)
    told = [
        {"unit_id": unit_id, "year": int(year), "treatments": event_words(events)}
        for (unit_id, year), events in rows.groupby(["unit_id", rows["start"].dt.year])
    ]
    return pd.DataFrame(told, columns=["unit_id", "year", "treatments"])


def _shares(road_records: pd.DataFrame) -> pd.DataFrame:
    """Share of each unit that burned and that was seeded in each year."""
    shares = road_records.assign(
        year=road_records["day"].dt.year,
        kind=road_records["event"].str.removeprefix("part_"),
    )
    most = shares.pivot_table(
        index=["unit_id", "year"], columns="kind", values="share_pct", aggfunc="max"
    )
    most = most.reindex(columns=["burn", "seed"]).set_axis(["burned_pct", "seeded_pct"], axis=1)
    return most.reset_index()


def _newest(frame: pd.DataFrame, until: pd.Timestamp, day: str, columns: list[str]) -> pd.DataFrame:
    """The newest row of each unit and year until a day, with its day under a name of its own."""
    told = frame.loc[frame["date"] <= until, ["unit_id", "date", *columns]]
    rows = pd.DataFrame(told).rename(columns={"date": day})
    rows = rows.assign(year=rows[day].dt.year).sort_values(day, kind="stable")
    return rows.groupby(["unit_id", "year"], as_index=False).tail(1)


def _grazing(grazing: pd.DataFrame) -> pd.DataFrame:
    """Days with animals and animal-unit months of each unit and year."""
    groups = grazing.groupby(["unit_id", "year"])
    # One grazing without its head makes the sum unknown: missing must not count as nothing.
    months = groups["aum"].agg(lambda values: values.sum(skipna=False))
    told = pd.DataFrame({"grazed_days": groups["days"].sum(), "grazed_aum": months})
    return told.reset_index()


def _greenness(years: pd.DataFrame, units: pd.DataFrame, zone_scenes: pd.DataFrame) -> pd.DataFrame:
    """Add midsummer greenness and its gap to the units that did not burn in this year or the last.

    Of a unit in a year the usable picture nearest to midsummer counts. Only units of the same
    picture day are held against each other, those of the same kind of ground where there are so
    many.
    """
    told = years.merge(_midsummer(zone_scenes), on=["unit_id", "year"], how="left")
    told["cover"] = told["unit_id"].map(dict(zip(units["unit_id"], units["cover"], strict=True)))
    burned = told.loc[told["burned_pct"] > 0, ["unit_id", "year"]]
    lately = set(zip(burned["unit_id"], burned["year"], strict=True))
    lately |= {(unit_id, year + 1) for unit_id, year in lately}
    keys = zip(told["unit_id"], told["year"], strict=True)
    rested = np.array([key not in lately for key in keys], dtype=bool)
    stands = ~told["state"].isin(SWARDLESS) & rested
    alike, all_of_day = (_others(told, stands, by) for by in (["pictured", "cover"], ["pictured"]))
    chosen = alike.where(alike["references"] >= FEWEST_ALIKE, all_of_day)
    gap = told["greenness"] - chosen["mean"]
    count = chosen["references"].where(told["greenness"].notna())
    return told.assign(greenness_gap=gap, references=count.astype("Int64"))


def _midsummer(zone_scenes: pd.DataFrame) -> pd.DataFrame:
    """The usable picture of each unit and year that is nearest to midsummer."""
    usable = zone_scenes[zone_scenes["reason"].isna() & zone_scenes["mean"].notna()]
    pictures = usable[["unit_id", "date", "mean"]].assign(year=usable["date"].dt.year)
    middle = pd.to_datetime(pictures["year"].astype(str) + f"-{MIDSUMMER}")
    pictures = pictures.assign(off=(pictures["date"] - middle).abs().dt.days)
    near = pictures[pictures["off"] <= MOST_DAYS].sort_values("off", kind="stable")
    first = near.drop_duplicates(["unit_id", "year"]).drop(columns="off")
    return first.rename(columns={"date": "pictured", "mean": "greenness"})


def _others(told: pd.DataFrame, stands: pd.Series, by: list[str]) -> pd.DataFrame:
    """Mean greenness of the unburned units of a group other than the unit itself, and how many."""
    counted = told["greenness"].where(stands)
    groups = counted.groupby([told[name] for name in by])
    count = groups.transform("count").fillna(0) - counted.notna()
    total = groups.transform("sum").fillna(0.0) - counted.fillna(0.0)
    return pd.DataFrame({"mean": total / count.where(count > 0), "references": count})
