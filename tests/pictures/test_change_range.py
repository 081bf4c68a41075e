"""Effective pixels read from two pictures whose change has a known range."""

from datetime import date

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from rasterio.transform import Affine

from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from pipeline.pictures import change_range
from pipeline.pictures.autocorrelation import Range, correlation, effective_pixels_of_block
from tests.made_scenes import changed as changes_of

LEFT, TOP, SIDE, COUNT = 600000, 4500000, 36, 24
DAYS = date(2025, 7, 20), date(2026, 7, 20)


def picture(folder, name, array, pixel=10.0):
    profile = {
        "driver": "GTiff",
        "dtype": "float64",
        "count": 1,
        "crs": "EPSG:32614",
        "height": array.shape[0],
        "width": array.shape[1],
        "transform": Affine(pixel, 0, LEFT, 0, -pixel, TOP),
    }
    with rasterio.open(folder / name, "w", **profile) as raster:
        raster.write(array, 1)
    return SceneSource(path=name, kind="ndvi", date=DAYS["ba".index(name[0])])


def changed(folder, before, after):
    boxes = [
        shapely.box(LEFT + 360 * n, TOP - 360, LEFT + 360 * n + 360, TOP) for n in range(COUNT)
    ]
    units = gpd.GeoDataFrame(
        {"unit_id": [f"U{n}" for n in range(COUNT)]}, geometry=boxes, crs=32614
    )
    scenes, _, faults = read_scenes((before, after), folder)
    assert not faults
    return changes_of(units, scenes).reset_index()


@pytest.fixture(scope="module")
def alike_over_150_m():
    at = 10.0 * np.argwhere(np.ones((SIDE, SIDE)))
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    factor = np.linalg.cholesky(correlation(apart, Range(150.0)))
    draws = factor @ np.random.default_rng(11).standard_normal((SIDE * SIDE, COUNT))
    return np.concatenate([0.03 * own.reshape(SIDE, SIDE) for own in draws.T], axis=1)


def test_range_is_fitted_to_the_change_and_not_to_the_pictures(tmp_path, alike_over_150_m):
    steep = 0.4 + np.linspace(0, 0.2, alike_over_150_m.shape[1])
    before = picture(tmp_path, "b.tif", np.tile(steep, (SIDE, 1)))
    after = picture(tmp_path, "a.tif", np.tile(steep, (SIDE, 1)) + alike_over_150_m)
    rows = changed(tmp_path, before, after)
    assert set(rows["range_from"]) == {"pictures"}
    assert rows["range_m"].iloc[0] == pytest.approx(150, rel=0.15)
    worth = effective_pixels_of_block(SIDE, SIDE, 10, Range(150.0))
    assert rows["effective_pixels"].to_numpy() == pytest.approx(worth, rel=0.25)


def test_thinned_reading_of_large_units_tells_about_the_same(
    tmp_path, alike_over_150_m, monkeypatch
):
    before = picture(tmp_path, "b.tif", np.full(alike_over_150_m.shape, 0.5))
    after = picture(tmp_path, "a.tif", 0.5 + alike_over_150_m)
    whole = changed(tmp_path, before, after)
    monkeypatch.setattr(change_range, "LARGEST_SIDE", SIDE // 2)
    monkeypatch.setattr("pipeline.pictures.autocorrelation.LEAST_LAGS", 5)
    thin = changed(tmp_path, before, after)
    assert thin["range_from"].iloc[0] == "pictures"
    assert thin["range_m"].iloc[0] == pytest.approx(whole["range_m"].iloc[0], rel=0.1)
    assert thin["effective_pixels"].to_numpy() == pytest.approx(whole["effective_pixels"], rel=0.1)


def test_the_setting_stands_in_where_nothing_can_be_fitted(tmp_path, alike_over_150_m):
    flat = picture(tmp_path, "b.tif", np.full(alike_over_150_m.shape, 0.5))
    same = picture(tmp_path, "a.tif", np.full(alike_over_150_m.shape, 0.5))
    unchanged = changed(tmp_path, flat, same)
    coarse = picture(tmp_path, "a.tif", 0.5 + alike_over_150_m[::2, ::2], pixel=20.0)
    unpaired = changed(tmp_path, flat, coarse)
    worth = effective_pixels_of_block(SIDE, SIDE, 10, Range(200.0))
    for rows in (unchanged, unpaired):
        assert set(rows["range_from"]) == {"setting"}
        assert set(rows["range_m"]) == {200.0}
        assert rows["effective_pixels"].to_numpy() == pytest.approx(worth, rel=0.02)


def test_of_very_many_units_a_part_tells_the_range(tmp_path, alike_over_150_m, monkeypatch):
    before = picture(tmp_path, "b.tif", np.full(alike_over_150_m.shape, 0.5))
    after = picture(tmp_path, "a.tif", 0.5 + alike_over_150_m)
    whole = changed(tmp_path, before, after)
    monkeypatch.setattr(change_range, "MOST_UNITS", COUNT // 2)
    part = changed(tmp_path, before, after)
    assert part["range_m"].iloc[0] == pytest.approx(whole["range_m"].iloc[0], rel=0.3)
    assert part["effective_pixels"].to_numpy() == pytest.approx(whole["effective_pixels"], rel=0.4)
