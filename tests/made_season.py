"""Small tables and square units for the tests of the fuel, herd, history and season steps."""

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.log.treatment_log import keep_usable_rows
from tests.literal_layers import literal_layer

PLANE = "+proj=laea +lat_0=44 +lon_0=-99 +datum=NAD83 +units=m"
M2_PER_AC = 43560 * 0.3048**2
SEASON = pd.DataFrame({"name": ["x"], "season": [2027]})


def log(*rows):
    """Layer ``treatment_log`` of rows of the treatments table: a dictionary a row."""
    units = pd.DataFrame({"unit_id": [row["unit_id"] for row in rows]})
    used = keep_usable_rows(literal_layer("treatments", rows), units)
    assert len(used) == len(rows), "a row that cannot be used"
    return conform(used, LAYERS["treatment_log"])


def log_of(columns, *rows):
    """The same from rows that each tell these columns: ``"unit_id start kind"``."""
    return log(*(dict(zip(columns.split(), row, strict=True)) for row in rows))


def square_units(**acres):
    """Units drawn as squares of so many acres, far apart."""
    sides = [(ac * M2_PER_AC) ** 0.5 for ac in acres.values()]
    shapes = [shapely.box(9000 * n, 0, 9000 * n + side, side) for n, side in enumerate(sides)]
    columns = dict.fromkeys(LAYERS["units"].column_names, 0.0) | {
        "unit_id": list(acres), "name": None, "cover": None,
        "gross_ac": list(map(float, acres.values())),
    }  # fmt: skip
    frame = gpd.GeoDataFrame(columns, geometry=shapes, crs=PLANE)
    return conform(frame, LAYERS["units"], frame.crs)


def standing_row(unit_id, load_lb_ac):
    """A load stated for the fall before the season."""
    row = {
        "unit_id": unit_id, "date": "2026-10-01", "method": "stated", "measure": "standing",
        "mean_lb_ac": float(load_lb_ac), "reference": "test",
    }  # fmt: skip
    return literal_layer("standing", [row])
