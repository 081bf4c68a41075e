"""What producers' file names tell, and stored numbers as values and sums of values."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.scene_names import LANDSAT_8_LINE, Moments, Scaling, instrument_of, scene_name

# Name patterns of the USGS, ESA, NASA and LP DAAC product guides.
NAMES = {
    "LC08_L2SP_224078_20200127_20200823_02_T1_SR_B4.TIF": (date(2020, 1, 27), "LC08"),
    "S2A_MSIL2A_20231107T144731_N0509_R139_T20QRF_20231107T182159.tif": (date(2023, 11, 7), "S2A"),
    "T13TGF_20230712T174911_B04_10m.jp2": (date(2023, 7, 12), "S2"),
    "S2B_13TGF_20230712_0_L2A_stack.tif": (date(2023, 7, 12), "S2B"),
    "20230712T174911_20230712T175531_T13TGF.tif": (date(2023, 7, 12), "S2"),
    "ndvi_20230712.tif": (date(2023, 7, 12), None),
    "ndvi_20230712T174911.tif": (date(2023, 7, 12), None),
    "ndvi_20231341.tif": (None, None),
    "ndvi_120230712.tif": (None, None),
    "HLS.S30.T13RCN.2024128T173909.v2.0.NDVI.tif": (date(2024, 5, 7), "HLS.S30"),
    "MOD13Q1.A2023177.h10v04.061.2023194000000.tif": (date(2023, 6, 26), "MOD13Q1"),
    "ndvi_2023-07-12.tif": (date(2023, 7, 12), None),
    "ndvi_2023_07_12.tif": (date(2023, 7, 12), None),
    "ndvi_07122023.tif": (None, None),
    "ndvi_2023-13-41.tif": (None, None),
    "pasture.tif": (None, None),
}


@pytest.mark.parametrize(("name", "expected"), NAMES.items())
def test_date_and_sensor(name, expected):
    told = scene_name(name)
    assert (told.taken, told.sensor) == expected


def test_name_with_two_days_tells_neither():
    told = scene_name("ndvi_20250720_export_20250908.tif")
    assert told.taken is None
    assert told.days == (date(2025, 7, 20), date(2025, 9, 8))
    assert scene_name("2025-07-20_ndvi_20250720.tif").taken == date(2025, 7, 20)
    # The second day of a Landsat name is that of processing (USGS LSDS-1619), told by its place.
    landsat = scene_name("LC08_L2SP_224078_20200127_20200823_02_T1_SR_B4.TIF")
    assert (landsat.taken, landsat.days) == (date(2020, 1, 27), ())


def test_tile_without_a_baseline_leaves_the_offset_of_sentinel_2_open():
    # ESA: BOA_ADD_OFFSET -1000 in all products of processing baseline 04.00, deployed 25 Jan 2022.
    for name, is_open in (
        ("T13TGF_20220124T174911_stack.tif", False),
        ("T13TGF_20220125T174911_stack.tif", True),
        ("S2A_MSIL2A_20231107T144731_N0509_R139_T20QRF_20231107T182159.tif", False),
    ):
        assert scene_name(name).offset_unknown == is_open


def test_sixteen_days_of_a_composite_begin_on_the_day_in_its_name():
    # MOD13Q1 version 6.1 (LP DAAC): A2023177 holds pixels of 26 June to 11 July 2023.
    told = scene_name("MOD13Q1.A2023177.h10v04.061.2023194000000.tif")
    assert told.taken + timedelta(days=told.span_days - 1) == date(2023, 7, 11)
    assert scene_name("ndvi_2023-07-12.tif").span_days == 1


@pytest.mark.parametrize(
    ("name", "kind", "scaling"),
    [
        # Landsat Collection 2 Level 2 metadata: 2.75e-05 and -0.2; Level 1 has others.
        (
            "LC08_L2SP_224078_20200127_20200823_02_T1_stack.tif",
            "reflectance",
            Scaling(0.0000275, -0.2),
        ),
        ("LC08_L1TP_224078_20200127_20200823_02_T1_stack.tif", "reflectance", None),
        # Sentinel-2 Level 2A: BOA_ADD_OFFSET -1000 from processing baseline 04.00 on.
        (
            "S2A_MSIL2A_20231107T144731_N0509_R139_T20QRF_20231107T182159.tif",
            "reflectance",
            Scaling(0.0001, -0.1),
        ),
        (
            "S2A_MSIL2A_20211107T144731_N0301_R139_T20QRF_20211107T182159.tif",
            "reflectance",
            Scaling(0.0001, 0.0),
        ),
        # HLS and MOD13Q1: 0.0001.
        ("HLS.S30.T13RCN.2024128T173909.v2.0.NDVI.tif", "ndvi", Scaling(0.0001)),
        ("MOD13Q1.A2023177.h10v04.061.2023194000000.tif", "ndvi", Scaling(0.0001)),
        ("ndvi_2023-07-12.tif", "ndvi", None),
    ],
)
def test_scaling_published_for_the_product(name, kind, scaling):
    assert scene_name(name).scalings.get(kind) == scaling


def test_sisters_on_two_satellites_are_one_sensor():
    assert instrument_of("S2A") == instrument_of("S2B")
    assert instrument_of("LC08") == instrument_of("LC09")
    assert len({instrument_of(s) for s in ("LT05", "LE07", "LC08", "S2A", "HLS.L30")}) == 5


# Landsat Collection 2 Level 2 surface reflectance: scale 2.75e-05, offset -0.2, as the products'
# own metadata files have them (REFLECTANCE_MULT_BAND_n, REFLECTANCE_ADD_BAND_n).
LANDSAT = Scaling(2.75e-05, -0.2)


def test_landsat_numbers_near_both_ends_of_reflectance():
    assert LANDSAT.value(np.array([7273, 43636])) == pytest.approx([0.0000075, 0.99999])
    assert LANDSAT.value(np.array([1, 65535], dtype="uint16")) == pytest.approx(
        [-0.1999725, 1.6022125]
    )
    assert LANDSAT.stored(0.0000075) == pytest.approx(7273)


@given(
    st.lists(st.integers(-32768, 32767), min_size=1, max_size=40),
    st.floats(1e-5, 1.0),
    st.floats(-1.0, 1.0),
)
def test_moments_of_stored_numbers_are_those_of_the_values(numbers, scale, offset):
    stored, scaling = np.array(numbers, dtype=np.int64), Scaling(scale, offset)
    told = scaling.moments(
        *(np.array([float(s)]) for s in (len(stored), stored.sum(), (stored**2).sum()))
    )
    value = scaling.value(stored)
    assert told.mean == pytest.approx(value.mean(), rel=1e-9, abs=1e-9)
    assert told.sd == pytest.approx(value.std(), rel=1e-6, abs=2e-3 * scale)


def moments(values):
    values = np.asarray(values, dtype=float)
    return Moments(
        *(
            np.array([x])
            for x in (float(len(values)), values.sum(), ((values - values.mean()) ** 2).sum())
        )
    )


@given(
    st.lists(st.floats(-1, 1), min_size=1, max_size=9),
    st.lists(st.floats(-1, 1), min_size=1, max_size=9),
    st.integers(1, 4),
)
def test_moments_of_two_lots_together(first, second, weight):
    told = moments(first).with_others(moments(second), weight)
    together = np.array(first + weight * second)
    assert told.mean == pytest.approx(together.mean(), abs=1e-12)
    assert told.sd == pytest.approx(together.std(), abs=1e-7)


def test_no_value_has_no_mean():
    none = Moments(*np.zeros((3, 1)))
    assert np.isnan(none.mean).all()
    assert none.with_others(moments([0.25]), 2).mean == pytest.approx(0.25)
    assert moments([0.25]).with_others(none, 2).sd == pytest.approx(0)


def test_line_from_landsat_7_to_landsat_8():
    # D. P. Roy et al., Remote Sensing of Environment 185 (2016) 57-70, surface NDVI, least squares:
    # 0.0235 + 0.9723 · NDVI, so that 0.2, 0.5 and 0.8 become 0.21796, 0.50965 and 0.80134.
    told = LANDSAT_8_LINE.value(np.array([0.2, 0.5, 0.8]))
    assert told == pytest.approx([0.21796, 0.50965, 0.80134])
    stored = Scaling(0.0001).then(LANDSAT_8_LINE)
    assert stored.value(np.array([2000, 5000, 8000])) == pytest.approx(told)
