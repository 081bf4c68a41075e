"""Faults of a property file that greenness knows of, each in one line, all at once."""

import pandas as pd
import pytest
import shapely

from pipeline.catalog import PropertyFile
from pipeline.core.errors import PropertyFileError
from pipeline.greenness.faults import greenness_faults
from pipeline.greenness.settings import GreennessSettings
from pipeline.intake.property_file import read_property_file
from tests.literal_layers import literal_layer
from tests.made_scenes import units_frame

UNITS = units_frame([shapely.box(n, 0, n + 1000, 1000) for n in (0, 1000, 2000)])
UNITS["unit_id"] = ["P1", "P2", "P3"]


SERIES = literal_layer("zonal_series")
SEASON = pd.DataFrame({"season": [2027]})


def scenes(*presets, day="2026-07-20"):
    count = range(1, len(presets) + 1)
    frame = pd.DataFrame({"scene": count, "name": "a.tif", "mask_preset": list(presets)})
    return frame.assign(date=pd.Timestamp(day), pixel_m2=100.0)


def faults(presets=(), known=(), **settings):
    table = pd.DataFrame({"preset": list(known)}, dtype=object)
    rows = scenes(*presets).astype({"mask_preset": object})
    chosen = GreennessSettings(**settings)
    return [str(f) for f in greenness_faults(rows, table, UNITS, SEASON, SERIES, chosen)]


def test_picture_of_a_day_to_come_is_refused():
    table, units = pd.DataFrame({"preset": []}, dtype=object), UNITS
    rows = scenes(None, day="2099-07-20").astype({"mask_preset": object})
    (fault,) = greenness_faults(rows, table, units, SEASON, SERIES, GreennessSettings())
    assert str(fault) == (
        "[[sources.scenes]] 1: a.tif: date 2099-07-20, and the season being prepared is 2027; "
        "expected a day that has been; mend the date, or season"
    )
    rows = scenes(None, day="2028-07-20").astype({"mask_preset": object})
    assert greenness_faults(rows, table, units, SEASON, SERIES, GreennessSettings()) == []


def test_picture_of_more_pixels_than_are_read_is_refused():
    """Three units of 1 km² have 300 million pixels of 0.1 m, and 1,200 million of 0.05 m."""
    table = pd.DataFrame({"preset": []}, dtype=object)
    rows = scenes(None, None).astype({"mask_preset": object}).assign(pixel_m2=[0.01, 0.0025])
    (fault,) = greenness_faults(rows, table, UNITS, SEASON, SERIES, GreennessSettings())
    assert str(fault) == (
        "[[sources.scenes]] 2: a.tif: 1,200,000,000 pixels of 0.05 m around the units; expected "
        "at most 400,000,000 pixels; save it with pixels of 1 m"
    )


def test_preset_that_the_table_does_not_have():
    (fault,) = faults(["hls_fmsk", None])
    assert fault == (
        '[[sources.scenes]] 1: a.tif: mask preset "hls_fmsk"; expected a preset of '
        "[sources.mask_presets]; give [sources.mask_presets]"
    )
    (fault,) = faults(["hls_fmsk"], ["hls_fmask", "landsat_c2"])
    assert 'did you mean "hls_fmask"?' in fault
    assert faults(["hls_fmsk"], ["hls_fmsk"]) == []


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({"cool_unit": "P1", "warm_unit": "P9"}, '[greenness] warm_unit: unit "P9" is not'),
        ({"cool_unit": "P1"}, "[greenness] cool_unit: no warm_unit beside it"),
        ({"cool_unit": "P1", "warm_unit": "P1"}, '"P1" is both cool_unit and warm_unit'),
    ],
)
def test_known_stands_are_two_units_of_the_map(settings, words):
    (fault,) = faults(**settings)
    assert words in fault


def test_all_faults_are_told_at_once():
    assert len(faults(["x", "y"], ["scl"], cool_unit="P8")) == 4
    assert faults(cool_unit="P1", warm_unit="P2") == []


@pytest.mark.parametrize("which", ["first", "last"])
def test_former_name_of_a_window_is_told_with_the_name_it_has_now(tmp_path, which):
    path = tmp_path / "p.toml"
    path.write_text(
        '[property]\nname = "P"\nseason = 2027\n[sources.units]\npath = "u.gpkg"\n'
        f"[greenness]\nmid_{which}_day = 190\n"
    )
    with pytest.raises(PropertyFileError) as refused:
        read_property_file(path, PropertyFile)
    (fault,) = refused.value.faults
    assert f"write midsummer_{which}_day instead" in str(fault)
