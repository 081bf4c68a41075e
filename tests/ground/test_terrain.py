"""Heights and slopes between pixels, held against QGIS and against what can be checked by head."""

import ast

import numpy as np
import pytest
import shapely

from pipeline.ground.terrain import Terrain, lattice, profile
from tests.registry_files import wheel_files


@pytest.fixture(scope="session")
def published_slopes(request, tmp_path_factory):
    """Heights 1 m apart and their slope [degree] by QGIS, out of the wheel of xarray-spatial.

    *Source*: its tests hold them against QGIS's own figures; the package is only unpacked.
    """
    folder = wheel_files(
        request.config,
        "xarray-spatial==0.5.3",
        "xrspatial/tests/",
        tmp_path_factory.mktemp("slopes"),
    )
    heights = array_of((folder / "conftest.py").read_text(), "elevation_raster")
    return heights, array_of((folder / "test_slope.py").read_text(), "qgis_slope")


def array_of(source, function):
    """The array that a function of a published test file is made of."""
    made = next(n for n in ast.parse(source).body if getattr(n, "name", "") == function)
    rows = next(n for n in ast.walk(made) if isinstance(n, ast.List))
    cells = [
        [np.nan if isinstance(c, ast.Attribute) else ast.literal_eval(c) for c in row.elts]
        for row in rows.elts
    ]
    return np.array(cells, dtype="float32").astype(float)


def terrain_of(heights, pixel_m=1.0, step_m=None):
    """Heights on a north-up grid whose outer corner in the northwest is the origin."""
    return Terrain(
        np.asarray(heights, dtype=float),
        lambda points: points * [1 / pixel_m, -1 / pixel_m],
        step_m or pixel_m,
    )


def test_slope_is_that_of_another_program(published_slopes):
    heights, slope_deg = published_slopes
    row, column = np.nonzero(np.isfinite(slope_deg))
    inner = (row > 0) & (column > 0) & (row < len(heights) - 1) & (column < heights.shape[1] - 1)
    # One row and column more, which count for nothing: the last middles need a neighbor beyond.
    points = np.column_stack([column + 0.5, -row - 0.5])[inner]
    padded = np.pad(heights, 1, mode="edge")
    terrain = terrain_of(padded)
    gradient = terrain.gradient(points + np.array([1, -1]))
    found_deg = np.degrees(np.arctan(np.hypot(*gradient.T)))
    assert inner.sum() >= 20
    assert np.abs(found_deg - slope_deg[row, column][inner]).max() < 1e-4


def test_height_between_four_pixels():
    terrain = terrain_of([[0, 4], [8, 12]])
    points = np.array([(1.0, -1.0), (0.75, -0.75), (0.5, -0.5), (0.4, -1.0), (1.6, -1.0)])
    heights = terrain.height_m(points)
    assert list(heights[:3]) == [6, 3, 0]
    assert np.isnan(heights[3:]).all(), "beyond the middles of the outer pixels"


def test_a_pixel_without_height_leaves_a_hole():
    heights = np.zeros((5, 5))
    heights[2, 2] = np.nan
    terrain = terrain_of(heights)
    near, far = terrain.height_m(np.array([(2.6, -2.6), (1.2, -1.2)]))
    assert np.isnan(near)
    assert far == 0


def test_places_that_a_projection_cannot_show_have_no_height():
    terrain = Terrain(np.zeros((5, 5)), lambda points: np.full_like(points, np.inf), 1.0)
    assert np.isnan(terrain.height_m(np.zeros((3, 2)))).all()


def test_profile_of_a_bent_line_takes_its_whole_length():
    rising = terrain_of(np.tile(np.arange(200.0), (200, 1)))  # 1 m a meter to the east: 45°
    bent = shapely.LineString([(50, -50), (150, -50), (150, -150)])
    line = profile(rising, bent)
    assert line.span_m * len(line.middles) == pytest.approx(200)
    assert line.surface_ratio == pytest.approx((np.sqrt(2) + 1) / 2, rel=1e-9)
    assert np.abs(line.rise[:100] - 1).max() < 1e-9
    assert np.abs(line.rise[100:]).max() < 1e-9


def test_lattice_covers_a_shape_evenly_and_never_misses_it():
    square = shapely.box(0, 0, 100, 100)
    assert len(lattice(square, 10)) == 100
    hole = shapely.Polygon(square.exterior, [shapely.box(20, 20, 80, 80).exterior])
    assert len(lattice(hole, 10)) == 64
    assert len(lattice(shapely.box(3, 3, 4, 4), 10)) == 1
