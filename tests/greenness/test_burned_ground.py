"""Burned ground of a unit pixel by pixel, and what of it reaches the table within_unit.

Half of the first unit burned in made pictures, so the ground is known beforehand: its upper half.
"""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.readings.burned_ground import draw_burned_ground, runs_of
from pipeline.greenness.readings.within_unit import compare_within_units
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.raster_grid import Grid
from pipeline.pictures.zone_ground import ZoneWindow
from tests.greenness.test_burned_pixels import (
    BURN,
    UPPER_HALF,
    comparison,
    pictures,
    stored,
    three_units,
)
from tests.literal_layers import literal_layer
from tests.made_scenes import LEFT, TOP, changed, inspected, told, treated, write_raster

# rasterio multiplies transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

BARE = GreennessSettings(buffer_pixels=0, mixed_buffer_pixels=0)
PRESETS = empty(LAYERS["mask_presets"])


def ground(scenes, log, drawn=None, compared=None):
    units = three_units()
    none = empty(LAYERS["exclusions"], units.crs)
    drawn = literal_layer("burned_areas", crs=units.crs) if drawn is None else drawn
    chosen = comparison() if compared is None else compared
    frame = draw_burned_ground(units, none, chosen, drawn, scenes, PRESETS, log, BARE)
    return conform(frame, LAYERS["burned_ground"], units.crs)


def test_burned_half_is_drawn_where_nobody_drew_it(tmp_path):
    (row,) = ground(pictures(tmp_path), treated(BURN)).to_dict("records")
    upper = shapely.box(LEFT, TOP - 300, LEFT + 200, TOP)
    assert (row["unit_id"], row["told_by"]) == ("U0", "pictures")
    assert row["date"] == pd.Timestamp("2026-04-14")
    assert row["geometry"].symmetric_difference(upper).area < 0.02 * upper.area


def test_perimeter_goes_before_the_pictures(tmp_path):
    lower = shapely.box(LEFT, TOP - 600, LEFT + 200, TOP - 400)
    cells = [{"unit_id": "U0", "date": "2026-04-14"}]
    (row,) = ground(
        pictures(tmp_path), treated(BURN), literal_layer("burned_areas", cells, [lower], 32614)
    ).to_dict("records")
    assert row["told_by"] == "perimeter"
    assert row["geometry"].equals(lower)


@pytest.mark.parametrize("rows", [slice(0, 60), slice(0, 3), slice(0, 0)])
def test_unit_that_burned_whole_or_hardly_is_not_split(rows, tmp_path):
    scenes = pictures(tmp_path, burned=((rows, slice(0, 20)),))
    assert ground(scenes, treated(BURN)).empty


def test_burn_that_no_comparison_means_is_not_looked_for(tmp_path):
    scenes = pictures(tmp_path)
    others = comparison(("reference", "burned", "reference"))
    assert ground(scenes, treated(BURN), compared=others).empty
    assert ground(scenes, treated(), compared=comparison()).empty


def test_unit_with_much_cloud_is_not_split(tmp_path):
    scenes = pictures(tmp_path)
    cloud = np.zeros((60, 60), "uint8")
    cloud[30:45, :20] = 1
    quality = write_raster(tmp_path / "cloud.tif", cloud)
    masked = scenes.assign(mask_path=str(quality), drop_bits="0")
    assert ground(masked, treated(BURN)).empty


def test_runs_of_pixels_are_their_ground():
    """Each pixel is 10 by 20 in size; the area is that of the pixels counted by numpy."""
    chosen = np.random.default_rng(3).random((7, 9)) < 0.4
    grid = Grid("", 100.0, 1000.0, 10.0, 20.0, 40, 40)
    shape = runs_of(chosen, ZoneWindow(grid, shapely.Point(), (3, 10), (5, 14)), grid)
    assert shape.area == pytest.approx(chosen.sum() * 200)
    row, column = np.argwhere(chosen)[0]
    x, y = 100 + (5 + column + 0.5) * 10, 1000 - (3 + row + 0.5) * 20
    assert shape.contains(shapely.Point(x, y))


def test_half_told_by_pictures_is_held_against_the_other_half(tmp_path):
    burned = ground(pictures(tmp_path), treated(BURN))
    old = np.full((60, 60), 0.5)
    new = old + 0.04
    new[UPPER_HALF] += 0.1
    paths = [
        write_raster(tmp_path / f"{n}.tif", stored(a, n), scale=0.0001)
        for n, a in enumerate((old, new))
    ]
    days = [pd.Timestamp(day).date() for day in ("2025-07-20", "2026-07-20")]
    scenes = inspected(tmp_path, *map(told, paths, days))
    changes = changed(three_units(), scenes, BARE, burned=burned).reset_index()
    chosen = comparison().assign(comparison="c")
    frame = compare_within_units(chosen, changes, gpd.GeoDataFrame(burned), BARE)
    (row,) = conform(frame, LAYERS["within_unit"]).to_dict("records")
    assert row["difference"] == pytest.approx(0.1, abs=0.003)
    assert row["burned_pixels"] == pytest.approx(600, rel=0.02)
    assert "by_pictures" in row["caution"].split(", ")
