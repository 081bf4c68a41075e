"""Planned work: the burns and seedings of the property file and the log's days still to come.

What the log has as done is planned no longer.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from itertools import chain, count
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.ground.overlays import common, united
from pipeline.log.days import day_of
from pipeline.work.layers import PLANNED_WORK


def list_planned_work(
    units: gpd.GeoDataFrame,
    burns: pd.DataFrame,
    seedings: pd.DataFrame,
    planned_log: pd.DataFrame,
    treatment_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    fuel: pd.DataFrame,
    property: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``planned_work``: what is planned, unit by unit, with its days.

    A burn without days of its own may fall on any day of its unit's fuel window; one without a
    window has no days. A unit on which the log has the burn or sowing done is left out; where a
    part of it has burned, the acres are those left.
    """
    of_file = work_of_file(units, burns, seedings, fuel)
    taken = {work_id for part in of_file for work_id in part["work_id"]}
    season = int(property["season"].iloc[0])
    records = acres_on_record(treatment_log, units, burned_areas)
    of_file = [
        part.assign(work_ac=left_to_burn_ac(part, records, season))[
            done_on(part, records, season).isna()
        ]
        for part in of_file
    ]
    parts = [part for part in (*of_file, _logged(planned_log, units, taken)) if len(part)]
    if not parts:
        return empty(PLANNED_WORK, units.crs)
    rows = pd.concat(parts, ignore_index=True).reindex(columns=PLANNED_WORK.column_names)
    ground = units.set_index("unit_id")["geometry"]
    return gpd.GeoDataFrame(rows, geometry=list(rows["unit_id"].map(ground)), crs=units.crs)


def work_of_file(
    units: pd.DataFrame, burns: pd.DataFrame, seedings: pd.DataFrame, fuel: pd.DataFrame
) -> list[pd.DataFrame]:
    """Burns and seedings of the property file, done or not."""
    return [_burns(burns, fuel, units), _seedings(seedings, units)]


def _burns(burns: pd.DataFrame, fuel: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    window = fuel.set_index("unit_id")[["burn_from", "burn_until"]]
    own = burns["first_day"].notna()
    opens, closes = (window[day].reindex(burns["unit_id"]) for day in ("burn_from", "burn_until"))
    first = burns["first_day"].where(own, opens.to_numpy())
    last = burns["last_day"].where(own, closes.to_numpy())
    days_from = pd.Series("property_file", burns.index).where(own, "fuel_window")
    return burns[["block", "unit_id", "wind_from_deg"]].assign(
        work_id="burn:" + burns["block"],
        kind="burn",
        first_day=first,
        last_day=last,
        days_from=days_from.mask(first.isna() & last.isna(), "none"),
        work_ac=burns["unit_id"].map(units.set_index("unit_id")["burnable_ac"]),
    )


def _seedings(seedings: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    return seedings[["area", "unit_id", "mix", "method"]].assign(
        work_id="seed:" + seedings["area"],
        kind="seed",
        first_day=seedings["planting"],
        last_day=seedings["planting"],
        days_from=seedings["planting"].isna().map({True: "none", False: "property_file"}),
        work_ac=seedings["unit_id"].map(units.set_index("unit_id")["seedable_ac"]),
    )


NEAR_DAYS = 60
"""A record from so many days before the first day planned on is of that work, no other one."""


WHOLE_SHARE = 0.999
"""A record of acres that are this share of the unit or more concerns all of it."""


DRAWN_SHARE = 0.95
"""Drawn ground of a burn that is this share of the unit or more is all of it: a walked perimeter
lies some feet inside. *Source*: common practice, no source."""


def acres_on_record(
    treatment_log: pd.DataFrame, units: gpd.GeoDataFrame, burned_areas: gpd.GeoDataFrame
) -> pd.DataFrame:
    """Rows of the log with ``record_ac`` [ac] and ``drawn``, the ground of a burn in part.

    The acres are those told, else those drawn; all of the unit where neither is known, or where
    the ground drawn is nearly all of it. ``whole_ac`` is the unit's gross area, and ``ac_per_m2``
    its acres on the ellipsoid by its area on the map [m²].
    """
    gross = units.set_index("unit_id")["gross_ac"]
    ground = dict(zip(units["unit_id"], units.geometry, strict=True))
    parts = {
        (unit, day): common(ground[unit], united(of_burn.geometry.to_numpy()))
        for (unit, day), of_burn in burned_areas.groupby(["unit_id", "date"])
        if unit in ground
    }
    untold = treatment_log["acres_treated_ac"].isna() & treatment_log["kind"].eq("burn")
    keys = zip(treatment_log["unit_id"], treatment_log["start"], strict=True)
    drawn = [parts.get(key) if burn else None for key, burn in zip(keys, untold, strict=True)]
    shares = [
        1.0 if part is None else part.area / ground[unit].area
        for part, unit in zip(drawn, treatment_log["unit_id"], strict=True)
    ]
    whole_ac = treatment_log["unit_id"].map(gross)
    share = pd.Series(shares, treatment_log.index, dtype=float)
    acres = treatment_log["acres_treated_ac"].fillna(
        whole_ac * share.where(share < DRAWN_SHARE, 1.0)
    )
    pieces = pd.Series(drawn, treatment_log.index, dtype=object).where(share < DRAWN_SHARE, None)
    ac_per_m2 = treatment_log["unit_id"].map(gross / units.set_index("unit_id").area)
    return treatment_log.assign(
        record_ac=acres, whole_ac=whole_ac, drawn=pieces, ac_per_m2=ac_per_m2
    )


def done_on(work: pd.DataFrame, records: pd.DataFrame, season: int) -> "pd.Series[pd.Timestamp]":
    """Day on which work of the property file was done by the records of its unit; else not known.

    One record of all of the unit does it; acres of several burns add up, since a burn may take
    days. Acres of several sowings do not: two mixes may lie on one ground.
    """
    days = []
    for row, mine in _records_of(work, records, season):
        whole = mine.loc[mine["record_ac"] >= WHOLE_SHARE * mine["whole_ac"], "start"].min()
        reached = [
            day
            for day in sorted(mine["start"].unique())
            if row["kind"] == "burn" and _is_reached(row, mine[mine["start"] <= day])
        ]
        days.append(min([whole, *reached[:1]], key=lambda day: (pd.isna(day), day)))
    return pd.Series(days, index=work.index, dtype="datetime64[s]")


def left_to_burn_ac(work: pd.DataFrame, records: pd.DataFrame, season: int) -> "pd.Series[float]":
    """Acres that each piece of work concerns, less what of a burn is on record as done."""
    left = [
        row["work_ac"] - (_burned_ac(mine) if row["kind"] == "burn" else 0.0)
        for row, mine in _records_of(work, records, season)
    ]
    return pd.Series(left, index=work.index, dtype=float).clip(lower=0.0)


def _records_of(
    work: pd.DataFrame, records: pd.DataFrame, season: int
) -> Iterator[tuple[dict[Any, Any], pd.DataFrame]]:
    """Each piece of work with the records that may be of it, by unit, kind and day.

    Work without days of its own is done by any record from the first day of the season's year on.
    """
    for row in work.to_dict("records"):
        own = row["days_from"] == "property_file"
        since = row["first_day"] - pd.Timedelta(days=NEAR_DAYS) if own else day_of(season, "01-01")
        same = records["unit_id"].eq(row["unit_id"]) & records["kind"].eq(row["kind"])
        yield row, records[same & records["start"].ge(since)]


def _is_reached(work: Mapping[Any, Any], records: pd.DataFrame) -> bool:
    """Whether burns add up to the acres that were planned."""
    share = DRAWN_SHARE if records["drawn"].notna().any() else WHOLE_SHARE
    return bool(_burned_ac(records) >= share * work["work_ac"])


def _burned_ac(records: pd.DataFrame) -> float:
    """Acres of some burns of one unit; ground that was drawn twice counts once."""
    pieces = records[records["drawn"].notna()]
    told_ac = float(records.loc[records["drawn"].isna(), "record_ac"].sum())
    if pieces.empty:
        return told_ac
    return told_ac + float(united(pieces["drawn"].to_list()).area * pieces["ac_per_m2"].iloc[0])


def _logged(planned_log: pd.DataFrame, units: pd.DataFrame, taken: Collection[str]) -> pd.DataFrame:
    """Each row of the log's future but those of the property file's own work."""
    planned_log = planned_log[~planned_log["plan"].isin(list(taken))]
    whole = planned_log["unit_id"].map(units.set_index("unit_id")["gross_ac"])
    return planned_log[["unit_id", "kind", "head", "mix"]].assign(
        work_id=logged_work_ids(planned_log, taken),
        first_day=planned_log["start"],
        last_day=planned_log["end"],
        days_from="log",
        work_ac=planned_log["acres_treated_ac"].fillna(whole),
    )


def logged_work_ids(planned_log: pd.DataFrame, taken: Collection[str]) -> list[str]:
    """Names of the rows of the log's future: what, where and its first day.

    A name that is ``taken``, by a block or by a row of the same kind, unit and day, is numbered.
    """
    name = planned_log["kind"] + ":" + planned_log["unit_id"]
    name += ":" + planned_log["start"].dt.strftime("%Y-%m-%d")
    return _numbered(name, taken)


def _numbered(names: Iterable[str], taken: Collection[str]) -> list[str]:
    """Names that stand for one thing each: the second one of a name ends in 2, and so on."""
    used, numbered = set(taken), []
    for name in names:
        ways = chain([name], (f"{name}:{nth}" for nth in count(2)))
        own = next(way for way in ways if way not in used)
        used.add(own)
        numbered.append(own)
    return numbered
