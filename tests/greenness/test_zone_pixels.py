"""Greenness of units by date and its change, from raster files.

The independent figures are exactextract's (coverage by area), rasterstats' (pixel centers) and
pyproj's (areas on the ellipsoid).
"""

from datetime import date
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely
from exactextract import exact_extract
from pyproj import Geod
from rasterstats import zonal_stats

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.greenness.readings.zone_changes import list_change_maps
from pipeline.greenness.settings import GreennessSettings
from pipeline.outputs import OUTPUTS
from pipeline.write.change_map import write_change_map
from tests.made_scenes import (
    LEFT,
    TOP,
    changed,
    greenness_raster,
    inspected,
    measured,
    round_units,
    smooth_greenness,
    told,
    treated,
    units_frame,
    write_raster,
)

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


@pytest.fixture
def greenness_file(tmp_path):
    return greenness_raster(tmp_path)


def test_means_agree_with_exactextract_which_applies_the_scale_itself(tmp_path, greenness_file):
    units = round_units()
    ours = measured(units, inspected(tmp_path, told(greenness_file)))
    ops = ["mean", "stdev", "count"]
    theirs = exact_extract(str(greenness_file), units, ops, output="pandas")
    assert ours["mean"].to_numpy() == pytest.approx(theirs["mean"], abs=1e-6)
    assert ours["sd"].to_numpy() == pytest.approx(theirs["stdev"], abs=1e-6)
    assert ours["pixels"].to_numpy() == pytest.approx(theirs["count"], abs=1e-4)


def test_whole_pixels_agree_with_rasterstats(tmp_path, greenness_file):
    units = units_frame([shapely.box(LEFT + 20, TOP - 130, LEFT + 150, TOP - 20)])
    ours = measured(units, inspected(tmp_path, told(greenness_file))).iloc[0]
    (theirs,) = zonal_stats(units, str(greenness_file), stats=["mean", "std", "count"])
    assert ours["mean"] == pytest.approx(theirs["mean"] * 0.0001, abs=1e-9)
    assert ours["sd"] == pytest.approx(theirs["std"] * 0.0001, abs=1e-9)
    assert ours["pixels"] == pytest.approx(theirs["count"])
    assert ours["valid_pct"] == pytest.approx(100 * theirs["count"] / (13 * 11))


def test_units_in_another_projection_are_taken_to_the_raster(tmp_path, greenness_file):
    scenes = inspected(tmp_path, told(greenness_file))
    here = measured(round_units(), scenes)
    plane = "+proj=laea +lat_0=40.6 +lon_0=-97.8 +datum=WGS84 +units=m"
    there = measured(round_units().to_crs(plane), scenes)
    assert there["mean"].to_numpy() == pytest.approx(here["mean"], abs=1e-5)
    assert there["pixels"].to_numpy() == pytest.approx(here["pixels"], rel=1e-4)


def test_raster_in_degrees(tmp_path):
    array = np.full((50, 50), 0.5, "float32")
    path = write_raster(
        tmp_path / "degrees.tif", array, pixel=0.0001, left=-97.0, top=40.0, crs="EPSG:4326"
    )
    plane = "+proj=laea +lat_0=40 +lon_0=-97 +datum=WGS84 +units=m"
    units = gpd.GeoDataFrame(
        {"unit_id": ["U0"]}, crs=4326, geometry=[shapely.box(-96.9985, 39.9965, -96.9965, 39.9985)]
    ).to_crs(plane)
    row = measured(units, inspected(tmp_path, told(path)), GreennessSettings()).iloc[0]
    assert row["pixel_m"] == pytest.approx(11.1, abs=0.1)
    assert row["mean"] == pytest.approx(0.5)
    # 20 by 20 pixels; the edge left out cuts the outermost ones.
    assert row["full_pixels"] == 18 * 18


def test_pixels_in_degrees_count_by_the_ground_they_cover(tmp_path):
    # Half of the unit by degrees is less than half by ground: areas by pyproj's Geod.
    array = np.zeros((40, 20), "float32")
    array[:20] = 0.8
    path = write_raster(
        tmp_path / "degrees.tif", array, pixel=0.05, left=-97.0, top=41.0, crs="EPSG:4326"
    )
    plane = "+proj=laea +lat_0=40 +lon_0=-96.5 +datum=WGS84 +units=m"
    zone = shapely.segmentize(shapely.box(-97.0, 39.0, -96.0, 41.0), 0.05)
    units = gpd.GeoDataFrame({"unit_id": ["U0"]}, crs=4326, geometry=[zone]).to_crs(plane)
    row = measured(units, inspected(tmp_path, told(path))).iloc[0]
    halves = (shapely.box(-97.0, low, -96.0, low + 1) for low in (39.0, 40.0))
    south, north = (
        Geod(ellps="WGS84").geometry_area_perimeter(shapely.segmentize(half, 0.01))[0]
        for half in halves
    )
    assert row["mean"] == pytest.approx(0.8 * north / (north + south), abs=2e-5)
    assert row["mean"] < 0.3972
    assert row["valid_pct"] == pytest.approx(100, abs=0.01)


def test_change_is_taken_on_pixels_usable_both_times(tmp_path):
    before = smooth_greenness().astype("float32")
    after = before + 0.1
    before[:10], after[20:30] = -9, -9
    first = write_raster(tmp_path / "a.tif", before, nodata=-9)
    second = write_raster(tmp_path / "b.tif", after, nodata=-9)
    pair = inspected(tmp_path, told(first), told(second, date(2026, 7, 20)))
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    row = changed(units, pair).iloc[0]
    assert row["change"] == pytest.approx(0.1, abs=1e-6)
    assert row["valid_pct"] == pytest.approx(100 * 40 / 60)
    assert row["after_mean"] - row["before_mean"] == pytest.approx(row["change"], abs=1e-12)
    assert row["change_sd"] < 1e-4


def test_identical_scenes_change_by_exactly_nothing(tmp_path, greenness_file):
    pair = inspected(tmp_path, told(greenness_file), told(greenness_file, date(2026, 7, 20)))
    row = changed(round_units(), pair)
    assert (row["change"] == 0).all()
    assert (row["change_sd"] == 0).all()


def test_pictures_with_different_pixels_are_told_as_unpaired(tmp_path, greenness_file):
    coarse = write_raster(tmp_path / "coarse.tif", np.full((20, 20), 0.6, "float32"), pixel=30.0)
    shifted = write_raster(
        tmp_path / "shifted.tif", smooth_greenness().astype("float32"), left=LEFT + 5
    )
    for other in (coarse, shifted):
        pair = inspected(tmp_path, told(greenness_file), told(other, date(2026, 7, 20)))
        rows = changed(round_units(), pair)
        assert not rows["paired"].any()
        assert rows["mixed"].all()
        assert rows["change"].notna().all()


def test_gates_keep_the_row_and_say_why(tmp_path, greenness_file):
    small = shapely.box(LEFT + 100, TOP - 130, LEFT + 130, TOP - 100)
    strip = shapely.box(LEFT, TOP - 312, LEFT + 600, TOP - 300)
    outside = shapely.box(LEFT - 900, TOP - 300, LEFT - 300, TOP)
    scenes = inspected(tmp_path, told(greenness_file))
    table = measured(units_frame([small, strip, outside]), scenes, GreennessSettings())
    assert table["reason"].tolist() == ["too_few_pixels", "too_narrow", "too_little_usable"]
    assert np.isnan(table.loc["U2", "mean"])


def test_missing_date_of_a_comparison_is_told(tmp_path, greenness_file):
    scenes = inspected(tmp_path, told(greenness_file), told(greenness_file, date(2026, 7, 20)))
    gone = scenes.assign(date=[scenes["date"][0], pd.Timestamp("2026-07-21")])
    dates = date(2025, 7, 20), date(2026, 7, 20)
    rows = changed(round_units(), gone, dates=dates)
    assert set(rows["reason"]) == {"no_scene_after"}


def test_treatments_since_the_picture_before_are_marked(tmp_path, greenness_file):
    scenes = inspected(
        tmp_path, told(greenness_file, date(2025, 7, 20)), told(greenness_file, date(2026, 6, 20))
    )
    log = treated(
        ("U0", "2024-10-01", "mow"),
        ("U0", "2025-07-01", "hay"),
        ("U0", "2026-04-14", "burn"),
        ("U1", "2026-07-21", "burn"),
        ("U1", "2026-05-01", "rest"),
    )
    marks = measured(round_units(), scenes, treatments=log)["treated_since_last"]
    assert marks["U0"].tolist() == ["mow 2024-10-01; hay 2025-07-01", "burn 2026-04-14"]
    assert marks["U1"].isna().all()


FIRST = "S2A_MSIL2A_20250720T174911_N0511_R141_T14TPK_20250720T220001.tif"
SAME_MAKE = "S2B_MSIL2A_20260720T174911_N0511_R141_T14TPK_20260720T220001.tif"
OTHER_MAKE = "HLS.L30.T14TPK.2026201T170000.v2.0.tif"


@pytest.mark.parametrize(("second", "mixed", "edge_m"), [(SAME_MAKE, 0, 5), (OTHER_MAKE, 1, 10)])
def test_only_sensors_of_another_make_are_mixed_and_cost_a_wider_edge(
    tmp_path, second, mixed, edge_m
):
    # A square of 200 m in pixels of 10 m; the settings leave out 0.5 or 1 pixel along its edge.
    for name in (FIRST, second):
        write_raster(tmp_path / name, smooth_greenness(), scale=0.0001)
    scenes = inspected(tmp_path, *({"path": name, "kind": "ndvi"} for name in (FIRST, second)))
    units = units_frame([shapely.box(LEFT + 100, TOP - 400, LEFT + 300, TOP - 200)])
    row = changed(units, scenes, GreennessSettings()).iloc[0]
    assert row["mixed"] == bool(mixed)
    assert row["lost_pct"] == pytest.approx(100 * (1 - (200 - 2 * edge_m) ** 2 / 200**2), rel=1e-3)


def test_ndvi_as_delivered_against_ndvi_from_reflectance_is_told(tmp_path, greenness_file):
    stack = np.stack([np.full((60, 60), 1000), np.full((60, 60), 3000)]).astype("int16")
    write_raster(tmp_path / "stack.tif", stack, scale=0.0001)
    scenes = inspected(
        tmp_path,
        told(greenness_file),
        told(tmp_path / "stack.tif", date(2026, 7, 20), "reflectance", bands={"red": 1, "nir": 2}),
    )
    assert changed(round_units(), scenes)["mixed"].all()


def test_change_map_holds_the_change_of_each_pixel(tmp_path):
    old = np.rint(smooth_greenness() * 10000).astype("int16")
    new = (old + 700).astype("int16")
    new[20, 20] = -3000
    paths = [
        write_raster(tmp_path / f"{name}.tif", stored, scale=0.0001, nodata=-3000)
        for name, stored in (("a", old), ("b", new))
    ]
    scenes = inspected(tmp_path, *(told(p, date(2025 + n, 7, 20)) for n, p in enumerate(paths)))
    units = units_frame([shapely.box(LEFT + 105, TOP - 400, LEFT + 395, TOP - 105)])
    pair = pd.DataFrame(
        {"before": [pd.Timestamp("2025-07-20")], "after": [pd.Timestamp("2026-07-20")]}
    )
    presets = empty(LAYERS["mask_presets"])
    assert list_change_maps(units, pair, scenes, presets, GreennessSettings()).empty, (
        "only if asked"
    )
    (output,) = (o for o in OUTPUTS if o.write is write_change_map)
    assert output.needs == "change_maps"
    drawn = list_change_maps(units, pair, scenes, presets, GreennessSettings(change_map=True))
    frames = {"units": units, "scenes": scenes, "mask_presets": presets, "change_maps": drawn}
    write_change_map(SimpleNamespace(frames=frames), tmp_path / "change.tif")
    with rasterio.open(tmp_path / "change.tif") as raster:
        assert raster.dtypes == ("int16",)
        assert raster.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        assert raster.scales == (0.0001,)
        assert raster.bounds == (LEFT + 80, TOP - 420, LEFT + 420, TOP - 80)
        change = raster.read(1, masked=True)
    assert change.mask.sum() == 1
    assert change.mask[20 - 8, 20 - 8]
    assert (change.compressed() == 700).all()
