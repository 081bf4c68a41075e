"""Pictures on grids that nearly match, files beside a raster, tiles of different pixels."""

from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely
from exactextract import exact_extract
from rasterio.shutil import copy
from rasterio.transform import Affine

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.greenness.readings.zone_changes import list_change_maps
from pipeline.greenness.settings import GreennessSettings
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from pipeline.pictures.autocorrelation import Range, effective_pixels_of_block
from tests.made_scenes import (
    LEFT,
    TOP,
    changed,
    inspected,
    measured,
    smooth_greenness,
    told,
    units_frame,
    write_raster,
)

BARE = GreennessSettings(buffer_pixels=0, mixed_buffer_pixels=0)
PRESETS, NO_TREATMENTS = empty(LAYERS["mask_presets"]), empty(LAYERS["treatment_log"])
YEARS = date(2025, 7, 20), date(2026, 7, 20)


def left_out(units, shapes=()):
    kinds = {"applies_to": ["burn"] * len(shapes)}
    return gpd.GeoDataFrame(kinds, geometry=list(shapes), crs=units.crs)


def changes(units, scenes, out=()):
    return changed(units, scenes, left_out=left_out(units, out), dates=YEARS)


def scene_rows(units, scenes, out=()):
    return measured(units, scenes, left_out=left_out(units, out))


def test_pictures_whose_pixel_size_is_rounded_are_not_laid_one_on_the_other(tmp_path):
    # 10 m as degrees on the equator of WGS 84, once rounded as programs write it.
    size, rounded = 8.983152841195215e-05, 8.98315e-05
    ground = np.tile(np.linspace(0.1, 0.9, 4500), (60, 1))
    paths = []
    for n, (start, pixel) in enumerate(((0, size), (1500, rounded))):
        place = Affine(pixel, 0, -97.0 + start * size, 0, -size, 41.0)
        stored = np.rint(ground[:, start : start + 3000] * 10000).astype("int16")
        paths.append(
            write_raster(
                tmp_path / f"{n}.tif", stored, transform=place, scale=0.0001, crs="EPSG:4326"
            )
        )
    scenes = inspected(tmp_path, *(told(p, d) for p, d in zip(paths, YEARS, strict=True)))
    boxes = [
        shapely.box(-97.0 + a * size, 41.0 - 50 * size, -97.0 + b * size, 41.0 - 10 * size)
        for a, b in ((2000, 2040), (500, 540))
    ]
    plane = "+proj=laea +lat_0=41 +lon_0=-96.8 +datum=WGS84 +units=m"
    rows = changes(units_frame(boxes, 4326).to_crs(plane), scenes)
    assert rows.loc["U0", "change"] == pytest.approx(0, abs=1e-6)
    assert rows.loc["U0", "valid_pct"] == pytest.approx(100, abs=0.01)
    assert rows.loc["U1", "reason"] == "too_little_usable"


def test_mask_and_scale_in_files_beside_the_raster_are_read(tmp_path):
    stored = np.full((1, 20, 20), 5000, "int16")
    stored[:, :, :10] = -1000
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=False):
        path = write_raster(tmp_path / "masked.tif", stored, scale=0.0001)
        with rasterio.open(path, "r+") as raster:
            raster.write_mask(stored[0] > 0)
    assert (tmp_path / "masked.tif.msk").exists()
    scenes = inspected(tmp_path, told(path, YEARS[0]))
    row = scene_rows(units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)]), scenes).iloc[0]
    assert row["mean"] == pytest.approx(0.5)
    assert row["valid_pct"] == pytest.approx(50)


@pytest.mark.parametrize("scale", [0.0, -0.0001, float("nan")])
def test_scale_of_the_file_that_is_none_is_refused(tmp_path, scale):
    write_raster(tmp_path / "odd.tif", np.full((9, 9), 5000, "int16"), scale=scale)
    _, _, (fault,) = read_scenes((SceneSource(**told(tmp_path / "odd.tif")),), tmp_path)
    assert "a scale above 0" in str(fault)


def test_change_map_is_drawn_only_where_the_property_lies_on_it(tmp_path):
    paths = [
        write_raster(tmp_path / f"{n}.tif", np.full((40, 40), 5000, "int16"), scale=0.0001)
        for n in range(2)
    ]
    scenes = inspected(tmp_path, *(told(p, d) for p, d in zip(paths, YEARS, strict=True)))
    pair = pd.DataFrame({"before": [pd.Timestamp(YEARS[0])], "after": [pd.Timestamp(YEARS[1])]})
    asked = GreennessSettings(change_map=True)
    for x, y, drawn in ((100, 100, 1), (-9000, 100, 0), (100, -9000, 0), (9000, 100, 0)):
        box = shapely.box(LEFT + x, TOP - y - 200, LEFT + x + 200, TOP - y)
        assert len(list_change_maps(units_frame([box]), pair, scenes, PRESETS, asked)) == drawn


def test_unit_that_is_left_out_whole_keeps_a_row(tmp_path):
    path = write_raster(tmp_path / "a.tif", np.full((40, 40), 5000, "int16"), scale=0.0001)
    scenes = inspected(tmp_path, told(path, YEARS[0]), told(path, YEARS[1]))
    box = shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)
    for rows in (
        scene_rows(units_frame([box]), scenes, [box]),
        changes(units_frame([box]), scenes, [box]),
    ):
        assert rows["reason"].notna().all()
        assert (rows["pixels"] == 0).all()


def test_tiles_of_different_pixels_count_by_their_ground(tmp_path):
    # West in UTM pixels of 10 m, east in degrees, whose pixels are no squares; half of each.
    west = write_raster(tmp_path / "w.tif", np.full((60, 60), 2000, "int16"), scale=0.0001)
    middle = gpd.GeoSeries([shapely.Point(LEFT + 600, TOP - 300)], crs=32614).to_crs(4326)[0]
    place = Affine(1e-4, 0, middle.x - 5e-3, 0, -1e-4, middle.y + 5e-3)
    east = write_raster(
        tmp_path / "e.tif",
        np.full((100, 150), 8000, "int16"),
        scale=0.0001,
        transform=place,
        crs="EPSG:4326",
    )
    sources = [told(path, day) for day in YEARS for path in (west, east)]
    scenes = inspected(tmp_path, *sources)
    units = units_frame([shapely.box(LEFT + 400, TOP - 500, LEFT + 800, TOP - 100)])
    row = scene_rows(units, scenes).iloc[0]
    assert row["mean"] == pytest.approx(0.5, abs=1e-3)
    assert row["pixels"] == pytest.approx(1600, rel=1e-3)
    worth = changes(units, scenes).iloc[0]["effective_pixels"]
    assert worth == pytest.approx(effective_pixels_of_block(40, 40, 10, Range(200.0)), rel=0.05)


@pytest.mark.parametrize("size", [60, 3000])
def test_raster_cut_short_is_a_fault_of_the_file(tmp_path, size):
    stored = np.random.default_rng(2).integers(0, 9000, (size, size)).astype("int16")
    whole = write_raster(tmp_path / "whole.tif", stored, scale=0.0001)
    path = tmp_path / "cut.tif"
    copy(whole, path, driver="GTiff")  # a copy has its directory in front of the pixels
    path.write_bytes(path.read_bytes()[: -size * size])
    _, _, (fault,) = read_scenes((SceneSource(**told(path)),), tmp_path)
    assert "cannot be read to the end" in str(fault)


def test_masks_that_would_drop_nothing_are_refused(tmp_path):
    path = write_raster(tmp_path / "a.tif", np.full((9, 9), 5000, "int16"), scale=0.0001)
    write_raster(tmp_path / "q.tif", np.zeros((9, 9), "uint8"))
    for rule in ({"drop_bits": []}, {"keep_values": []}):
        with pytest.raises(ValueError, match="at least 1 item"):
            SceneSource(**told(path), mask={"path": "q.tif", **rule})
    source = SceneSource(**told(path), mask={"path": "q.tif", "drop_bits": [12]})
    _, _, (fault,) = read_scenes((source,), tmp_path)
    assert "drop_bits has 12, the file 8 bits" in str(fault)


def test_tiles_of_a_date_are_laid_side_by_side_and_no_pixel_counts_twice(tmp_path):
    whole = smooth_greenness().astype("float32")
    west = whole[:, :40].copy()
    west[10:20, 30:40] = -9
    east = whole[:, 20:].copy() + 0.01
    first = write_raster(tmp_path / "west.tif", west, nodata=-9)
    second = write_raster(tmp_path / "east.tif", east, left=LEFT + 200)
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    row = measured(units, inspected(tmp_path, told(first), told(second))).iloc[0]
    expected = np.hstack([whole[:, :40], whole[:, 40:] + 0.01])
    expected[10:20, 30:40] += 0.01
    assert row["pixels"] == pytest.approx(3600)
    assert row["mean"] == pytest.approx(expected.mean(), abs=1e-6)


def test_tiles_on_different_grids_are_used_one_beside_the_other(tmp_path):
    first = write_raster(tmp_path / "fine.tif", np.full((60, 40), 0.4, "float32"))
    second = write_raster(tmp_path / "coarse.tif", np.full((20, 20), 0.7, "float32"), pixel=30.0)
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    row = measured(units, inspected(tmp_path, told(first), told(second))).iloc[0]
    assert row["valid_pct"] == pytest.approx(100)
    assert row["mean"] == pytest.approx((0.4 * 40 + 0.7 * 20) / 60, abs=1e-6)


def test_cloud_on_one_tile_does_not_hide_what_another_grid_shows(tmp_path):
    # The tile that comes first has cloud over the left half of the ground that both show.
    clouded = np.full((60, 60), 5000, "int16")
    clouded[:, :30] = -9999
    first = write_raster(tmp_path / "a.tif", clouded, scale=0.0001, nodata=-9999)
    whole = np.full((40, 40), 5000, "int16")
    whole[:, :20] = 3000
    second = write_raster(tmp_path / "b.tif", whole, scale=0.0001, pixel=15.0)
    scenes = inspected(tmp_path, told(first, YEARS[0]), told(second, YEARS[0]))
    boxes = [shapely.box(LEFT + x, TOP - 500, LEFT + x + 240, TOP - 100) for x in (30, 330)]
    rows = scene_rows(units_frame(boxes), scenes)
    assert rows["valid_pct"].tolist() == pytest.approx([100, 100])
    assert rows["mean"].tolist() == pytest.approx([0.3, 0.5])
    assert rows["pixel_m"].tolist() == pytest.approx([15, 10])  # the first is on top where clear


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:3857"])
def test_unit_across_longitude_180(tmp_path, crs):
    """Zones by exactextract on a raster that runs on beyond 180, where nothing is cut."""
    turn = 360.0 if crs == "EPSG:4326" else 2 * np.pi * 6378137.0
    pixel, row = turn / 14400, 40.0 if crs == "EPSG:4326" else 4_865_942.0
    chance = np.random.default_rng(4)
    around = (5000 + chance.integers(0, 2000, (60, 14400))).astype("int16")
    told_on = {"scale": 0.0001, "crs": crs, "pixel": pixel, "top": row + 30 * pixel}
    globe = write_raster(tmp_path / "globe.tif", around, left=-turn / 2, **told_on)
    onward = np.roll(around, 7200, axis=1)
    beyond = write_raster(tmp_path / "beyond.tif", onward, left=0.0, **told_on)
    half = [turn / 2 + pixel * step for step in (-7.3, 5.6)]
    zone = shapely.segmentize(
        shapely.box(half[0], row - 6.2 * pixel, half[1], row + 9.4 * pixel), pixel / 20
    )
    theirs = exact_extract(
        str(beyond), gpd.GeoDataFrame(geometry=[zone], crs=crs), ["mean"], output="pandas"
    )
    plane = "+proj=laea +lat_0=40 +lon_0=180 +datum=WGS84 +units=m"
    east_of = gpd.GeoDataFrame({"unit_id": ["U0"]}, geometry=[zone], crs=crs).to_crs(plane)
    for path in (globe, beyond):
        row_of = scene_rows(east_of, inspected(tmp_path, told(path, YEARS[0]))).iloc[0]
        assert row_of["mean"] == pytest.approx(theirs["mean"][0], abs=2e-4)
        assert row_of["valid_pct"] == pytest.approx(100, abs=0.1)
        assert row_of["pixels"] == pytest.approx(12.9 * 15.6, rel=2e-3)
