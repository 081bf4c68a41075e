"""An air photo that cannot lie under the maps is refused in a line; what it leaves out is told."""

import geopandas as gpd
import numpy as np
import pytest
import rasterio
from rasterio.enums import ColorInterp
from shapely import box

from pipeline.cli import main
from pipeline.intake.rasters.backdrop import backdrop_faults, find_backdrop, read_backdrop
from pipeline.intake.settings import BackdropSource
from tests.four_forties import PROPERTY, forties, write_four_forties

# The forties lie east and north of 40° N, 96° W: on this grid near 756,100 east, 4,432,069 north.
PLACE = rasterio.Affine(10, 0, 755_900, 0, -10, 4_433_100)
GRAY = np.tile(np.arange(120, dtype="uint8") + 60, (130, 1))


def write_photo(path, bands=1, values=GRAY, colors=None, **profile):
    rows, columns = values.shape
    told = {
        "driver": "GTiff",
        "dtype": "uint8",
        "count": bands,
        "crs": "EPSG:32614",
        "transform": PLACE,
        "height": rows,
        "width": columns,
    } | profile
    with rasterio.open(path, "w", **told) as photo:
        photo.write(np.stack([values] * bands).astype(told["dtype"]))
        if colors:
            photo.colorinterp = colors


def read(folder, **photo):
    write_photo(folder / "photo.tif", **photo)
    return read_backdrop(BackdropSource(path="photo.tif"), folder)


REFUSED = {
    "no reference system": ({"crs": None}, "no coordinate reference system"),
    "no place": ({"transform": rasterio.Affine.identity()}, "no place on the ground"),
    "two bands": ({"bands": 2}, "2 bands"),
    "six bands": ({"bands": 6}, "6 bands"),
    "complex": ({"dtype": "complex64"}, "holds complex64 values"),
    "nothing": ({"values": np.zeros((130, 120)), "nodata": 0}, "no pixel of a sample has a value"),
    "palette": ({"colors": [ColorInterp.palette]}, "from a palette"),
}


@pytest.mark.parametrize("case", REFUSED)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_refused_in_one_line(tmp_path, case):
    photo, words = REFUSED[case]
    found = read(tmp_path, **photo)
    (fault,) = found.faults
    assert words in str(fault)
    assert str(fault).startswith("[sources.backdrop]")
    assert "\n" not in str(fault)
    assert found.frame.empty


TAKEN = {
    "gray": ({}, 1),
    "color": ({"bands": 3}, 3),
    "near-infrared": ({"bands": 4}, 3),
    "color and where it is clear": ({"bands": 4, "photometric": "RGB", "alpha": "YES"}, 3),
    "gray and where it is clear": ({"bands": 2, "alpha": "YES"}, 1),
    "sixteen bits": ({"values": GRAY * 200.0, "dtype": "uint16"}, 1),
}


@pytest.mark.parametrize("case", TAKEN)
def test_taken_with_the_tones_that_it_holds(tmp_path, case):
    photo, bands = TAKEN[case]
    found = read(tmp_path, **photo)
    assert not found.faults
    (row,) = found.frame.to_dict("records")
    assert row["bands"] == bands
    # One pixel of a hundred is darker, one brighter: numpy's percentile of all of them.
    dark, bright = np.percentile(photo.get("values", GRAY), [1, 99])
    step = 2 * np.ptp(photo.get("values", GRAY)) / 119
    assert row["darkest"] == pytest.approx(dark, abs=step)
    assert row["brightest"] == pytest.approx(bright, abs=step)
    assert found.source_row["rows_used"] == bands


def against(read_photo, shapes=None):
    """Layers as they meet: the photo, and units in their own projection."""
    units = forties().rename(columns={"UNIT": "unit_id"})
    if shapes is not None:
        units = gpd.GeoDataFrame(
            {"unit_id": list("ABCD")[: len(shapes)]}, geometry=shapes, crs=units.crs
        )
    return {"drawn_units": units, "backdrop": read_photo.frame}


def test_a_photo_of_another_place_is_refused(tmp_path):
    elsewhere = rasterio.Affine(10, 0, 300_000, 0, -10, 6_000_000)
    (fault,) = backdrop_faults(against(read(tmp_path, transform=elsewhere)))
    assert "shows no unit" in str(fault)
    # Where no number tells the place of the units on the photo's grid, they are not on it.
    (fault,) = backdrop_faults(against(read(tmp_path, crs="EPSG:32756")))
    assert "shows no unit" in str(fault)


def test_a_photo_that_shows_all_has_nothing_to_tell(tmp_path):
    frames = against(read(tmp_path))
    assert not list(backdrop_faults(frames))
    assert not list(find_backdrop(frames))


def test_what_a_photo_leaves_white_is_told_unit_by_unit(tmp_path):
    columns = 64
    half = GRAY[:, :columns]
    # Reach of the units on the photo's grid, 10 m a column, by geopandas' own transformation.
    reach = forties().to_crs(32614).bounds[["minx", "maxx"]].sub(PLACE.c).div(10)
    units = list("ABCD")
    part = [
        u for u, low, high in zip(units, *reach.to_numpy().T, strict=True) if low < columns < high
    ]
    assert part == ["C", "D"]
    (finding,) = find_backdrop(against(read(tmp_path, values=half)))
    assert finding["message"].endswith("leaves white part of C, D")
    assert finding["subject"] == "C, D"
    blank = GRAY.copy()
    blank[:, columns:] = 0
    (same,) = find_backdrop(against(read(tmp_path, values=blank, nodata=0)))
    assert same == finding


def test_units_in_parts_and_with_holes_are_looked_at_whole(tmp_path):
    half = read(tmp_path, values=GRAY[:, :64])
    holed = box(0, 0, 300, 300).difference(box(100, 100, 200, 200)).union(box(310, 0, 350, 50))
    (finding,) = find_backdrop(against(half, [holed, box(700, 0, 780, 50)]))
    assert finding["message"].endswith("leaves white all of B")


def test_a_large_photo_without_overviews_is_a_note(tmp_path):
    told = {"driver": "GTiff", "dtype": "uint8", "count": 1, "crs": "EPSG:32614", "tiled": True}
    size = {"height": 8000, "width": 8000, "transform": PLACE, "sparse_ok": True}
    with rasterio.open(tmp_path / "big.tif", "w", **told, **size) as photo:
        photo.write(np.full((256, 256), 90, "uint8"), 1, window=((0, 256), (0, 256)))
    found = read_backdrop(BackdropSource(path="big.tif"), tmp_path)
    assert [finding["code"] for finding in found.findings] == ["no_overviews"]


def test_check_tells_a_photo_of_another_place_among_the_other_faults(tmp_path, capsys):
    write_four_forties(tmp_path)
    write_photo(tmp_path / "photo.tif", transform=rasterio.Affine(10, 0, 3e5, 0, -10, 6e6))
    source = '[sources.backdrop]\npath = "photo.tif"\n[[burns]]\nblock = "W"\nunits = ["A", "Z"]\n'
    (tmp_path / "four.toml").write_text(PROPERTY + source + "wind_from_deg = 225\n")
    assert main(["check", str(tmp_path / "four.toml"), "--quiet"]) == 2
    told = capsys.readouterr().err
    assert "[sources.backdrop]: the picture shows no unit" in told
    assert 'unit "Z" is not on the map' in told
