"""The walk along the road: event by event, by the rules, never looking ahead."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.units import half_up
from pipeline.season.history import burns_within
from pipeline.season.road.layers import ROAD_MOVES
from pipeline.season.road.rules import RoadRule, read_road_rules
from pipeline.season.rules import Facts

SPAN_YEARS = 10


@dataclass
class Walk:
    """What a unit carries along: its state, since when, and the years of its greater work."""

    cover: str | None
    state: str | None = None
    since: pd.Timestamp | None = None
    burned_on: list[pd.Timestamp] = field(default_factory=list)
    seeded_on: pd.Timestamp | None = None


def walk_roads(
    units: pd.DataFrame, road_records: pd.DataFrame, road_rules: pd.DataFrame
) -> pd.DataFrame:
    """Table ``road_moves``: each unit from where it began, record by record.

    A later record never changes an earlier move, so that the road read up to any day is the
    beginning of the road read today.
    """
    rules, _ = read_road_rules(road_rules)
    by_unit = dict(list(road_records.groupby("unit_id")))
    rows = [
        move | {"unit_id": unit.unit_id, "number": number}
        for unit in units[["unit_id", "cover"]].itertuples(index=False)
        for number, move in enumerate(
            _moves(Walk(unit.cover), by_unit.get(unit.unit_id, road_records.iloc[:0]), rules), 1
        )
    ]
    return pd.DataFrame(rows, columns=ROAD_MOVES.column_names) if rows else empty(ROAD_MOVES)


def _moves(walk: Walk, records: pd.DataFrame, rules: list[RoadRule]) -> Iterator[dict[str, object]]:
    """Moves of one unit in their order; the first is where it began."""
    start = {"event": "start", "day": None}
    for record in (start, *records.to_dict("records")):
        facts = _facts(walk, record)
        tried = (rule for rule in rules if rule.is_for(record["event"], walk.state))
        rule = next((rule for rule in tried if rule.holds(facts)), None)
        _remember(walk, record)
        if rule is not None and rule.to_state is not None:
            yield _move(walk, record, rule)
            walk.state, walk.since = rule.to_state, record["day"]


def _move(walk: Walk, record: dict[Any, Any], rule: RoadRule) -> dict[str, object]:
    """Cells of one move."""
    return {
        "day": record["day"],
        "event": record["event"],
        "from_state": walk.state,
        "to_state": rule.to_state,
        "moved_by": record_words(record),
        "rule": rule.number,
        "reason": rule.reason,
        "source": rule.source,
    }


def _facts(walk: Walk, record: dict[Any, Any]) -> Facts:
    """What is known of a unit on the day of a record; what is not known is None."""
    day = record["day"]
    told = {name: value if pd.notna(value) else None for name, value in record.items()}
    last_burn = walk.burned_on[-1] if walk.burned_on else None
    before = told.get("before")
    return told | {
        "cover": walk.cover if pd.notna(walk.cover) else None,
        "burns_in_10_years": _burns(walk, day),
        "years_since_burn": _years(last_burn, day),
        "years_since_seeding": _years(walk.seeded_on, day),
        "years_in_state": _years(walk.since, day),
        "across_burn": None
        if before is None
        else "yes"
        if last_burn is not None and before < last_burn
        else "no",
    }


def _years(since: pd.Timestamp | None, day: pd.Timestamp | None) -> float | None:
    """Calendar years between two days, None where either is not known."""
    return None if since is None or day is None else float(day.year - since.year)


def _burns(walk: Walk, day: pd.Timestamp | None) -> float | None:
    """Burns of the greater part in the ten calendar years up to a day."""
    if day is None:
        return None
    return float(burns_within([burn.year for burn in walk.burned_on], day.year, SPAN_YEARS))


def _remember(walk: Walk, record: dict[Any, Any]) -> None:
    """Keep the days of burns and of the last seeding of the greater part."""
    if record["event"] == "burn":
        walk.burned_on.append(record["day"])
    if record["event"] == "seed":
        walk.seeded_on = record["day"]


WORDS_BY_EVENT = {
    "start": "as it was taken over",
    "part_burn": "burn of a part",
    "part_seed": "seeding of a part",
    "part_till": "tillage of a part",
    "till": "tillage",
    "seed": "seeding",
    "greenness": "greenness",
    "year_end": "end of the year",
}
"""Words of events that are not their own code."""


def record_words(record: dict[Any, Any]) -> str:
    """A record in words: what, its day, and its figure."""
    words = WORDS_BY_EVENT.get(record["event"], record["event"].replace("_", " "))
    if record["day"] is None:
        return words
    figures = []
    if pd.notna(record["share_pct"]) and record["share_pct"] < 100:
        figures.append(f"{half_up(record['share_pct'], 0)} % of the unit")
    if pd.notna(record["native_share_pct"]):
        figures.append(f"natives {half_up(record['native_share_pct'], 0)} %")
    if pd.notna(record["natives"]):
        figures.append(f"{record['natives']} since {record['before']:%Y-%m-%d}")
    if pd.notna(record["verdict"]):
        figures.append(record["verdict"].replace("_", " "))
    return ", ".join([f"{words} {record['day']:%Y-%m-%d}", *figures])
