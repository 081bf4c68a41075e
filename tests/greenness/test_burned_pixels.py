"""From reflectance rasters and the log to burned shares.

Reflectances of a dormant sward and of fresh char are typical ones; half of the first unit has
burned, so the share is known beforehand. Burn ratios: Key and Benson 2006, by spyndex.
"""

import numpy as np
import pandas as pd
import pytest
import shapely
import spyndex

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.burned_pixels import measure_burned_shares
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.mosaics import Mosaic
from tests.made_scenes import LEFT, TOP, inspected, told, treated, units_frame, write_raster

# rasterio multiplies transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

BANDS = ("red", "nir", "swir1", "swir2")
SWARD, CHAR = np.array([0.13, 0.22, 0.30, 0.22]), np.array([0.04, 0.06, 0.12, 0.12])
BURN = ("U0", "2026-04-14", "burn")
NO_LOG = treated()
BARE = GreennessSettings(buffer_pixels=0, mixed_buffer_pixels=0)


def stored(array, seed):
    """Reflectance as whole numbers, with noise as of a sensor."""
    noise = 0.003 * np.random.default_rng(seed).standard_normal(array.shape)
    return np.rint((array + noise) * 10000).astype("int16")


def stack(values, *burned):
    """Reflectance of 60 × 60 pixels, with char in some windows (rows, columns)."""
    array = np.broadcast_to(values[:, None, None], (len(values), 60, 60)).copy()
    for window in burned:
        array[(slice(None), *window)] = CHAR[: len(values), None, None]
    return array


UPPER_HALF = (slice(0, 30), slice(0, 20))


def pictures(
    folder,
    *,
    burned=(UPPER_HALF,),
    bands=BANDS,
    days=("2026-04-02", "2026-04-18"),
    after=SWARD,
    **more,
):
    """Layer ``scenes``: a picture before and one after."""
    numbers = {name: number for number, name in enumerate(bands, 1)}
    arrays = stack(SWARD[: len(bands)]), stack(np.asarray(after)[: len(bands)], *burned)
    paths = [
        write_raster(folder / f"{day}.tif", stored(array, seed), scale=0.0001)
        for seed, (day, array) in enumerate(zip(days, arrays, strict=True))
    ]
    sources = [
        told(path, pd.Timestamp(day).date(), "reflectance", bands=numbers, **more)
        for path, day in zip(paths, days, strict=True)
    ]
    return inspected(folder, *sources)


def three_units(covers=("prairie", "prairie", "prairie")):
    """Three strips of 20 × 60 pixels side by side."""
    boxes = [shapely.box(LEFT + 200 * n, TOP - 600, LEFT + 200 * n + 200, TOP) for n in range(3)]
    return units_frame(boxes).assign(burnable_ac=30.0, cover=list(covers))


def comparison(roles=("burned", "reference", "reference")):
    frame = pd.DataFrame({"unit_id": [f"U{n}" for n in range(len(roles))], "role": list(roles)})
    return frame.assign(
        comparison="c", before=pd.Timestamp("2025-07-20"), after=pd.Timestamp("2026-07-20")
    )


NOT_COMPARED = empty(LAYERS["chosen_comparisons"])


def shares(scenes, log, *, units=None, compared=NOT_COMPARED, presets=None, settings=BARE):
    units = three_units() if units is None else units
    presets = empty(LAYERS["mask_presets"]) if presets is None else presets
    none = empty(LAYERS["exclusions"], units.crs)
    frame = measure_burned_shares(units, none, compared, scenes, presets, log, settings)
    return conform(frame, LAYERS["burned_shares"])


@pytest.mark.parametrize(("names", "read_from"), [(BANDS[:2], "near_infrared"), (BANDS, "mirbi")])
def test_burned_share_of_a_half_burned_unit(tmp_path, names, read_from):
    (row,) = shares(pictures(tmp_path, bands=names), treated(BURN)).to_dict("records")
    assert row["burned"] == pd.Timestamp("2026-04-14")
    assert row["read_from"] == read_from
    assert row["mostly_pct"] == pytest.approx(50, abs=0.5)
    assert row["burned_pct"] == pytest.approx(50, abs=2)
    assert row["burned_ac"] == pytest.approx(0.3 * row["burned_pct"])
    assert row["reference_units"] == "U1, U2"
    assert row["caution"] is None
    assert np.isnan(row["dnbr"]) == (names == BANDS[:2])


def test_loss_of_the_burn_ratio_is_that_of_the_burned_half_beyond_the_season(tmp_path):
    later = SWARD * [1.0, 1.1, 1.0, 0.9]
    row = shares(pictures(tmp_path, after=later), treated(BURN)).iloc[0]
    old, new, char = (
        spyndex.computeIndex("NBR", {"N": v[1], "S2": v[3]}) for v in (SWARD, later, CHAR)
    )
    season, fire = 1000 * (old - new), 1000 * (old - char)
    mean = ((fire - season) + 0.0) / 2
    assert row["dnbr"] == pytest.approx(mean, abs=3)
    assert row["rbr"] == pytest.approx(mean / (old + 1.001), abs=3)


def test_every_burn_of_the_log_has_a_row_without_any_comparison(tmp_path):
    log = treated(BURN, ("U0", "2026-10-01", "burn"), ("U1", "2025-01-01", "burn"))
    rows = shares(pictures(tmp_path), log)
    assert rows["unit_id"].tolist() == ["U0", "U0"]
    assert rows["verdict"].tolist() == ["measured", "no_pictures"]
    assert rows["before_days"].tolist() == [12, 166]
    assert pd.isna(rows["after_days"][1]), "there is none"
    assert shares(empty(LAYERS["scenes"]), log).empty


def test_burned_unit_without_a_burn_in_the_log_is_told(tmp_path):
    rows = shares(pictures(tmp_path), NO_LOG, compared=comparison())
    assert rows["unit_id"].tolist() == ["U0"]
    assert rows["burned"].isna().all()
    assert rows["verdict"].tolist() == ["no_day"]
    assert rows["burned_between"][0] == "2025-07-20 to 2026-07-20"


def test_late_picture_and_other_work_between_the_pictures_are_cautions(tmp_path):
    log = treated(("U0", "2026-04-04", "burn"), ("U0", "2026-04-16", "mow"))
    row = shares(pictures(tmp_path), log).iloc[0]
    assert row["caution"] == "other_work, late_picture"
    assert (row["after_days"], row["other_work"]) == (14, "mow 2026-04-16")


def test_references_of_the_comparison_come_first_unless_something_was_done_to_them(tmp_path):
    scenes = pictures(tmp_path)
    roles = comparison(("burned", "left_out", "reference"))
    assert shares(scenes, treated(BURN), compared=roles)["reference_units"][0] == "U2"
    mown = treated(BURN, ("U2", "2026-04-10", "mow"))
    assert shares(scenes, mown, compared=roles)["reference_units"][0] == "U1"


def test_ground_of_another_cover_is_held_against_with_a_caution(tmp_path):
    units = three_units(("prairie", "brome", None))
    row = shares(pictures(tmp_path), treated(BURN), units=units).iloc[0]
    assert row["reference_units"] == "U1, U2"
    assert row["caution"] == "other_cover"


def test_without_unburned_ground_nothing_is_told(tmp_path):
    log = treated(*((f"U{n}", "2026-04-14", "burn") for n in range(3)))
    rows = shares(pictures(tmp_path), log)
    assert (rows["verdict"] == "no_unburned_ground").all()
    assert rows["burned_pct"].isna().all()
    assert (rows["picture_after"] == pd.Timestamp("2026-04-18")).all()


def test_composites_are_not_used(tmp_path):
    scenes = pictures(tmp_path, span_days=16)
    row = shares(scenes, treated(BURN)).iloc[0]
    assert np.isnan(row["burned_pct"])
    assert (row["verdict"], row["composites_near"]) == ("no_pictures", True)
    single = pictures(tmp_path)
    both = pd.concat([scenes.assign(path="gone.tif"), single])
    assert shares(both, treated(BURN))["burned_pct"][0] == pytest.approx(50, abs=2)


def test_stack_without_near_infrared_and_short_wave_is_told(tmp_path):
    scenes = pictures(tmp_path).assign(nir_band=pd.NA, swir1_band=pd.NA)
    row = shares(scenes, treated(BURN)).iloc[0]
    assert row["verdict"] == "no_near_infrared"


SCENE_CLASSES = [(2, True), (3, True), (4, False), (5, False), (6, False), (7, False)]


def test_burned_ground_that_the_quality_raster_calls_shadow_is_in_the_share(tmp_path):
    classes = np.full((60, 60), 5, "uint8")
    classes[UPPER_HALF] = 3
    classes[:10, :10] = 9
    write_raster(tmp_path / "scl.tif", classes)
    rows = [("scl", "keep_value", n, "kept", taken, "table") for n, taken in SCENE_CLASSES]
    layer = LAYERS["mask_presets"]
    presets = conform(pd.DataFrame(rows, columns=layer.column_names), layer)
    scenes = pictures(tmp_path, mask={"path": "scl.tif", "preset": "scl"})
    row = shares(scenes, treated(BURN), presets=presets).iloc[0]
    assert row["valid_pct"] == pytest.approx(100 * 1100 / 1200), "the cloud is left out"
    assert row["mostly_pct"] == pytest.approx(100 * 500 / 1100, abs=0.5)
    assert row["caution"] == "wide_bounds"
    assert row["unclear_masks"] is None
    own = pictures(tmp_path, mask={"path": "scl.tif", "keep_values": (4, 5, 6, 7)})
    row = shares(own, treated(BURN), presets=presets).iloc[0]
    assert row["mostly_pct"] == pytest.approx(0, abs=0.5)
    assert row["high_pct"] == pytest.approx(50, abs=1), "what is left out is in the bounds"
    assert row["caution"] == "wide_bounds, mask_unclear"
    assert row["unclear_masks"] == "2026-04-02.tif, 2026-04-18.tif"


def test_units_are_read_once_however_many_are_held_against_them(tmp_path, monkeypatch):
    reads = []
    plain = Mosaic.read

    def counted(picture, quantity, first, end, spans, *rest):
        reads.append((picture.scene, quantity, first, end, *spans))
        return plain(picture, quantity, first, end, spans, *rest)

    monkeypatch.setattr(Mosaic, "read", counted)
    units = three_units()
    part = shapely.box(LEFT + 400, TOP - 300, LEFT + 600, TOP)
    units = pd.concat([units, units.iloc[[2]].assign(unit_id="U3", geometry=part)])
    log = treated(BURN, ("U1", "2026-04-05", "burn"))
    roles = comparison(("burned", "left_out", "reference"))
    rows = shares(pictures(tmp_path), log, units=units, compared=roles)
    assert rows["reference_units"].tolist() == ["U2", "U2, U3"]
    assert rows["caution"][0] is None
    assert (rows["caution"][1], rows["after_days"][1]) == ("late_picture", 13)
    assert len(reads) == len(set(reads)) == 4 * 2 * 2, "units, pictures, and MIRBI and burn ratio"


def test_edge_is_wider_where_the_pictures_are_from_two_sensors(tmp_path):
    scenes = pictures(tmp_path, burned=((slice(0, 60), slice(0, 20)),))
    settings = GreennessSettings(buffer_pixels=0, mixed_buffer_pixels=3, least_full_pixels=800)
    one = shares(scenes, treated(BURN), settings=settings).iloc[0]
    assert one["burned_pct"] == pytest.approx(100, abs=3)
    two = shares(scenes.assign(sensor=["L8", "S2A"]), treated(BURN), settings=settings).iloc[0]
    assert two["verdict"] == "too_small"


def test_pictures_on_different_pixels_are_told(tmp_path):
    scenes = pictures(tmp_path)
    moved = write_raster(
        tmp_path / "moved.tif", stored(stack(SWARD), 3), scale=0.0001, left=LEFT + 4
    )
    scenes = scenes.assign(path=[scenes["path"][0], str(moved)])
    row = shares(scenes, treated(BURN)).iloc[0]
    assert row["verdict"] == "different_pixels"
