"""Dates in the names that producers give their files."""

from datetime import date, timedelta

import pytest

from pipeline.intake.scene_names import Scaling, instrument_of, scene_name

# Name patterns of the USGS, ESA, NASA and LP DAAC product guides.
NAMES = {
    "LC08_L2SP_224078_20200127_20200823_02_T1_SR_B4.TIF": (date(2020, 1, 27), "LC08"),
    "S2A_MSIL2A_20231107T144731_N0509_R139_T20QRF_20231107T182159.tif": (
        date(2023, 11, 7), "S2A"),
    "T13TGF_20230712T174911_B04_10m.jp2": (date(2023, 7, 12), None),
    "HLS.S30.T13RCN.2024128T173909.v2.0.NDVI.tif": (date(2024, 5, 7), "HLS.S30"),
    "MOD13Q1.A2023177.h10v04.061.2023194000000.tif": (date(2023, 6, 26), "MOD13Q1"),
    "ndvi_2023-07-12.tif": (date(2023, 7, 12), None),
    "ndvi_2023_07_12.tif": (date(2023, 7, 12), None),
    "ndvi_07122023.tif": (None, None),
    "ndvi_2023-13-41.tif": (None, None),
    "pasture.tif": (None, None),
}  # fmt: skip


@pytest.mark.parametrize(("name", "expected"), NAMES.items())
def test_date_and_sensor(name, expected):
    told = scene_name(name)
    assert (told.taken, told.sensor) == expected


def test_sixteen_days_of_a_composite_begin_on_the_day_in_its_name():
    # MOD13Q1 version 6.1 (LP DAAC): A2023177 holds pixels of 26 June to 11 July 2023.
    told = scene_name("MOD13Q1.A2023177.h10v04.061.2023194000000.tif")
    assert told.taken + timedelta(days=told.span_days - 1) == date(2023, 7, 11)
    assert scene_name("ndvi_2023-07-12.tif").span_days == 1


@pytest.mark.parametrize(
    ("name", "kind", "scaling"),
    [
        # Landsat Collection 2 Level 2 metadata: 2.75e-05 and -0.2; Level 1 has others.
        ("LC08_L2SP_224078_20200127_20200823_02_T1_stack.tif", "reflectance",
         Scaling(0.0000275, -0.2)),
        ("LC08_L1TP_224078_20200127_20200823_02_T1_stack.tif", "reflectance", None),
        # Sentinel-2 Level 2A: BOA_ADD_OFFSET -1000 from processing baseline 04.00 on.
        ("S2A_MSIL2A_20231107T144731_N0509_R139_T20QRF_20231107T182159.tif", "reflectance",
         Scaling(0.0001, -0.1)),
        ("S2A_MSIL2A_20211107T144731_N0301_R139_T20QRF_20211107T182159.tif", "reflectance",
         Scaling(0.0001, 0.0)),
        # HLS and MOD13Q1: 0.0001.
        ("HLS.S30.T13RCN.2024128T173909.v2.0.NDVI.tif", "ndvi", Scaling(0.0001)),
        ("MOD13Q1.A2023177.h10v04.061.2023194000000.tif", "ndvi", Scaling(0.0001)),
        ("ndvi_2023-07-12.tif", "ndvi", None),
    ],
)  # fmt: skip
def test_scaling_published_for_the_product(name, kind, scaling):
    assert scene_name(name).scalings.get(kind) == scaling


def test_sisters_on_two_satellites_are_one_sensor():
    assert instrument_of("S2A") == instrument_of("S2B")
    assert instrument_of("LC08") == instrument_of("LC09")
    assert len({instrument_of(s) for s in ("LT05", "LE07", "LC08", "S2A", "HLS.L30")}) == 5
