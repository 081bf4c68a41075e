"""Rasters of heights that cannot be used are refused in one line; what is odd is told."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio

from pipeline.cli import main
from pipeline.runner import read_property
from tests.four_forties import PROFILE, PROPERTY, write_four_forties
from tests.part_runs import computed

BURN = """
[[burns]]
block = "West"
units = ["A", "B"]
wind_from_deg = 225
"""
# The forties lie east and north of 40° N, 96° W: on this grid near 756,100 east, 4,432,069 north.
PLACE = rasterio.Affine(10, 0, 755_900, 0, -10, 4_433_100)
HEIGHTS = 300 + np.add.outer(np.zeros(120), 0.5 * np.arange(120.0))  # rises 5 % eastward


def given(folder, unit="m", heights=HEIGHTS, more="", **profile):
    """A property of four forties with a raster of heights."""
    write_four_forties(folder)
    heights = np.asarray(heights)
    rows, columns = heights.shape
    told = PROFILE | {"width": columns, "height": rows, "transform": PLACE} | profile
    with rasterio.open(folder / "heights.tif", "w", **told) as raster:
        raster.write(heights.astype(told["dtype"]), 1)
    source = f'[sources.elevation]\npath = "heights.tif"\nheight_unit = "{unit}"\n{more}'
    (folder / "four.toml").write_text(PROPERTY + source + BURN)
    return folder


def said(folder, capsys, word="run"):
    """Exit code, and what was said on standard error."""
    code = main([word, str(folder / "four.toml"), "--quiet"])
    return code, capsys.readouterr().err.strip()


def layer(folder, name):
    return gpd.read_file(folder / "out" / "four_forties_2027" / "four_forties.gpkg", layer=name)


def layers(folder):
    """The layers of the property, of which nothing is written."""
    return computed(folder / "four.toml")


REFUSED = {
    "no reference system": ({"crs": None}, "no coordinate reference system"),
    "no place": ({"transform": rasterio.Affine.identity()}, "no place on the ground"),
    "band": ({"more": "band = 3\n"}, "band = 3, the file has 1"),
    "complex": ({"dtype": "complex64"}, "band 1 holds complex64 values"),
    "feet told as miles high": ({"heights": HEIGHTS * 100}, 'height_unit = "m"'),
    "unnamed no data": ({"heights": np.full((120, 120), -32768.0)}, "name the number for no data"),
}


@pytest.mark.parametrize("word", ["check", "run"])
@pytest.mark.parametrize("case", REFUSED)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_refused_in_one_line(tmp_path, capsys, case, word):
    odd, words = REFUSED[case]
    code, told = said(given(tmp_path, **odd), capsys, word)
    assert code == 2
    lines = [line for line in told.splitlines() if "[sources.elevation]" in line]
    assert len(lines) == 1
    assert words in lines[0]
    assert "Traceback" not in told
    assert not (tmp_path / "out").exists()


def test_unit_of_heights_must_be_told(tmp_path, capsys):
    given(tmp_path)
    text = (tmp_path / "four.toml").read_text().replace('height_unit = "m"\n', "")
    (tmp_path / "four.toml").write_text(text)
    code, told = said(tmp_path, capsys, "check")
    assert code == 2
    assert "height_unit" in told
    given(tmp_path, unit="yards")
    code, told = said(tmp_path, capsys, "check")
    assert code == 2
    assert "us-ft" in told


def test_file_that_is_no_raster_or_is_cut_short(tmp_path, capsys):
    given(tmp_path)
    whole = (tmp_path / "heights.tif").read_bytes()
    for content in (b"no raster at all", whole[: len(whole) // 2]):
        (tmp_path / "heights.tif").write_bytes(content)
        code, told = said(tmp_path, capsys)
        assert code == 2
        assert "Traceback" not in told
        assert "[sources.elevation]" in told


ODD_BUT_READ = {
    "another place": {"transform": rasterio.Affine(10, 0, 300_000, 0, -10, 6_000_000)},
    "another zone of the earth": {"crs": "EPSG:32756"},
    "no data alone": {"heights": np.full((120, 120), -9999.0), "nodata": -9999},
    "NaN alone": {"heights": np.full((120, 120), np.nan)},
    "one pixel": {"heights": np.full((1, 1), 300.0)},
}


@pytest.mark.parametrize("case", ODD_BUT_READ)
def test_heights_that_cover_nothing_are_one_finding(tmp_path, case):
    frames = layers(given(tmp_path, **ODD_BUT_READ[case]))
    findings = frames["findings"]
    (message,) = findings.loc[findings["source"] == "elevation", "message"]
    assert "no height is known on any unit" in message
    assert frames["unit_slopes"]["most_pct"].isna().all()
    assert (frames["break_slopes"]["known_pct"] == 0).all()


def test_unknown_heights_are_written_as_unknown(tmp_path, capsys):
    code, told = said(given(tmp_path, heights=np.full((120, 120), np.nan)), capsys)
    assert code == 0, told
    assert layer(tmp_path, "unit_slopes")["most_pct"].isna().all()
    assert (layer(tmp_path, "break_slopes")["known_pct"] == 0).all()


def test_heights_that_stop_short_tell_which_units(tmp_path):
    frames = layers(given(tmp_path, heights=HEIGHTS[:, :50]))
    findings = frames["findings"]
    (message,) = findings.loc[findings["source"] == "elevation", "message"]
    assert message.startswith("heights cover only part of A (")
    assert {"A", "C"} & set(frames["unit_slopes"]["unit_id"])


@pytest.mark.parametrize(("unit", "factor"), [("ft", 0.3048), ("us-ft", 1200 / 3937)])
def test_heights_in_feet_are_the_same_heights(tmp_path, unit, factor):
    slopes = layers(given(tmp_path, unit, HEIGHTS / factor))["unit_slopes"]
    # 0.5 m in 10 m of the grid, which is 1.0004 m of ground for each of its meters.
    assert list(slopes["median_pct"]) == pytest.approx([5] * 4, abs=0.01)


def test_from_file_to_geopackage(tmp_path, capsys):
    code, told = said(given(tmp_path), capsys)
    assert code == 0, told
    units = layer(tmp_path, "unit_slopes").set_index("unit_id")
    # 0.5 m in 10 m of the grid, which is 1.0004 m of ground for each of its meters.
    assert list(units["median_pct"]) == pytest.approx([5] * 4, abs=0.01)
    # Falls to the west of the grid, which 3° east of its middle is turned to the east by the
    # convergence, tan⁻¹(tan 3° sin 40°) (Snyder, USGS Professional Paper 1395, equation 8-9).
    turned_deg = np.degrees(np.arctan(np.tan(np.radians(3)) * np.sin(np.radians(40))))
    assert list(units["aspect_deg"]) == pytest.approx([270 + turned_deg] * 4, abs=0.02)
    slopes, breaks = layer(tmp_path, "break_slopes"), layer(tmp_path, "firebreaks")
    assert list(slopes["break_id"]) == list(breaks["break_id"])
    assert (slopes["surface_ft"] > slopes["length_ft"]).all()
    assert slopes["surface_ft"].sum() < breaks["length_ft"].sum() * np.hypot(1, 0.0501)
    assert list(breaks.columns.intersection(["surface_ft", "rise_pct"])) == []
    sources = layer(tmp_path, "sources").set_index("source")
    assert sources.loc["elevation", "path"] == "heights.tif"
    report = (tmp_path / "out" / "four_forties_2027" / "report.html").read_text()
    assert "Slope of the units" in report
    assert "Slope along every stretch of break" in report


def test_widths_are_the_same_with_heights_and_without(tmp_path):
    with_heights = layers(given(tmp_path))["firebreaks"]
    (tmp_path / "four.toml").write_text(PROPERTY + BURN)
    pd.testing.assert_frame_equal(
        pd.DataFrame(with_heights.drop(columns="geometry")),
        pd.DataFrame(layers(tmp_path)["firebreaks"].drop(columns="geometry")),
    )


def intake_findings(folder):
    """What reading the sources found."""
    return read_property(folder / "four.toml")[1].frames["intake_findings"]


def test_header_that_tells_another_unit_is_a_finding(tmp_path):
    given(tmp_path, "m")
    with rasterio.open(tmp_path / "heights.tif", "r+") as raster:
        raster.units = ["US survey foot"]
    findings = intake_findings(tmp_path).set_index("code")
    assert "heights are in us-ft" in findings.loc["height_unit", "message"]
    given(tmp_path, "m", crs="EPSG:32614+5703")  # NAVD88 heights in meters
    assert "height_unit" not in set(intake_findings(tmp_path)["code"])
    given(tmp_path, "m", crs="EPSG:32614+6360")  # the same in US survey feet
    assert "height_unit" in set(intake_findings(tmp_path)["code"])
    with rasterio.open(tmp_path / "heights.tif", "r+") as raster:
        raster.units = ["m"]  # whatever the band says, its reference system speaks of feet
    assert "height_unit" in set(intake_findings(tmp_path)["code"])


def test_huge_raster_is_read_where_the_property_lies(tmp_path):
    # 40,000 by 40,000 pixels that are stored nowhere but for the blocks at the property.
    write_four_forties(tmp_path)
    place = rasterio.Affine(10, 0, 556_000, 0, -10, 4_633_100)
    told = PROFILE | {"width": 40_000, "height": 40_000, "transform": place}
    told |= {"tiled": True, "sparse_ok": True, "compress": "deflate", "nodata": -9999}
    with rasterio.open(tmp_path / "heights.tif", "w", **told) as raster:
        window = rasterio.windows.Window(19_990, 19_990, 120, 120)
        raster.write(HEIGHTS.astype("float32"), 1, window=window)
    source = '[sources.elevation]\npath = "heights.tif"\nheight_unit = "m"\n'
    (tmp_path / "four.toml").write_text(PROPERTY + source + BURN)
    assert (layers(tmp_path)["unit_slopes"]["known_pct"] > 99.9).all()
