"""An air photo under a map: in its place on the ground, gray, pale, and small."""

import numpy as np
import pytest
import rasterio
from pyproj import CRS
from rasterio.io import MemoryFile

from pipeline.pictures.backdrop import MOST_BYTES, backdrop_jpeg
from tests.made_heights import GRIDS, write_heights
from tests.made_properties import CRS as PLANE

BOUNDS = (-300.0, -200.0, 300.0, 200.0)
SIZE = (600, 400)  # a pixel a meter
TONES = {"darkest": 0.0, "brightest": 255.0}


def drawn(path, bands=1, size=SIZE, bounds=BOUNDS, tones=TONES):
    told = {"path": str(path), "name": "photo.tif", "bands": bands, **tones}
    return backdrop_jpeg(told, bounds, CRS(PLANE), size)


def grays(jpeg):
    with MemoryFile(jpeg) as memory, memory.open(driver="JPEG") as picture:
        assert picture.count == 1
        return picture.read(1).astype(float)


def corner(x, y):
    """Bright north of y = 40 and east of x = 60, dark elsewhere."""
    return np.where((x > 60) & (y > 40), 255.0, 0.0)


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
@pytest.mark.parametrize(
    "grid", ["utm_1m", "utm_10m", "third_arc_second", "rotated", "web_mercator"]
)
def test_what_the_photo_shows_lies_where_it_is_on_the_ground(tmp_path, grid):
    # The truth is the formula of the surface, which the raster was made from by pyproj.
    write_heights(tmp_path / "photo.tif", corner, grid, dtype="uint8", nodata=None)
    gray = grays(drawn(tmp_path / "photo.tif"))
    middle = (gray.min() + gray.max()) / 2
    across, down = gray[60] > middle, gray[:, 560] > middle
    pixel_m = GRIDS[grid][1] if grid != "third_arc_second" else 10.0
    assert abs(np.argmax(across) - 360) <= 0.8 * pixel_m + 1
    assert abs(np.argmin(down) - 160) <= 0.8 * pixel_m + 1
    assert across[np.argmax(across) :].all()
    assert not down[np.argmin(down) :].any()


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_ground_without_a_picture_is_white_and_the_darkest_is_pale(tmp_path):
    def dark_west(x, y):
        return np.where(x < 0, 0.0, 77.0)

    write_heights(tmp_path / "photo.tif", dark_west, "utm_1m", dtype="uint8", nodata=77)
    gray = grays(drawn(tmp_path / "photo.tif"))
    assert gray[:, 320:].min() >= 250
    assert gray[:, :280].max() <= 185
    # Relative luminance by WCAG 2.1: black on the darkest gray has 7 to 1 and more.
    share = (gray[:, :280].min() / 255 + 0.055) / 1.055
    assert (share**2.4 + 0.05) / 0.05 >= 7
    assert drawn(tmp_path / "photo.tif", bounds=(9e5, 9e5, 9.1e5, 9.1e5)) is None


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_colors_become_the_grays_that_the_standard_has(tmp_path):
    # ITU-R BT.601: luma is 0.299 red, 0.587 green, 0.114 blue.
    colors = {"red": (255, 0, 0), "green": (0, 255, 0), "blue": (0, 0, 255), "white": (255,) * 3}
    expected = {"red": 0.299, "green": 0.587, "blue": 0.114, "white": 1.0}
    for name, color in colors.items():
        place = {"crs": PLANE, "transform": rasterio.Affine(5, 0, -400, 0, -5, 400)}
        size = {"width": 160, "height": 160, "count": 3, "dtype": "uint8"}
        with rasterio.open(tmp_path / f"{name}.tif", "w", driver="GTiff", **place, **size) as photo:
            photo.write(np.tile(np.array(color, "uint8")[:, None, None], (1, 160, 160)))
        level = float(np.median(grays(drawn(tmp_path / f"{name}.tif", bands=3))))
        assert level == pytest.approx(180 + 75 * expected[name], abs=1.5)


@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_the_roughest_picture_leaves_room_on_a_page_and_is_the_same_twice(tmp_path):
    chance = np.random.default_rng(5)

    def rough(x, y):
        return chance.integers(0, 256, x.shape).astype(float)

    write_heights(tmp_path / "photo.tif", rough, "utm_1m", dtype="uint8", nodata=None)
    made = [drawn(tmp_path / "photo.tif", size=(1200, 1000)) for _ in range(2)]
    assert made[0] == made[1]
    assert len(made[0]) <= MOST_BYTES <= 200_000


def test_a_large_photo_is_made_small_before_it_is_moved(tmp_path, monkeypatch):
    """What is held at once is about the size of the map on paper, not that of the photo."""
    from pipeline.pictures import backdrop

    sizes = []
    move = backdrop.reproject
    monkeypatch.setattr(
        backdrop,
        "reproject",
        lambda small, *a, **k: sizes.append(small.shape) or move(small, *a, **k),
    )
    place = {"crs": PLANE, "transform": rasterio.Affine(0.1, 0, -320, 0, -0.1, 220)}
    size = {"width": 6400, "height": 4400, "count": 1, "dtype": "uint8", "tiled": True}
    with rasterio.open(
        tmp_path / "photo.tif", "w", driver="GTiff", sparse_ok=True, **place, **size
    ) as photo:
        photo.write(np.full((256, 256), 90, "uint8"), 1, window=((0, 256), (0, 256)))
    assert drawn(tmp_path / "photo.tif", size=(300, 200)) is not None
    ((rows, columns),) = sizes
    assert (rows, columns) == (pytest.approx(200, rel=0.02), pytest.approx(300, rel=0.02))
