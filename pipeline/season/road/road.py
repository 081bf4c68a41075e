"""Where each unit stands on the road of recovery today, and what would move it on."""

import geopandas as gpd
import pandas as pd

from pipeline.season.history import burns_within
from pipeline.season.road.layers import MISSING, PART_EVENTS, ROAD
from pipeline.season.road.moves import SPAN_YEARS
from pipeline.season.road.rules import moves_on, read_road_rules
from pipeline.season.rules import Facts

LOOKED_AT = ("survey", "greenness")


WAITS_FOR_A_LOOK = ("inherited", "waiting", "answered", "recovering", "establishing")
"""States that a survey may move."""


BURNS_NEXT = ("inherited", "resting", "waiting", "answered", "recovering")
"""States that a burn of fuel that carries may move."""


SEEDED = ("establishing", "established")


def tell_road(
    units: gpd.GeoDataFrame,
    road_records: pd.DataFrame,
    road_moves: pd.DataFrame,
    road_rules: pd.DataFrame,
    fuel: pd.DataFrame,
    property: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``road``: the newest move of each unit, with what it rests on and what is missing."""
    rules, _ = read_road_rules(road_rules)
    season = int(property["season"].iloc[0])
    covers = dict(zip(units["unit_id"], units["cover"], strict=True))
    newest = road_moves.sort_values("number").groupby("unit_id").tail(1).set_index("unit_id")
    carries = dict(zip(fuel["unit_id"], fuel["carries"], strict=True))
    by_unit = dict(list(road_records.groupby("unit_id")))
    none = road_records.iloc[:0]
    rows = []
    for unit_id, move in newest.iterrows():
        records = by_unit.get(unit_id, none)
        records = records[records["event"] != "year_end"]
        told = _told(records, move) | {"carries": carries.get(unit_id, "unknown")}
        rows.append(
            told
            | {name: move[name] for name in ("moved_by", "rule", "reason", "source")}
            | {
                "unit_id": unit_id,
                "state": move["to_state"],
                "since": move["day"],
                "moves_on": moves_on(
                    rules, move["to_state"], _standing(records, season, covers[unit_id])
                ),
                "rests_on": _rests_on(move["event"], records),
                "missing": _missing(move, told, records),
            }
        )
    frame = pd.DataFrame(rows, columns=ROAD.column_names)
    return units[["unit_id", "geometry"]].merge(frame, on="unit_id")


def _told(records: pd.DataFrame, move: pd.Series) -> dict[str, object]:
    """Burns, overseeding, work on a part and the newest survey of one unit."""
    last = records["day"].max()
    burns = records.loc[records["event"] == "burn", "day"].dt.year
    surveys = records[records["event"] == "survey"]
    newest = surveys.iloc[-1] if len(surveys) else None
    part = last_part(records, move["day"])
    seeds = records.loc[records["event"] == "seed", "day"]
    onto_sward = move["event"] != "seed" and len(seeds) and move["to_state"] not in SEEDED
    return {
        "whole_burns": int((burns > last.year - SPAN_YEARS).sum()) if len(records) else 0,
        "overseeded": seeds.max() if onto_sward else None,
        "part_on": None if part is None else part["day"],
        "part_done": None if part is None else part["event"],
        "part_pct": None if part is None else part["share_pct"],
        "surveyed": None if newest is None else newest["day"],
        "native_share_pct": None if newest is None else newest["native_share_pct"],
    }


def _standing(records: pd.DataFrame, season: int, cover: str | None) -> Facts:
    """What a rule of the coming season would find: burns, years since, kind of ground."""
    years = {
        event: sorted(records.loc[records["event"] == event, "day"].dt.year)
        for event in ("burn", "seed")
    }
    burned, seeded = years["burn"], years["seed"]
    return {
        "cover": cover,
        "burns_in_10_years": float(burns_within(burned, season, SPAN_YEARS)),
        "years_since_burn": float(season - burned[-1]) if burned else None,
        "years_since_seeding": float(season - seeded[-1]) if seeded else None,
    }


def last_part(records: pd.DataFrame, since: pd.Timestamp | None) -> pd.Series | None:
    """The last work on a part of a unit after a day, unless the year's work took the greater part.

    ``since`` None or missing: from the beginning.
    """
    parts = records[records["event"].isin(PART_EVENTS)]
    if pd.notna(since):
        parts = parts[parts["day"] > since]
    whole = set(zip(records["event"], records["day"].dt.year, strict=True))
    keys = zip(parts["event"].str.removeprefix("part_"), parts["day"].dt.year, strict=True)
    left = parts[[key not in whole for key in keys]]
    return left.iloc[-1] if len(left) else None


def _rests_on(event: str, records: pd.DataFrame) -> str:
    """Code of what the newest move rests on."""
    if event == "start":
        return "cover" if len(records) else "nothing"
    if event in LOOKED_AT:
        return event
    return "time" if event == "year_end" else "log"


def _missing(move: pd.Series, told: dict[str, object], records: pd.DataFrame) -> str | None:
    """Codes of what is not known of a unit, with commas between."""
    state, since, surveyed = move["to_state"], move["day"], told["surveyed"]
    looked = surveyed is not None and (pd.isna(since) or surveyed >= since)
    met = {
        "record": records.empty,
        "survey": state in WAITS_FOR_A_LOOK and not looked,
        "survey_before_burn": state == "waiting" and looked,
        "fuel": state in BURNS_NEXT and told["carries"] == "unknown",
    }
    return ", ".join(code for code in MISSING if met.get(code)) or None
