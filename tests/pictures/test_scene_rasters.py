"""From the stored numbers of a raster to greenness: scale, offset, fill, masks, orientation.

What is silently wrong elsewhere must not be here. Scales and offsets are those that the products'
guides publish (Landsat Collection 2, Sentinel-2 baseline 04.00, MOD13Q1, HLS-VI).
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely
from rasterio.transform import Affine

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.greenness.scene_findings import scene_findings
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
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
    units_frame,
    write_raster,
)

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


@pytest.fixture
def greenness_file(tmp_path):
    return greenness_raster(tmp_path)


def faults_of(folder, **source):
    _, _, faults = read_scenes((SceneSource(**source),), folder)
    return "\n".join(map(str, faults))


def test_scale_is_applied_once_whoever_tells_it(tmp_path, greenness_file):
    units = round_units()
    both = inspected(tmp_path, told(greenness_file, scale=0.0001))
    bare = write_raster(tmp_path / "bare.tif", rasterio.open(greenness_file).read(), nodata=-3000)
    of_file = inspected(tmp_path, told(greenness_file))
    of_user = inspected(tmp_path, told(bare, scale=0.0001))
    means = [measured(units, s)["mean"].to_numpy() for s in (both, of_file, of_user)]
    assert means[0] == pytest.approx(means[1], abs=0)
    assert means[0] == pytest.approx(means[2], abs=0)
    assert list(of_file["scale_origin"]) == ["file"]


def test_scaled_numbers_that_nobody_explains_are_refused(tmp_path):
    path = write_raster(tmp_path / "raw.tif", np.full((9, 9), 4000, "int16"))
    assert "say scale = " in faults_of(tmp_path, **told(path))
    assert "mend scale and offset" in faults_of(tmp_path, **told(path, scale=0.001))


def test_south_up_raster_gives_the_same(tmp_path, greenness_file):
    with rasterio.open(greenness_file) as raster:
        stored, t = raster.read(), raster.transform
    upside_down = Affine(t.a, 0, t.c, 0, -t.e, t.f + t.e * stored.shape[1])
    flipped = write_raster(
        tmp_path / "flipped.tif", stored[:, ::-1], transform=upside_down, scale=0.0001, nodata=-3000
    )
    units = round_units()
    first = measured(units, inspected(tmp_path, told(greenness_file)))
    second = measured(units, inspected(tmp_path, told(flipped)))
    pd.testing.assert_frame_equal(first, second)
    pair = inspected(tmp_path, told(greenness_file), told(flipped, date(2026, 7, 20)))
    assert (changed(units, pair)["change"] == 0).all()


def test_zero_is_a_value_of_an_index_and_fill_of_reflectance(tmp_path):
    index = write_raster(tmp_path / "index.tif", np.zeros((60, 60), "float32"))
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    row = measured(units, inspected(tmp_path, told(index))).iloc[0]
    assert (row["mean"], row["valid_pct"]) == (0, 100)
    stack = np.full((2, 60, 60), 12000, "uint16")
    stack[:, :, :30] = 0
    bands = {"red": 1, "nir": 2}
    path = write_raster(tmp_path / "stack.tif", stack)
    source = told(path, kind="reflectance", bands=bands, scale=0.0000275, offset=-0.2)
    row = measured(units, inspected(tmp_path, source)).iloc[0]
    assert row["valid_pct"] == pytest.approx(50)


@pytest.mark.parametrize(
    ("red", "nir", "scale", "offset", "expected"),
    [
        (9000, 18000, 0.0000275, -0.2, 0.722628),  # Landsat Collection 2 surface reflectance
        (1500, 4000, 0.0001, -0.1, 0.714286),  # Sentinel-2 from baseline 04.00 on
        (1500, 4000, 0.0001, 0.0, 0.454545),  # Sentinel-2 before it
    ],
)
def test_reflectance_is_scaled_before_the_index(tmp_path, red, nir, scale, offset, expected):
    stack = np.stack([np.full((20, 20), red), np.full((20, 20), nir)]).astype("uint16")
    path = write_raster(tmp_path / "stack.tif", stack)
    units = units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)])
    source = told(path, kind="reflectance", bands={"red": 1, "nir": 2}, scale=scale, offset=offset)
    assert measured(units, inspected(tmp_path, source)).iloc[0]["mean"] == pytest.approx(
        expected, abs=5e-7
    )


def test_impossible_values_are_left_out_and_counted(tmp_path):
    array = smooth_greenness().astype("float32")
    array[:6] = 1.7
    array[6:9] = np.nan
    path = write_raster(tmp_path / "odd.tif", array)
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    row = measured(units, inspected(tmp_path, told(path))).iloc[0]
    assert row["out_of_range_pct"] == pytest.approx(10)
    assert row["valid_pct"] == pytest.approx(85)
    assert row["mean"] == pytest.approx(array[9:].mean(), abs=1e-6)


def test_mask_band_inside_the_file(tmp_path):
    array = np.full((60, 60), 0.5, "float32")
    array[:30] = 0.1
    path = write_raster(tmp_path / "masked.tif", array)
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True), rasterio.open(path, "r+") as raster:
        raster.write_mask(np.repeat([False, True], 30)[:, None] & np.ones((60, 60), bool))
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    row = measured(units, inspected(tmp_path, told(path))).iloc[0]
    assert (row["mean"], row["valid_pct"]) == (pytest.approx(0.5), pytest.approx(50))


def test_quality_raster_of_twice_the_pixel_size(tmp_path):
    array = np.full((60, 60), 0.5, "float32")
    array[:20] = 0.1
    path = write_raster(tmp_path / "ndvi.tif", array)
    classes = np.full((30, 30), 4, "uint8")
    classes[:10] = 9
    write_raster(tmp_path / "scl.tif", classes, pixel=20.0)
    units = units_frame([shapely.box(LEFT, TOP - 600, LEFT + 600, TOP)])
    rows = [("scl", "keep_value", c, "kept", False, "table") for c in (4, 5, 6, 7)]
    presets = pd.DataFrame(rows, columns=LAYERS["mask_presets"].column_names)
    for mask in ({"keep_values": (4, 5)}, {"preset": "scl"}):
        scenes = inspected(tmp_path, told(path, mask={"path": "scl.tif", **mask}))
        row = measured(units, scenes, presets=presets).iloc[0]
        assert row["mean"] == pytest.approx(0.5)
        assert row["valid_pct"] == pytest.approx(100 * 2 / 3)
    scenes = inspected(tmp_path, told(path, mask={"path": "scl.tif", "preset": "scll"}))
    with pytest.raises(SourceError, match="known are scl"):
        measured(units, scenes, presets=presets)


SENTINEL = "S2A_MSIL2A_20230712T174911_N0509_R141_T14TPK_20230712T220001.tif"


def test_product_name_gives_the_scaling_that_nobody_else_tells(tmp_path):
    # Sentinel-2 of baseline 05.09, 1500 and 4000: 0.714286 with the offset, 0.454545 without it.
    stack = np.stack([np.full((20, 20), 1500), np.full((20, 20), 4000)]).astype("uint16")
    write_raster(tmp_path / SENTINEL, stack)
    source = {"path": SENTINEL, "kind": "reflectance", "bands": {"red": 1, "nir": 2}}
    units = units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)])
    scenes = inspected(tmp_path, source)
    assert measured(units, scenes).iloc[0]["mean"] == pytest.approx(0.714286, abs=5e-7)
    (note,) = [f for f in scene_findings(scenes) if "published" in f["message"]]
    assert note["severity"] == "note"
    forgotten = inspected(tmp_path, {**source, "scale": 0.0001})
    assert measured(units, forgotten).iloc[0]["mean"] == pytest.approx(0.454545, abs=5e-7)
    (warning,) = [f for f in scene_findings(forgotten) if "published" in f["message"]]
    assert warning["severity"] == "warning"
    assert "are scale 0.0001 and offset -0.1" in warning["message"]


def test_reflectance_that_is_already_scaled_is_left_as_it_is(tmp_path):
    stack = np.stack([np.full((20, 20), 0.05), np.full((20, 20), 0.30)]).astype("float32")
    write_raster(tmp_path / SENTINEL, stack)
    source = {"path": SENTINEL, "kind": "reflectance", "bands": {"red": 1, "nir": 2}}
    units = units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)])
    scenes = inspected(tmp_path, source)
    assert scenes["scale_origin"].tolist() == ["none_needed"]
    assert measured(units, scenes).iloc[0]["mean"] == pytest.approx(0.714286, abs=5e-7)


@pytest.mark.parametrize("dtype", ["int16", "float32"])
def test_ndvi_of_landsat_7_on_the_scale_of_landsat_8(tmp_path, dtype):
    name = "LE07_L2SP_028032_20120727_20200908_02_T1_NDVI.tif"
    stored = np.full((20, 20), 5000 if dtype == "int16" else 0.5, dtype)
    write_raster(tmp_path / name, stored, scale=0.0001 if dtype == "int16" else None)
    units = units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)])
    scenes = inspected(tmp_path, {"path": name, "kind": "ndvi", "as_landsat_8": True})
    row = measured(units, scenes).iloc[0]
    assert row["mean"] == pytest.approx(0.50965, abs=5e-7)
    assert row["sd"] == pytest.approx(0, abs=1e-6)
    assert any("0.0235 plus 0.9723 times" in f["message"] for f in scene_findings(scenes))
    write_raster(tmp_path / SENTINEL, stored, scale=0.0001)
    wrong = {"path": SENTINEL, "kind": "ndvi", "as_landsat_8": True}
    assert "a scene of Landsat 4, 5 or 7" in faults_of(tmp_path, **wrong)


@pytest.mark.parametrize(
    ("name", "fill", "dtype"),
    [
        ("MOD13Q1.A2025193.h10v04.061.2025210000000.tif", -3000, "int16"),
        ("HLS-VI.S30.T14TPK.2025193T170000.v2.0.NDVI.tif", -19999, "int16"),
    ],
)
def test_fill_of_a_known_product_is_no_value(tmp_path, name, fill, dtype):
    # Nine pixels of 0.60 and one of MOD13Q1's fill would give 0.51.
    stored = np.full((20, 20), 6000, dtype)
    stored[::10] = fill
    write_raster(tmp_path / name, stored)
    units = units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)])
    row = measured(units, inspected(tmp_path, {"path": name, "kind": "ndvi"})).iloc[0]
    assert row["mean"] == pytest.approx(0.6)
    assert row["valid_pct"] == pytest.approx(90)


def test_zero_of_landsat_is_fill_whatever_the_file_says(tmp_path):
    name = "LC08_L2SP_028032_20250727_20250908_02_T1_stack.tif"
    stack = np.stack([np.full((20, 20), 9000), np.full((20, 20), 18000)]).astype("uint16")
    stack[:, :10] = 0
    write_raster(tmp_path / name, stack, nodata=65535)
    source = {"path": name, "kind": "reflectance", "bands": {"red": 1, "nir": 2}}
    units = units_frame([shapely.box(LEFT, TOP - 200, LEFT + 200, TOP)])
    row = measured(units, inspected(tmp_path, source)).iloc[0]
    assert row["mean"] == pytest.approx(0.722628, abs=5e-7)
    assert row["valid_pct"] == pytest.approx(50)


def test_rasters_that_cannot_be_placed_are_refused(tmp_path):
    ones = np.full((9, 9), 0.5, "float32")
    rotated = Affine(10, 2, LEFT, 2, -10, TOP)
    cases = {
        "no coordinate reference system": write_raster(tmp_path / "a.tif", ones, crs=None),
        "rotated": write_raster(tmp_path / "b.tif", ones, transform=rotated),
        "complex": write_raster(tmp_path / "c.tif", ones.astype("complex64")),
        "2 bands": write_raster(tmp_path / "d.tif", np.stack([ones, ones])),
    }
    for words, path in cases.items():
        assert words in faults_of(tmp_path, **told(path))
    (tmp_path / "e.tif").write_text("not a raster")
    assert "not a raster of a format that is read" in faults_of(
        tmp_path, path="e.tif", date=date(2026, 1, 1), kind="ndvi"
    )
    stack = told(cases["2 bands"], kind="reflectance", bands={"red": 1, "nir": 7})
    assert "nir = 7, the file has 2" in faults_of(tmp_path, **stack)
    assert "no file at" in faults_of(tmp_path, path="gone.tif", kind="ndvi")


def test_every_fault_of_every_scene_is_told_at_once(tmp_path):
    scenes = tuple(SceneSource(path=f"{n}.tif", kind="ndvi") for n in range(3))
    assert len(read_scenes(scenes, tmp_path)[2]) == 3


def test_date_of_the_product_name_is_used_and_must_not_be_contradicted(tmp_path):
    name = "HLS.S30.T13RCN.2024128T173909.v2.0.tif"
    path = write_raster(tmp_path / name, smooth_greenness().astype("float32"))
    scenes = inspected(tmp_path, {"path": name, "kind": "ndvi"})
    assert scenes["date"].tolist() == [pd.Timestamp("2024-05-07")]
    assert scenes["sensor"].tolist() == ["HLS.S30"]
    assert "the product's name says 2024-05-07" in faults_of(tmp_path, **told(path))
    write_raster(tmp_path / "07122023.tif", smooth_greenness().astype("float32"))
    assert "no date" in faults_of(tmp_path, path="07122023.tif", kind="ndvi")
