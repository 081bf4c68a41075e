"""From raster files to greenness of units: what is silently wrong elsewhere must not be here.

The independent figures are exactextract's (coverage by area) and rasterstats' (pixel centers).
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
from rasterio.transform import Affine
from rasterstats import zonal_stats

from pipeline.catalog import LAYERS
from pipeline.core.errors import SourceError
from pipeline.core.layer import conform, empty
from pipeline.greenness.faults import greenness_faults
from pipeline.greenness.findings import zone_scene_findings
from pipeline.greenness.scene_findings import scene_findings
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.zone_pixels import (
    list_change_maps,
    measure_zone_changes,
    measure_zone_scenes,
)
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from pipeline.outputs import OUTPUTS
from pipeline.write.change_map import write_change_map
from tests.made_scenes import LEFT, TOP, inspected, told, treated, units_frame, write_raster

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

BARE = GreennessSettings(buffer_pixels=0, mixed_buffer_pixels=0)
ODD = [(33.0, 41.0, 133.0), (420.0, 300.0, 120.0), (550.0, 80.0, 100.0)]


def smooth_greenness(rows=60, columns=60, seed=3):
    """NDVI between 0.3 and 0.8."""
    chance = np.random.default_rng(seed)
    wave = np.sin(np.arange(rows) / 9)[:, None] * np.cos(np.arange(columns) / 7)[None, :]
    return 0.55 + 0.15 * wave + 0.05 * chance.standard_normal((rows, columns)).clip(-2, 2)


def round_units():
    """Discs, one of them over the raster's edge."""
    return units_frame([shapely.Point(LEFT + x, TOP - y).buffer(r) for x, y, r in ODD])


def faults_of(folder, **source):
    _, _, faults = read_scenes((SceneSource(**source),), folder)
    return "\n".join(map(str, faults))


NO_TREATMENTS = empty(LAYERS["treatment_log"])


def measured(units, scenes, settings=BARE, presets=None, treatments=NO_TREATMENTS):
    none = gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=units.crs)
    presets = empty(LAYERS["mask_presets"]) if presets is None else presets
    frame = measure_zone_scenes(units, none, scenes, presets, treatments, settings)
    return conform(frame, LAYERS["zone_scenes"]).set_index("unit_id")


def changed(units, scenes, settings=BARE):
    none = gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=units.crs)
    dates = sorted(scenes["date"].unique())
    comparisons = conform(
        pd.DataFrame(
            {
                "comparison": "c",
                "before": dates[0],
                "after": dates[-1],
                "unit_id": units["unit_id"],
                "role": "burned",
            }
        ),
        LAYERS["comparisons"],
    )
    presets = empty(LAYERS["mask_presets"])
    frame = measure_zone_changes(units, none, comparisons, scenes, presets, settings)
    return conform(frame, LAYERS["zone_changes"]).set_index("unit_id")


@pytest.fixture
def greenness_file(tmp_path):
    stored = np.rint(smooth_greenness() * 10000).astype("int16")
    stored[5:9, 3:12] = -3000
    return write_raster(
        tmp_path / "ndvi.tif",
        stored,
        scale=0.0001,
        nodata=-3000,
        tiled=True,
        blockxsize=16,
        blockysize=16,
    )


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
    units, none = round_units(), gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=32614)
    comparisons = pd.DataFrame(
        {
            "comparison": "c",
            "before": [scenes["date"][0]],
            "role": "burned",
            "after": [pd.Timestamp("2026-07-20")],
            "unit_id": ["U0"],
        }
    )
    frame = measure_zone_changes(
        units, none, comparisons, gone, empty(LAYERS["mask_presets"]), BARE
    )
    assert frame["reason"].tolist() == ["no_scene_after"]


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


def test_unknown_preset_of_a_quality_raster_is_found_before_the_run(tmp_path, greenness_file):
    mask = write_raster(tmp_path / "qa.tif", np.zeros((60, 60), dtype="uint8"))
    scenes = inspected(
        tmp_path, told(greenness_file, mask={"path": mask.name, "preset": "hls_fmsk"})
    )
    (fault,) = greenness_faults(scenes, empty(LAYERS["mask_presets"]))
    assert 'mask preset "hls_fmsk"' in str(fault)
    assert "give [sources.mask_presets]" in str(fault)
    presets = pd.DataFrame({"preset": ["hls_fmask", "landsat_c2"]})
    (fault,) = greenness_faults(scenes, presets)
    assert 'did you mean "hls_fmask"?' in str(fault)
    known = pd.DataFrame({"preset": ["hls_fmsk"]})
    assert greenness_faults(scenes, known) == []


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
    assert "cannot be opened" in faults_of(
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
    assert scenes["scale_origin"].tolist() == ["none needed"]
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


def messages(scenes):
    return [finding["message"] for finding in scene_findings(scenes)]


def test_one_raster_for_two_dates_is_told(tmp_path, greenness_file):
    scenes = inspected(
        tmp_path,
        told(greenness_file),
        told(greenness_file, date(2026, 7, 20)),
    )
    assert any("stands for 2025-07-20, 2026-07-20" in words for words in messages(scenes))
    once = inspected(tmp_path, told(greenness_file))
    assert not any("stands for" in words for words in messages(once))


def test_index_scaled_too_far_is_told(tmp_path, greenness_file):
    stored = rasterio.open(greenness_file).read()
    write_raster(tmp_path / "far.tif", stored, scale=0.00001, nodata=-3000)
    scenes = inspected(tmp_path, told(tmp_path / "far.tif"))
    assert any("is its scale of 1e-05 right?" in words for words in messages(scenes))
    assert not any("right?" in w for w in messages(inspected(tmp_path, told(greenness_file))))


def test_picture_of_another_place_is_told(tmp_path):
    away = write_raster(tmp_path / "away.tif", smooth_greenness(), left=LEFT + 90000, scale=0.0001)
    scenes = inspected(tmp_path, told(away))
    rows = measured(round_units(), scenes).reset_index()
    (words,) = [
        f["message"]
        for f in zone_scene_findings(rows, NO_TREATMENTS, GreennessSettings())
        if "no unit" in f["message"]
    ]
    assert words.startswith("2025-07-20: no unit has a usable pixel: is it the right file")


@pytest.mark.parametrize(
    ("names", "mixed"),
    [
        (
            (
                "S2A_MSIL2A_20250720T174911_N0511_R141_T14TPK_20250720T220001.tif",
                "S2B_MSIL2A_20260720T174911_N0511_R141_T14TPK_20260720T220001.tif",
            ),
            False,
        ),
        (
            (
                "S2A_MSIL2A_20250720T174911_N0511_R141_T14TPK_20250720T220001.tif",
                "HLS.L30.T14TPK.2026201T170000.v2.0.tif",
            ),
            True,
        ),
    ],
)
def test_only_sensors_of_another_make_are_mixed(tmp_path, names, mixed):
    for name in names:
        write_raster(tmp_path / name, smooth_greenness(), scale=0.0001)
    scenes = inspected(tmp_path, *({"path": name, "kind": "ndvi"} for name in names))
    assert set(changed(round_units(), scenes)["mixed"]) == {mixed}


def test_ndvi_as_delivered_against_ndvi_from_reflectance_is_told(tmp_path, greenness_file):
    stack = np.stack([np.full((60, 60), 1000), np.full((60, 60), 3000)]).astype("int16")
    write_raster(tmp_path / "stack.tif", stack, scale=0.0001)
    scenes = inspected(
        tmp_path,
        told(greenness_file),
        told(tmp_path / "stack.tif", date(2026, 7, 20), "reflectance", bands={"red": 1, "nir": 2}),
    )
    assert changed(round_units(), scenes)["mixed"].all()


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
