"""Small tables and square units for the tests of the fuel, herd, history and season steps."""

from pathlib import Path

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.log.treatment_log import keep_usable_rows
from tests.literal_layers import literal_layer

PLANE = "+proj=laea +lat_0=44 +lon_0=-99 +datum=NAD83 +units=m"
M2_PER_AC = 43560 * 0.3048**2


def property_row(**told):
    """Layer ``property`` of a made place in the season of 2027."""
    return literal_layer("property", [{"name": "x", "season": 2027, **told}])


SEASON = property_row()


CONFIG = Path(__file__).parents[1] / "config"


def shipped_green_up():
    """Layer ``green_up`` as it comes with the program."""
    read = read_table(TableSource(path="green_up.csv"), LAYERS["green_up"], CONFIG)
    return conform(read.frame, LAYERS["green_up"])


def log(*rows):
    """Layer ``treatment_log`` of rows of the treatments table: a dictionary a row."""
    units = pd.DataFrame({"unit_id": [row["unit_id"] for row in rows]})
    used = keep_usable_rows(literal_layer("treatments", rows), units)
    assert len(used) == len(rows), "a row that cannot be used"
    return conform(used, LAYERS["treatment_log"])


def log_of(columns, *rows):
    """The same from rows that each tell these columns: ``"unit_id start kind"``."""
    return log(*(dict(zip(columns.split(), row, strict=True)) for row in rows))


def square_units(latitude_deg=44.0, **acres):
    """Units drawn as squares of so many acres, far apart, at a latitude."""
    sides = [(ac * M2_PER_AC) ** 0.5 for ac in acres.values()]
    shapes = [shapely.box(9000 * n, 0, 9000 * n + side, side) for n, side in enumerate(sides)]
    columns = dict.fromkeys(LAYERS["units"].column_names, 0.0) | {
        "unit_id": list(acres),
        "name": None,
        "cover": None,
        "gross_ac": list(map(float, acres.values())),
    }
    frame = gpd.GeoDataFrame(columns, geometry=shapes, crs=PLANE.replace("44", str(latitude_deg)))
    return conform(frame, LAYERS["units"], frame.crs)


def unit_rows(name, units, **columns):
    """Layer ``name`` with a row for each unit, all with these cells; the others are empty."""
    rows = [{"unit_id": unit_id, **columns} for unit_id in units["unit_id"]]
    return literal_layer(name, rows, shapes=list(units.geometry), crs=units.crs)


def fuel_rows(units, **columns):
    """Layer ``fuel`` of units whose load is not known, with these cells."""
    unknown = dict.fromkeys(["carries", "carries_low", "carries_high", "continuity"], "unknown")
    unknown |= {"sward_from": "nothing"}
    return unit_rows("fuel", units, **{**unknown, "reason": "needs_measurement", **columns})


def standing_row(unit_id, load_lb_ac, **more):
    """A load stated for the fall before the season."""
    row = {
        "unit_id": unit_id,
        "date": "2026-10-01",
        "method": "stated",
        "measure": "standing",
        "mean_lb_ac": float(load_lb_ac),
        "reference": "test",
    }
    return literal_layer("standing", [row | more])
