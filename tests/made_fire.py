"""Every layer of the firebreak steps for a made property, from its units to its findings."""

from functools import cache

import numpy as np
import shapely

from pipeline.catalog import LAYERS, settings_sections
from pipeline.core.layer import empty
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.fire.settings import FirebreakSettings
from pipeline.steps import STEPS
from tests import made_properties as made
from tests.remembered import computed, known

LAST = "firebreak_findings"


def fire_layers(
    units, burns, *, roads=(), breaks=None, exclusions=None, gates=None, mow=None, **choices
):
    """Layers by name, conformed; ``choices`` are settings of ``[firebreaks]``."""
    if breaks is None:
        breaks = made.breaks_frame(roads, widths=[20.0] * len(roads))
    settings = {section: section() for section in settings_sections().values()}
    settings |= {FirebreakSettings: FirebreakSettings(**choices)}
    settings |= {MowingSettings: mow or MowingSettings()}
    layers = {
        "drawn_units": units,
        "burns": burns,
        "breaks": breaks,
        "break_kinds": made.break_kinds(),
        "exclusions": made.exclusions_frame() if exclusions is None else exclusions,
        "gates": empty(LAYERS["gates"], made.CRS) if gates is None else gates,
    }
    layers = {name: known(name, frame.copy()) for name, frame in layers.items()}
    for step in STEPS:
        if all(name in layers for name in step.reads) and LAST not in layers:
            layers[step.writes] = computed(step, layers, settings, made.CRS)
    return layers


def two_forties(wind_from_deg=270.0, **choices):
    """Two adjoining 40-acre squares burned as two blocks, fuel of 6 ft, wind from the west."""
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    burns = made.burns_frame({"W": "west", "E": "east"}, wind_from_deg=wind_from_deg)
    return fire_layers(units, burns, **choices)


# Eight irregular fields of a square of 3 km, redrawn by hand, in two blocks and two left alone.
CELLS = made.mosaic(8, 5)
DRAWN = [made.redrawn(cell, 2.0, "jitter", np.random.default_rng(7)) for cell in CELLS]
NAMES = [f"U{number}" for number in range(8)]
BLOCK_OF = dict(zip(NAMES, ["A", "A", "B", None, "B", "A", None, "B"], strict=True))
UNITS = made.units_frame(DRAWN, NAMES)
BURNS = made.burns_frame(BLOCK_OF)
ROADS = [
    shapely.LineString([(-100, 1200), (3100, 1450)]),
    shapely.LineString([(1500, -100), (1500, 3100)]),
    shapely.LineString([(-3, -100), (-3, 1400)]),
    shapely.box(-500, 2000, 5, 3500),
]


@cache
def mosaic_layers(with_roads):
    """Layers of the eight fields, computed once."""
    return fire_layers(UNITS, BURNS, roads=ROADS if with_roads else ())
