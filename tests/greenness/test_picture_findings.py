"""Pictures that are wrong themselves, as made rasters, and the figures they would give.

Fill counts and shares are numpy's; scalings are those that ESA and the USGS publish.
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest
import rasterio
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.readings.picture_findings import find_pictures
from pipeline.greenness.readings.picture_samples import sample_pictures
from pipeline.greenness.scene_findings import scene_findings
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.picture_samples import commonest
from tests.made_scenes import (
    LEFT,
    TOP,
    inspected,
    measured,
    readings,
    smooth_greenness,
    told,
    units_frame,
    write_raster,
)

NO_PRESETS = empty(LAYERS["mask_presets"])
SEASON = pd.DataFrame({"season": [2027]})
NO_SAMPLES = empty(LAYERS["picture_samples"])
YEARS = [date(year, 7, 20) for year in (2024, 2025, 2026)]


def field_units():
    return units_frame(
        [shapely.box(LEFT + x, TOP - 560, LEFT + x + 160, TOP - 40) for x in (40, 240, 420)]
    )


def samples_of(scenes, presets=NO_PRESETS):
    frame = sample_pictures(field_units(), scenes, presets)
    return conform(frame, LAYERS["picture_samples"])


def messages(samples=NO_SAMPLES, zone_scenes=None, **settings):
    if zone_scenes is None:
        zone_scenes = readings().reindex(columns=LAYERS["zone_scenes"].column_names)
    units, chosen = field_units(), GreennessSettings(**settings)
    frame = find_pictures(units, samples, zone_scenes, SEASON, chosen)
    assert set(frame["severity"]) <= {"warning"}
    return list(frame["message"])


def of_units(by_date, kind="ndvi"):
    rows = [(f"U{n}", day, mean) for day, means in by_date for n, mean in enumerate(means)]
    return readings(*rows, kind=kind)


def stored_greenness(filled=0.0, number=2000):
    """Whole numbers of NDVI · 10,000 with a share of pixels that hold one number."""
    stored = np.rint(smooth_greenness() * 10000).astype("int16")
    stored[np.random.default_rng(7).random(stored.shape) < filled] = number
    return stored


def test_undeclared_fill_inside_the_valid_range_is_told(tmp_path):
    stored = stored_greenness(0.15)
    path = write_raster(tmp_path / "a.tif", stored, scale=0.0001)
    samples = samples_of(inspected(tmp_path, told(path)))
    assert samples["commonest_value"].iloc[0] == pytest.approx(0.2)
    share = 100 * (stored == 2000).mean()
    assert samples["commonest_pct"].iloc[0] == pytest.approx(share, abs=2)
    (message,) = messages(samples)
    assert "hold exactly 0.2 of NDVI (stored as 2000)" in message
    assert "say fill = 2000" in message
    mended = inspected(tmp_path, told(path, fill=2000))
    assert messages(samples_of(mended)) == []
    row = measured(field_units(), mended).iloc[0]
    there = stored[4:56, 4:20]  # the pixels of the first unit
    assert row["mean"] == pytest.approx(there[there != 2000].mean() * 0.0001, abs=1e-9)


@pytest.mark.parametrize("rows", [slice(4, 14), slice(20, 30), slice(46, 56)])
def test_fill_in_a_corner_of_the_units_is_seen(rows, tmp_path):
    stored = stored_greenness()
    stored[rows, :20] = 2000
    path = write_raster(tmp_path / "a.tif", stored, scale=0.0001)
    (message,) = messages(samples_of(inspected(tmp_path, told(path))))
    assert "hold exactly 0.2" in message


@pytest.mark.parametrize("step", [1e-4, 0.005, 0.01])
def test_values_in_steps_are_no_spike(step, tmp_path):
    values = np.round(smooth_greenness() / step) * step
    path = write_raster(tmp_path / "a.tif", values.astype("float32"))
    assert messages(samples_of(inspected(tmp_path, told(path)))) == []


def test_commonest_number_against_its_neighbors():
    told_of = commonest(np.array([1, 2, 2, 3, 3, 9, 9, 9, 9, 9, 9]))
    assert (told_of.number, told_of.times) == (9, 3)
    assert told_of.share_pct == pytest.approx(100 * 6 / 11)
    assert commonest(np.array([5.0, 5.0])).times == np.inf
    assert commonest(np.array([])) is None


def test_quality_raster_whose_nodata_is_clear_ground(tmp_path):
    # Bit 1 is cloud in the HLS Fmask (its user guide); 0 has no bit set, and is nodata here.
    path = write_raster(tmp_path / "a.tif", stored_greenness(), scale=0.0001)
    quality = np.zeros((60, 60), "uint8")
    quality[:15] = 2
    write_raster(tmp_path / "q.tif", quality, nodata=0)
    ask = {"path": "q.tif", "drop_bits": [1]}
    scenes = inspected(tmp_path, told(path, mask=ask))
    samples = samples_of(scenes)
    (message,) = messages(samples)
    assert "left out since the quality raster has no data (its value 0)" in message
    assert "say nodata_is_clear = true" in message
    assert (measured(field_units(), scenes)["pixels"] == 0).all()
    mended = inspected(tmp_path, told(path, mask=ask | {"nodata_is_clear": True}))
    assert messages(samples_of(mended)) == []
    row = measured(field_units(), mended).iloc[0]
    assert row["valid_pct"] == pytest.approx(100 * 41 / 52)  # rows 15 to 56 of rows 4 to 56


@pytest.mark.parametrize("pixel", [10.0, 20.0])
def test_clear_nodata_counts_inside_the_quality_raster_alone(tmp_path, pixel):
    path = write_raster(tmp_path / "a.tif", stored_greenness(), scale=0.0001)
    half = np.zeros((int(600 / pixel), int(300 / pixel)), "uint8")
    write_raster(tmp_path / "q.tif", half, nodata=0, pixel=pixel)
    ask = {"path": "q.tif", "drop_bits": [1], "nodata_is_clear": True}
    rows = measured(field_units(), inspected(tmp_path, told(path, mask=ask)))
    assert rows["valid_pct"].tolist() == pytest.approx([100, 100 * 60 / 160, 0])


def test_two_whole_pictures_of_one_date_are_told(tmp_path):
    paths = [
        write_raster(tmp_path / f"{n}.tif", stored_greenness() + n, scale=0.0001) for n in (0, 1)
    ]
    (message,) = messages(samples_of(inspected(tmp_path, *map(told, paths))))
    assert "shows the same units as 0.tif, which is laid on top of it" in message
    apart = inspected(tmp_path, told(paths[0]), told(paths[1], YEARS[2]))
    assert messages(samples_of(apart)) == []


def test_tiles_side_by_side_are_no_twins(tmp_path):
    stored = stored_greenness()
    west = write_raster(tmp_path / "w.tif", stored[:, :42], scale=0.0001)
    east = write_raster(tmp_path / "e.tif", stored[:, 38:], scale=0.0001, left=LEFT + 380)
    assert messages(samples_of(inspected(tmp_path, told(west), told(east)))) == []


def stack(path, red, nir):
    return write_raster(path, np.stack([red, nir]).astype("float32"))


def test_swapped_bands_without_descriptions_show_as_negative_summers(tmp_path):
    # NDVI turns its sign where red and near-infrared are swapped: 0.08 more becomes 0.08 less.
    red = np.full((60, 60), 0.05)
    paths = [
        stack(tmp_path / f"{n}.tif", red, np.full((60, 60), nir))
        for n, nir in enumerate((0.2, 0.25))
    ]
    bands = {"kind": "reflectance", "bands": {"red": 2, "nir": 1}}
    scenes = inspected(
        tmp_path, *(told(p, d, **bands) for p, d in zip(paths, YEARS[1:], strict=True))
    )
    rows = measured(field_units(), scenes).reset_index()
    assert rows["mean"].to_numpy() == pytest.approx([-0.6, -2 / 3] * 3, abs=1e-6)
    said = messages(zone_scenes=rows)
    assert len(said) == 2
    assert "below 0 in the growing season on 3 of 3 units" in said[0]
    assert "are red and near-infrared the right way round" in said[0]


def test_one_unit_below_zero_is_water_and_winter_is_none():
    (said,) = messages(zone_scenes=of_units([(YEARS[0], [0.5, 0.6, -0.1, 0.5])]))
    assert "on 1 of 4 units (U2)" in said
    assert "is it water" in said
    assert messages(zone_scenes=of_units([(date(2025, 1, 20), [-0.1, -0.2, -0.1])])) == []


def test_day_after_the_season_is_told():
    (said,) = messages(zone_scenes=of_units([(date(2029, 7, 20), [0.5, 0.6, 0.5])]))
    assert said.startswith("2029-07-20 lies after 2027, the season being prepared: mend the date")


def test_jump_of_all_units_at_once_is_told():
    calm = [0.5, 0.6, 0.55]
    said = messages(zone_scenes=of_units([(YEARS[0], calm), (YEARS[1], [0.15, 0.25, 0.2])]))
    assert ["from 2024-07-20 to 2025-07-20 every unit lost more than 0.35" in s for s in said] == [
        True
    ]
    for other in ([0.15, 0.25, 0.5], [0.25, 0.35, 0.3], [0.9, 0.25, 0.2]):
        assert messages(zone_scenes=of_units([(YEARS[0], calm), (YEARS[1], other)])) == []
    spring = of_units([(date(2025, 4, 1), [0.15, 0.2, 0.2]), (YEARS[1], [0.6, 0.7, 0.7])])
    assert messages(zone_scenes=spring) == [], "green-up is weather"


def test_kinds_held_against_each_other_are_told():
    old = of_units([(YEARS[0], [0.5, 0.6, 0.5]), (YEARS[1], [0.5, 0.6, 0.5])], "reflectance")
    new = of_units([(YEARS[2], [0.5, 0.6, 0.5])])
    (said,) = messages(zone_scenes=pd.concat([old, new]))
    assert "2025-07-20 is known from a reflectance stack, 2026-07-20 from an NDVI raster" in said


@pytest.mark.parametrize(
    ("name", "given", "is_told"),
    [
        ("T13TGF_20230712T174911_stack.tif", {"scale": 0.0001}, True),
        ("T13TGF_20230712T174911_stack.tif", {"scale": 0.0001, "offset": -0.1}, False),
        ("T13TGF_20230712T174911_stack.tif", {"scale": 0.0001, "offset": 0.0}, False),
        ("T13TGF_20210712T174911_stack.tif", {"scale": 0.0001}, False),
        ("S2B_13TGF_20230712_0_L2A.tif", {"scale": 0.0001}, True),
    ],
)
def test_forgotten_offset_of_sentinel_2_is_told(tmp_path, name, given, is_told):
    # ESA, BOA_ADD_OFFSET -1000: 1500 and 4000 are 0.05 and 0.30, NDVI 0.714286 and not 0.454545.
    stored = np.stack([np.full((60, 60), n, "uint16") for n in (1500, 4000)])
    path = write_raster(tmp_path / name, stored)
    ask = {"kind": "reflectance", "bands": {"red": 1, "nir": 2}, "when": None} | given
    scenes = inspected(tmp_path, told(path, **ask))
    said = [f["message"] for f in scene_findings(scenes) if f["severity"] == "warning"]
    assert any("say offset = -0.1" in words for words in said) == is_told
    assert any("its darkest pixels are 0.15" in words for words in said) == is_told
    ndvi = 0.714286 if given.get("offset") == -0.1 else 0.454545
    assert measured(field_units(), scenes)["mean"].iloc[0] == pytest.approx(ndvi, abs=1e-6)


@pytest.mark.parametrize(("dark", "is_told"), [(0.04, False), (0.14, True)])
def test_decimals_of_sentinel_2_are_judged_by_their_darkest_pixels(tmp_path, dark, is_told):
    name = "T13TGF_20230712T174911_stack.tif"
    values = np.stack([np.full((60, 60), n, "float32") for n in (dark, dark + 0.25)])
    path = write_raster(tmp_path / name, values)
    ask = {"kind": "reflectance", "bands": {"red": 1, "nir": 2}, "when": None}
    said = [f["message"] for f in scene_findings(inspected(tmp_path, told(path, **ask)))]
    assert any("say offset = -0.1" in words for words in said) == is_told


def test_bands_of_one_file_are_no_raster_given_twice(tmp_path):
    stack_of_years = np.stack([stored_greenness() + n for n in range(3)])
    path = write_raster(tmp_path / "series.tif", stack_of_years, scale=0.0001)
    with rasterio.open(path, "r+") as raster:
        raster.descriptions = [str(day) for day in YEARS]
    scenes = inspected(tmp_path, {"path": path.name, "kind": "ndvi"})
    assert not any("stands for" in f["message"] for f in scene_findings(scenes))
    rows = measured(field_units(), scenes).reset_index()
    firsts = rows[rows["unit_id"] == "U0"].sort_values("date")["mean"].diff().dropna()
    assert firsts.to_numpy() == pytest.approx([1e-4, 1e-4], abs=1e-9)
