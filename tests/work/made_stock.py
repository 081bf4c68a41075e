"""A made season of stock and seed, walked through the real steps from its sources.

Squares of 40 acres side by side; everything else is a table of rows. 3,120 lb/ac of growth on
40 acres are 40 AUM where a quarter of it is eaten and a month is 780 lb.
"""

from functools import cache

import shapely

from pipeline.catalog import settings_sections
from pipeline.steps import STEPS
from tests.made_properties import CRS, QUARTER_M
from tests.remembered import computed, table
from tests.work.made_plan import AS_OF, plain_frames

PLACE = {"name": "Made Place", "season": 2027, "state": "Iowa", "region": "northern plains"}
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


def burn(unit_id, first="2027-04-01", last="2027-04-20", block="b"):
    """A unit of a burn block."""
    return {"block": block, "unit_id": unit_id, "first_day": first, "last_day": last}


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
    covers by name. A table may be a pair: rows and their shapes. A layer that is told is not
    computed: slopes, which rest on a raster.
    """
    shapes = units or {"A": square(0), "B": square(1), "C": square(2)}
    named = covers if isinstance(covers, dict) else dict.fromkeys(shapes, covers)
    cells = [{"unit_id": name, "cover": named.get(name)} for name in shapes]
    frames = plain_frames() | {
        "property": table("property", [PLACE | {"as_of": AS_OF} | (place or {})]),
        "drawn_units": table("drawn_units", cells, tuple(shapes.values()), CRS),
    }
    for name, told in tables.items():
        rows, placed = told if isinstance(told, tuple) else (told, None)
        frames[name] = table(name, rows, placed, None if placed is None else CRS)
    chosen = settings or {}
    told = {kind: kind(**chosen.get(name, {})) for name, kind in settings_sections().items()}
    for step in needed_steps(wanted):
        if step.writes not in tables:
            frames[step.writes] = computed(step, frames, told, CRS)
    return frames
