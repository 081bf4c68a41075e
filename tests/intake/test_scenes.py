"""Rasters looked at before a run: scale, day, bands and masks, each settled once or refused."""

from datetime import date

import numpy as np
import pytest

from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from tests.made_scenes import write_raster

DAY = date(2025, 7, 20)


def look(folder, path, **given):
    source = SceneSource(**({"path": path.name, "date": DAY, "kind": "ndvi"} | given))
    frame, sources, faults = read_scenes((source,), folder)
    return frame, sources, "\n".join(map(str, faults))


def values(number, dtype="int16"):
    return np.full((12, 12), number, dtype)


# MOD13Q1 version 6.1 stores NDVI times 10,000 (LP DAAC product page): 5000 stands for 0.5.
@pytest.mark.parametrize(
    ("tag", "given", "name", "origin"),
    [
        (None, 0.0001, "a.tif", "property_file"),
        (0.0001, None, "a.tif", "file"),
        (0.0001, 0.0001, "a.tif", "property_file"),
        (None, None, "MOD13Q1.A2025193.h10v04.061.2025210000000.tif", "product_name"),
        (0.0001, None, "MOD13Q1.A2025193.h10v04.061.2025210000000.tif", "file"),
    ],
)
def test_scale_is_settled_once_and_by_one(tag, given, name, origin, tmp_path):
    path = write_raster(tmp_path / name, values(5000), scale=tag)
    day = {"date": None} if name.startswith("MOD") else {}
    frame, _, faults = look(tmp_path, path, **day, **({"scale": given} if given else {}))
    assert not faults
    row = frame.iloc[0]
    assert row["scale_origin"] == origin
    assert row["scale"] == 0.0001
    assert row["high"] == pytest.approx(0.5, rel=1e-12)


def test_offset_is_added_after_the_scale(tmp_path):
    # Landsat Collection 2 Level 2: 0.0000275 and -0.2 (its metadata): 18639 stands for 0.31257.
    name = "LC08_L2SP_029032_20250720_20250730_02_T1.tif"
    path = write_raster(tmp_path / name, np.stack([values(18639, "uint16")] * 2))
    frame, _, faults = look(tmp_path, path, kind="reflectance", bands={"red": 1, "nir": 2})
    assert not faults
    assert frame["high"].iloc[0] == pytest.approx(0.3125725, rel=1e-9)
    assert bool(frame["zero_is_fill"].iloc[0]), "whole numbers without a sign for no data"
    assert frame["product_fill"].iloc[0] == 0


def test_numbers_too_large_for_an_index_are_refused(tmp_path):
    path = write_raster(tmp_path / "a.tif", values(5000))
    _, _, faults = look(tmp_path, path)
    assert "values up to 5000, times 1 plus 0; expected ndvi of at most 2" in faults
    assert "mend scale and offset" in look(tmp_path, path, scale=0.001)[2]


def test_day_of_the_name_must_not_be_contradicted(tmp_path):
    # HLS names carry year and day of the year (hls.gsfc.nasa.gov): 2024128 is 7 May 2024.
    path = write_raster(tmp_path / "HLS.S30.T13RCN.2024128T173909.v2.0.tif", values(0.5, "float32"))
    frame, _, faults = look(tmp_path, path, date=None)
    assert not faults
    assert frame["date"].iloc[0].date() == date(2024, 5, 7)
    assert "date = 2025-07-20, the product's name says 2024-05-07" in look(tmp_path, path)[2]


def test_bands_must_be_there_and_are_counted(tmp_path):
    path = write_raster(tmp_path / "a.tif", np.stack([values(0.1, "float32")] * 4))
    bands = {"red": 1, "nir": 7}
    assert "nir = 7, the file has 4" in look(tmp_path, path, kind="reflectance", bands=bands)[2]
    assert '4 bands, and kind = "ndvi"' in look(tmp_path, path)[2]
    _, sources, _ = look(tmp_path, path, kind="reflectance", bands={"red": 3, "nir": 4})
    assert (sources[0]["rows_read"], sources[0]["rows_used"]) == (4, 2)


def test_mask_must_hold_the_bits_that_are_asked_for(tmp_path):
    path = write_raster(tmp_path / "a.tif", values(0.5, "float32"))
    for name, dtype in (("byte.tif", "uint8"), ("number.tif", "float32")):
        write_raster(tmp_path / name, values(0, dtype))
    ask = {"path": "byte.tif", "drop_bits": [1, 8]}
    assert "drop_bits has 8, the file 8 bits" in look(tmp_path, path, mask=ask)[2]
    ask = {"path": "number.tif", "keep_values": [4]}
    assert "holds float32 values; expected whole numbers" in look(tmp_path, path, mask=ask)[2]
    frame, sources, faults = look(tmp_path, path, mask={"path": "byte.tif", "drop_bits": [1, 7]})
    assert not faults
    assert frame["drop_bits"].iloc[0] == "1,7"
    assert [row["source"] for row in sources] == ["scenes 1 mask", "scenes 1"]


def test_line_to_landsat_8_is_for_older_landsats_alone(tmp_path):
    # D. P. Roy et al., Remote Sensing of Environment 185 (2016) 57-70: 0.0235 + 0.9723 NDVI.
    old = write_raster(
        tmp_path / "LE07_L2SP_028032_20250720_20250908_02_T1.tif", values(0.5, "float32")
    )
    frame, _, faults = look(tmp_path, old, as_landsat_8=True)
    assert not faults
    assert frame[["line_scale", "line_offset"]].iloc[0].tolist() == [0.9723, 0.0235]
    new = write_raster(
        tmp_path / "LC08_L2SP_028032_20250720_20250908_02_T1.tif", values(0.5, "float32")
    )
    assert "a scene of Landsat 4, 5 or 7" in look(tmp_path, new, as_landsat_8=True)[2]
