"""A made season of stock and seed, walked through the real steps from its sources.

Squares of 40 acres side by side; everything else is a table of rows. 3,120 lb/ac of growth on
40 acres are 40 AUM where a quarter of it is eaten and a month is 780 lb.
"""

from functools import cache

import shapely

from pipeline.catalog import LAYERS, settings_sections
from pipeline.core.layer import conform, empty
from pipeline.intake.shipped import FILE_BY_SOURCE, read_shipped
from pipeline.runner import ARRIVING
from pipeline.steps import STEPS
from tests.literal_layers import literal_layer
from tests.made_properties import CRS, PROJECT, QUARTER_M

PLACE = {"name": "Made Place", "season": 2027, "state": "Iowa", "region": "northern plains"}
AS_OF = "2026-11-15"
HERD = {"herd": {"head": 20, "animal_unit_equivalent": 1.0}}


def square(east, wide=1.0):
    """A square of 40 acres, so many squares to the east; ``wide`` makes it wider."""
    return shapely.box(east * QUARTER_M, 0, (east + wide) * QUARTER_M, QUARTER_M)


def load(unit_id, load_lb_ac=3120.0):
    """What grew on a unit in the year before the season."""
    day = {"date": "2026-10-01", "measure": "production", "reference": "made"}
    return {"unit_id": unit_id, "load_lb_ac": load_lb_ac} | day


def graze(unit_id, start, end, head=5.0, **more):
    """A row of the log: animals of one animal unit each."""
    row = {"unit_id": unit_id, "kind": "graze", "start": start, "end": end, "head": head}
    return row | {"animal_unit_equivalent": 1.0} | more


def logged(unit_id, kind, start, end=None, **more):
    """A row of the log of any other kind."""
    return {"unit_id": unit_id, "kind": kind, "start": start, "end": end or start, **more}


def burn(unit_id, first="2027-04-01", last="2027-04-20", block="b"):
    """A unit of a burn block."""
    return {"block": block, "unit_id": unit_id, "first_day": first, "last_day": last}


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
def needed_steps(wanted):
    """The steps that a layer rests on."""
    names, steps = {wanted}, []
    for step in reversed(STEPS):
        if step.writes in names:
            names |= set(step.reads)
            steps.insert(0, step)
    return steps


def made_season(wanted, *, units=None, covers="prairie", place=None, settings=None, **tables):
    """Every layer that ``wanted`` rests on, of a season made of rows by source.

    ``units`` are shapes by name, three squares without them; ``covers`` is the cover of all, or
    covers by name. A table may be a pair: rows and their shapes.
    """
    shapes = units or {"A": square(0), "B": square(1), "C": square(2)}
    frames = dict(plain_frames())
    frames["property"] = literal_layer("property", [PLACE | {"as_of": AS_OF} | (place or {})])
    named = covers if isinstance(covers, dict) else dict.fromkeys(shapes, covers)
    cells = [{"unit_id": name, "cover": named.get(name)} for name in shapes]
    frames["drawn_units"] = literal_layer("drawn_units", cells, list(shapes.values()), CRS)
    for name, told in tables.items():
        rows, placed = told if isinstance(told, tuple) else (told, None)
        crs = CRS if placed is not None else None
        frames[name] = literal_layer(name, rows, placed, crs)
    chosen = {
        section: section(**(settings or {}).get(name, {}))
        for name, section in settings_sections().items()
    }
    for step in needed_steps(wanted):
        layer = LAYERS[step.writes]
        frame = step.compute(frames, chosen)
        frames[step.writes] = conform(frame, layer, CRS if layer.geometry else None)
    return frames
