"""A made property whose planned work walks through the real steps, from its sources to conflicts.

Squares of 40 acres that a map of letters places; everything else is a table of rows.
"""

from functools import cache

import shapely
from shapely import affinity

from pipeline.catalog import settings_sections
from pipeline.core.layer import conform, empty
from pipeline.intake.shipped import FILE_BY_SOURCE, read_shipped
from pipeline.runner import ARRIVING
from pipeline.steps import STEPS
from tests.made_properties import CRS, PROJECT, QUARTER_M
from tests.remembered import computed, table

PLACE = {"name": "Made Place", "season": 2027, "state": "Nebraska", "region": "central plains"}
AS_OF = "2026-11-15"
MIDDLE = (QUARTER_M, QUARTER_M)
GOOD_HOUR = {"temperature_f": 60, "humidity_pct": 50, "wind_mph": 10, "wind_from_deg": 225}
LIMITS = {
    "lowest_temperature_f": 45,
    "highest_temperature_f": 75,
    "lowest_humidity_pct": 35,
    "highest_humidity_pct": 65,
    "lowest_wind_mph": 5,
    "highest_wind_mph": 15,
    "wind_height_ft": 20,
}
"""A prescription made up for the tests; the program has none."""


def squares(rows, turn_deg=0.0):
    """Unit names and squares of 40 acres, placed as the letters stand; a point is no unit."""
    found = {}
    for north, row in enumerate(reversed(rows)):
        for east, name in enumerate(row):
            if name != ".":
                low = (east * QUARTER_M, north * QUARTER_M)
                square = shapely.box(*low, low[0] + QUARTER_M, low[1] + QUARTER_M)
                found.setdefault(name, []).append(square)
    return {
        name: affinity.rotate(shapely.union_all(parts), turn_deg, origin=MIDDLE)
        for name, parts in sorted(found.items())
    }


def at(east_ft, north_ft, turn_deg=0.0):
    """A point so many feet from the southwestern corner of the map, turned as the map is."""
    point = shapely.Point(east_ft * 0.3048, north_ft * 0.3048)
    return affinity.rotate(point, turn_deg, origin=MIDDLE)


def hours(days, **more):
    """Rows of hourly weather that meet the made limits from 9 to 16 o'clock of each day."""
    return [
        {"time": f"{day}T{hour:02d}:00", **GOOD_HOUR, **more}
        for day in days
        for hour in range(9, 17)
    ]


def standing(unit_id, load_lb_ac=4400.0, spread_lb_ac=100.0, **more):
    """A load as stated for the fall: half of it is left in spring by the shipped settings."""
    return {
        "unit_id": unit_id,
        "date": "2026-10-01",
        "measure": "standing",
        "load_lb_ac": load_lb_ac,
        "low_lb_ac": load_lb_ac - spread_lb_ac,
        "high_lb_ac": load_lb_ac + spread_lb_ac,
        "reference": "made",
    } | more


def burn(block, *units, wind=225.0, days=("2027-04-01", "2027-04-20"), height=4.0):
    """Rows of the list of burns: units that burn together."""
    first, last = days or (None, None)
    told = {"wind_from_deg": wind, "fuel_height_ft": height, "first_day": first, "last_day": last}
    return [{"block": block, "unit_id": unit, **told} for unit in units]


def logged(unit_id, kind, start, end=None, **more):
    """A row of the treatments table."""
    return {"unit_id": unit_id, "kind": kind, "start": start, "end": end or start, **more}


@cache
def plain_frames():
    """What arrives where nothing is given: the tables that come with the program, else nothing."""
    return {
        name: conform(read_shipped(None, layer, PROJECT)[0].frame, layer)
        if name in FILE_BY_SOURCE
        else empty(layer, CRS)
        for name, layer in ARRIVING.items()
    }


@cache
def needed_steps():
    """The steps that the conflicts rest on."""
    wanted, steps = {"conflicts"}, []
    for step in reversed(STEPS):
        if step.writes in wanted:
            wanted |= set(step.reads)
            steps.insert(0, step)
    return steps


def made_layers(
    rows=("AB",), *, turn_deg=0.0, covers=None, place=None, settings=None, shapes=None, **tables
):
    """Every layer up to the conflicts of a made property.

    ``tables`` are rows by source; ``place`` changes the row of the property; ``settings`` are cells
    by section; ``shapes`` the geometries of the sources that have one, by name.
    """
    ground = squares(rows, turn_deg)
    cells = [{"unit_id": name, "cover": (covers or {}).get(name)} for name in ground]
    frames = plain_frames() | {
        "property": table("property", [PLACE | {"as_of": AS_OF} | (place or {})]),
        "drawn_units": table("drawn_units", cells, tuple(ground.values()), CRS),
    }
    for name, told in tables.items():
        placed = (shapes or {}).get(name)
        frames[name] = table(name, told, placed, None if placed is None else CRS)
    chosen = settings or {}
    told = {kind: kind(**chosen.get(name, {})) for name, kind in settings_sections().items()}
    for step in needed_steps():
        frames[step.writes] = computed(step, frames, told, CRS)
    return frames


def conflicts(**told):
    """Rows of the layer ``conflicts`` of a made property."""
    return made_layers(**told)["conflicts"]
