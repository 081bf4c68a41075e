"""Slopes of surfaces with closed forms, in every grid and unit that heights come in.

*Source* of what is expected: the derivatives of the formulas themselves. The 3 x 3 stencil of Horn
(Proceedings of the IEEE 69, 1981) is exact on a plane and on a saddle of the second degree.
"""

from functools import partial

import numpy as np
import pytest
import rasterio
import shapely
from pyproj import Transformer
from rasterio.windows import Window

from pipeline.ground.terrain import lattice, profile
from pipeline.pictures import heights
from pipeline.pictures.heights import read_terrain
from pipeline.pictures.raster_window import pixels_at
from tests.made_heights import GRIDS, cone, plane, saddle, write_heights
from tests.made_properties import CRS

BOUNDS = (-300.0, -300.0, 300.0, 300.0)
PLACES = lattice(shapely.box(*BOUNDS), 29.0)


@pytest.fixture(scope="module", params=GRIDS)
def read(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("heights")

    def terrain_of(surface, **more):
        path = folder / f"{surface.__name__}.tif"
        row = write_heights(path, surface, request.param, **more)
        return read_terrain(row, (-330.0, -330.0, 330.0, 330.0), CRS)

    return terrain_of


def test_plane(read):
    terrain = read(plane)
    assert np.abs(terrain.height_m(PLACES) - plane(*PLACES.T)).max() < 1e-4
    assert 100 * np.abs(terrain.gradient(PLACES) - [0.12, 0.05]).max() < 1e-4
    # Up and down over the ground: a line to the northeast rises (0.12 + 0.05) / √2 a meter.
    line = shapely.LineString([(-200, -200), (200, 200)])
    ratio = np.hypot(1, 0.17 / np.sqrt(2))
    assert profile(terrain, line).surface_ratio == pytest.approx(ratio, abs=1e-6)


def test_saddle(read):
    terrain = read(saddle)
    x, y = PLACES.T
    assert 100 * np.abs(terrain.gradient(PLACES) - np.column_stack([y, x]) / 4000).max() < 0.006


def test_cone_away_from_its_tip(read):
    terrain = read(cone)
    away = PLACES[np.hypot(*PLACES.T) > 60]
    # Between pixels a bilinear height is off by up to s² / 8 times the curvature, 0.2 / r of a cone
    # (the trapezoid's remainder); the stencil itself by about its second-order term.
    step, r = terrain.step_m, np.hypot(*away.T)
    off_pct = np.abs(100 * np.hypot(*terrain.gradient(away).T) - 20)
    assert (off_pct < 100 * 0.2 * (step / (8 * r) + step**2 / (4 * r**2))).all()
    assert off_pct.max() < 0.21
    assert np.median(off_pct) < 0.02
    assert np.abs(terrain.height_m(away) - cone(*away.T)).max() < 0.05


def test_pixel_is_measured_on_the_ground(tmp_path):
    # Web Mercator stretches by 1 / cos(latitude) on a sphere: 10 m at 40° N are 7.66 m of ground.
    path = tmp_path / "mercator.tif"
    row = write_heights(path, plane, "web_mercator")
    assert read_terrain(row, BOUNDS, CRS).step_m == 10.0
    with rasterio.open(path) as raster:
        to_mercator = Transformer.from_crs(CRS, "EPSG:3857", always_xy=True).transform
        to_pixels = partial(pixels_at, to_mercator, ~raster.transform)
        size = heights._pixel_m(to_pixels, BOUNDS)
    assert size == pytest.approx(10 * np.cos(np.radians(40)), rel=0.004)


def test_noise_of_a_fine_grid_lengthens_no_line(tmp_path):
    # Expected lengthening of independent noise s at spacing d: s² / d², 2 % at 1 m, 0.02 % at 10.
    def level(x, y):
        return 300 + 0 * x

    row = write_heights(tmp_path / "lidar.tif", level, "utm_1m", noise_m=0.15)
    terrain = read_terrain(row, BOUNDS, CRS)
    lines = [shapely.LineString([(-250, y), (250, y)]) for y in range(-250, 260, 50)]
    ratio = np.mean([profile(terrain, line).surface_ratio for line in lines])
    assert 1 < ratio < 1.0004


def test_only_the_window_is_read(tmp_path, monkeypatch):
    row = write_heights(tmp_path / "wide.tif", plane, half_m=2000.0)
    terrain = read_terrain(row, (-50.0, -50.0, 50.0, 50.0), CRS)
    assert max(terrain.heights_m.shape) < 25
    assert np.isfinite(terrain.gradient(np.array([(-50.0, -50.0), (50.0, 50.0)]))).all()


def test_more_pixels_than_fit_are_averaged(tmp_path, monkeypatch):
    row = write_heights(tmp_path / "fine.tif", plane, "utm_1m")
    monkeypatch.setattr(heights, "MOST_PIXELS", 20_000)
    terrain = read_terrain(row, BOUNDS, CRS)
    assert terrain.heights_m.size <= 20_000
    inner = PLACES[np.abs(PLACES).max(axis=1) < 280]
    assert 100 * np.abs(terrain.gradient(inner) - [0.12, 0.05]).max() < 1e-3
    assert np.abs(terrain.height_m(inner) - plane(*inner.T)).max() < 1e-3


def test_stored_scale_and_impossible_heights(tmp_path):
    row = write_heights(tmp_path / "scaled.tif", plane) | {"scale": 2.0, "offset": -100.0}
    terrain = read_terrain(row, BOUNDS, CRS)
    assert terrain.height_m(np.zeros((1, 2))) == pytest.approx(500)
    far = write_heights(tmp_path / "far.tif", lambda x, y: np.where(x > 0, 99999.0, 300.0))
    east, west = read_terrain(far, BOUNDS, CRS).height_m(np.array([(100.0, 0), (-100, 0)]))
    assert np.isnan(east)
    assert west == pytest.approx(300)


def test_no_data_is_unknown_and_nothing_else_is(tmp_path):
    path = tmp_path / "hole.tif"
    row = write_heights(path, plane)
    with rasterio.open(path, "r+") as raster:
        middle = raster.width // 2
        hole = np.full((4, 4), -9999.0)
        hole[0, 0] = np.nan
        raster.write(hole, 1, window=Window(middle, middle, 4, 4))
    terrain = read_terrain(row, BOUNDS, CRS)
    known = np.isfinite(terrain.height_m(PLACES))
    assert 0 < (~known).sum() < 12
    assert np.abs(terrain.height_m(PLACES[known]) - plane(*PLACES[known].T)).max() < 1e-4


@pytest.mark.parametrize("size", [1, 2])
def test_one_pixel_has_no_slope(tmp_path, size):
    row = write_heights(tmp_path / "dot.tif", plane, width=size, height=size)
    terrain = read_terrain(row, BOUNDS, CRS)
    assert np.isnan(terrain.gradient(PLACES)).all()


def test_raster_of_another_place_has_no_heights(tmp_path):
    place = rasterio.Affine(10, 0, 300_000, 0, -10, 6_000_000)
    row = write_heights(tmp_path / "far.tif", plane, transform=place)
    terrain = read_terrain(row, BOUNDS, CRS)
    assert terrain.heights_m.size == 0
    assert np.isnan(terrain.height_m(PLACES)).all()
