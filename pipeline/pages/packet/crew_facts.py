"""What the plan knows of a burn block beyond its map: for the crew, so that none of it is blank.

All of it is planning arithmetic from the sources; what only the day can tell stays a blank line.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.names import natural_key, parted
from pipeline.pages.packet.packet_table import (
    ColumnWords,
    Filled,
    name_words,
    words_table,
)
from pipeline.pages.season_words import NEEDS, fuel_words
from pipeline.pages.words import cell_words, date_words, number_words, rows
from pipeline.pages.work_words import WINDOW_NOTE
from pipeline.season.fuel.layers import FUEL
from pipeline.season.limits import limit_words

Frames = Mapping[str, gpd.GeoDataFrame]

FUEL_COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("Unit", "unit_id", "l"),
    ("Class of load", "load_class", "l"),
    ("Spring load, lb/ac\nlikely (low to high)", "load", "r"),
    ("Measured\non", "load_date", "l"),
    ("Last burn", "last_burn", "l"),
    ("Cured from", "burn_from", "l"),
    ("Green after,\nless fuel", "burn_until_low", "l"),
    ("Green after, likely\n(early to late spring)", "burn_until", "l"),
    ("Green after,\nmore fuel", "burn_until_high", "l"),
)
"""Heading, column and side of what is told of each unit's fuel."""


FUEL_NOTE = (
    f"Days of cured and green fuel: {WINDOW_NOTE}. In brackets those of an early and of a late "
    "spring; less fuel goes with more exotics. Look at the fuel on the day."
)


def units_of(block: Mapping[Any, Any], frames: Frames) -> list[str]:
    """Units of a block, as people count."""
    return sorted(parted(block["unit_ids"], set(frames["units"]["unit_id"])), key=natural_key)


def crew_facts(block: Mapping[Any, Any], frames: Frames) -> dict[str, Any]:
    """What the page of a block has from the plan, as words."""
    units = units_of(block, frames)
    fuel = frames["fuel"][frames["fuel"]["unit_id"].isin(units)]
    return {
        "fuel": _fuel_table(units, fuel, frames["history"]),
        "fuel_note": FUEL_NOTE if fuel["burn_from"].notna().any() else "",
        "weather": weather_limits(frames["settings"]),
        "hazards": [
            *(f"{row['unit_id']}: fuel {fuel_words(row)}" for row in rows(fuel) if _lacks(row)),
            *_limits(units, frames["season_limits"]),
            *_steep(units, frames["unit_slopes"]),
            *_unburned(units, frames),
        ],
    }


def _lacks(fuel: Mapping[Any, Any]) -> bool:
    return fuel["reason"] in NEEDS


def _fuel_table(units: Sequence[str], fuel: pd.DataFrame, history: pd.DataFrame) -> Filled:
    """Fuel, the day it was measured, the last burn and the fuel's window, unit by unit."""
    fuel_of = {row["unit_id"]: row for row in rows(fuel) if pd.notna(row["load_date"])}
    burn_of = dict(zip(history["unit_id"], history["last_burn"], strict=True))
    told = [
        {"unit_id": unit, "last_burn": _burn_words(burn_of.get(unit)), **_fuel_words(fuel_of[unit])}
        if unit in fuel_of
        else {"unit_id": unit, "last_burn": _burn_words(burn_of.get(unit))}
        for unit in units
    ]
    frame = pd.DataFrame(told, columns=[name for _, name, _ in FUEL_COLUMNS], dtype=object)
    columns: list[ColumnWords] = [(*column, name_words) for column in FUEL_COLUMNS]
    return words_table(frame, columns, wide="load_class")


def _fuel_words(fuel: Mapping[Any, Any]) -> dict[str, str]:
    """Fuel of a unit that was measured; a window that there is not is a dash."""
    low, likely, high = (
        number_words(fuel[f"spring_load{end}_lb_ac"], 0) for end in ("_low", "", "_high")
    )
    return {
        "load_class": cell_words(fuel["load_class"], FUEL.column("load_class")),
        "load": f"{likely} ({low} to {high})",
        **{name: date_words(fuel[name]) for name in FUEL_DAYS},
        "burn_until": _with_scatter(fuel),
    }


def _with_scatter(fuel: Mapping[Any, Any]) -> str:
    """Likely last day of a window, and by how much springs move it, where that is known."""
    likely, early, late = (fuel[f"burn_until{end}"] for end in ("", "_early", "_late"))
    if pd.isna(early):
        return date_words(likely)
    return f"{date_words(likely)} ({early:%m-%d} to {late:%m-%d})"


FUEL_DAYS = ("load_date", "burn_from", "burn_until_low", "burn_until", "burn_until_high")


def _burn_words(day: Any) -> str:
    return "none on record" if pd.isna(day) else date_words(day)


WEATHER_PAIRS = (
    ("Temperature", "temperature_f", "°F"),
    ("Relative humidity", "humidity_pct", "%"),
    ("Wind speed", "wind_mph", "mph"),
)


def weather_limits(settings: pd.DataFrame) -> list[list[str]]:
    """The owner's own weather limits: what, lowest, highest, sign of the unit; empty if not given.

    Nothing is built in: a limit that the property file does not give stays a blank line.
    """
    of_weather = settings[settings["section"] == "weather"]
    given = of_weather[of_weather["origin"] == "property_file"].set_index("setting")["value"]
    limits = {name: f"{float(value):g}" for name, value in given.items()}
    height = limits.get("wind_height_ft")
    signs = {"wind_mph": f"mph at {height} ft" if height else "mph"}
    pairs = [
        [
            what,
            limits.get(f"lowest_{name}", ""),
            limits.get(f"highest_{name}", ""),
            signs.get(name, sign),
        ]
        for what, name, sign in WEATHER_PAIRS
    ]
    first, last = (limits.get(f"{end}_wind_from_deg", "") for end in ("first", "last"))
    return [*pairs, ["Wind from", first, last, "°, clockwise"]]


def _limits(units: Sequence[str], season_limits: pd.DataFrame) -> list[str]:
    """What contract, easement, species or nesting ask of each unit."""
    told = dict(list(season_limits.groupby("unit_id")))
    return [
        f"{unit}: {limit_words(row)}{_met(row)}"
        for unit in units
        if unit in told
        for row in rows(told[unit])
    ]


def _met(limit: Mapping[Any, Any]) -> str:
    met = limit["meets_window"]
    return "; the fuel's window meets it" if pd.notna(met) and met else ""


def _steep(units: Sequence[str], slopes: pd.DataFrame) -> list[str]:
    """Units with ground too steep to mow, by the owner's own heights and limit."""
    by_unit = {row["unit_id"]: row for row in rows(slopes)}
    return [
        f"{unit}: slopes up to {number_words(by_unit[unit]['most_pct'], 0)} %, "
        f"{number_words(by_unit[unit]['over_mower_pct'], 0)} % of the unit too steep to mow"
        for unit in units
        if unit in by_unit and by_unit[unit]["over_mower_pct"] >= LEAST_STEEP_PCT
    ]


LEAST_STEEP_PCT = 0.5
"""Share of a unit from which on steep ground is told: what is not rounded to nothing."""


def _unburned(units: Sequence[str], frames: Frames) -> list[str]:
    """What inside the block is left out of burning, by what it is."""
    ground = frames["units"][frames["units"]["unit_id"].isin(units)].geometry.union_all()
    excluded = frames["excluded_ground"]
    excluded = excluded[excluded["applies_to"] != "seed"]
    inside = excluded[excluded.intersects(ground) & ~excluded.touches(ground)]
    kinds = Counter(inside["kind"].fillna("ground"))
    told = [f"{count} {name_words(kind)}" for kind, count in sorted(kinds.items())]
    return [f"Not to be burned inside: {', '.join(told)}"] if told else []
