"""Whole runs from many pictures in one file, from a table of means, and with a split unit."""

import numpy as np
import pandas as pd
import pyogrio
import pytest
import rasterio
import shapely
from exactextract import exact_extract
from geopandas import GeoDataFrame, read_file

from pipeline.cli import main
from tests.four_forties import PROPERTY, forties, write_four_forties
from tests.part_runs import computed

DAYS = ("2025-07-20", "2026-07-20")

COMPARISON = """
[[comparisons]]
name = "c"
before = 2025-07-20
after = 2026-07-20
burned = ["A"]
reference = ["B", "C", "D"]
[greenness]
buffer_pixels = 0.0
mixed_buffer_pixels = 0.0
"""

SERIES = """
[[sources.scenes]]
path = "ndvi_by_year.tif"
kind = "ndvi"
"""

TABLE = """
[sources.zonal_series]
path = "means.csv"
columns = { unit_id = "UNIT" }
"""

AREAS = """
[sources.burned_areas]
path = "burned.geojson"
"""


def write_pictures(folder):
    units = forties().to_crs(32615)
    west, _, _, north = units.total_bounds
    place = rasterio.Affine(10, 0, west - 60, 0, -10, north + 60)
    chance = np.random.default_rng(8)
    old = 0.5 + 0.02 * chance.standard_normal((95, 95))
    new = old + 0.05 + 0.02 * chance.standard_normal((95, 95))
    profile = {"dtype": "float32", "count": 2, "height": 95, "width": 95}
    path = folder / "ndvi_by_year.tif"
    with rasterio.open(path, "w", crs=32615, transform=place, driver="GTiff", **profile) as raster:
        raster.write(np.stack([old, new]).astype("float32"))
        raster.descriptions = [f"NDVI {day}" for day in DAYS]
    return path


def write_table(folder, path):
    units = forties().to_crs(32615)
    means = exact_extract(str(path), units, ["mean"], output="pandas")
    rows = [
        {"UNIT": unit, "date": day, "mean": mean}
        for column, day in zip(means.columns, DAYS, strict=True)
        for unit, mean in zip(units["UNIT"], means[column], strict=True)
    ]
    pd.DataFrame(rows).to_csv(folder / "means.csv", index=False)


def layer(folder, name):
    (path,) = (p for p in folder.glob("out/*/*.gpkg") if p.stem != "field_plan")
    return pyogrio.read_dataframe(path, layer=name)


def write_property(folder, *parts):
    path = folder / "four.toml"
    path.write_text("".join([PROPERTY, *parts]))
    return path


def run(folder, *parts):
    return main(["run", str(write_property(folder, *parts)), "--quiet"])


@pytest.fixture
def place(tmp_path):
    write_four_forties(tmp_path)
    write_table(tmp_path, write_pictures(tmp_path))
    return tmp_path


def test_table_and_pictures_in_one_file_tell_the_same(place):
    frames = computed(write_property(place, SERIES, COMPARISON))
    of_pictures = frames["greenness"].set_index("unit_id")
    assert sorted(set(frames["zone_scenes"]["date"].astype(str))) == list(DAYS)
    of_table = computed(write_property(place, TABLE, COMPARISON))["greenness"].set_index("unit_id")
    for name in ("before_mean", "after_mean", "change", "change_vs_reference"):
        assert of_table[name].to_numpy() == pytest.approx(of_pictures[name].to_numpy(), abs=1e-4)
    assert of_table["valid_pct"].isna().all()
    assert list(of_table["verdict"]) == list(of_pictures["verdict"])


def test_split_unit_in_the_geopackage(place):
    units = read_file(place / "units.geojson")
    west, south, east, north = units[units["UNIT"] == "A"].total_bounds
    half = shapely.box(west - 0.001, south - 0.001, (west + east) / 2, north + 0.001)
    rows = {"unit_id": ["A"], "date": ["2026-04-14"]}
    GeoDataFrame(rows, geometry=[half], crs=4326).to_file(place / "burned.geojson")
    assert run(place, SERIES, AREAS, COMPARISON) == 0
    (row,) = layer(place, "within_unit").to_dict("records")
    assert row["unit_id"] == "A"
    # Half of 40 acres, 161,874 m² by the international acre, in pixels of the raster.
    with rasterio.open(place / "ndvi_by_year.tif") as raster:
        half_pixels = 161_874.26 / 2 / abs(raster.transform.a * raster.transform.e)
    assert row["burned_pixels"] == pytest.approx(half_pixels, rel=0.01)
    assert row["interval_low"] < row["difference"] < row["interval_high"]
    assert row["interval_low"] < 0 < row["interval_high"], "nothing burned here"


def test_day_to_come_is_refused_in_one_line(place, capsys):
    late = TABLE.replace("means.csv", "late.csv")
    text = (place / "means.csv").read_text().replace("2026-07-20", "2099-07-20")
    (place / "late.csv").write_text(text)
    assert run(place, late) == 2
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1
    assert "[sources.zonal_series]: date 2099-07-20" in said[0]
    assert not (place / "out").exists()


def test_unit_of_the_table_that_is_not_on_the_map_is_refused(place, capsys):
    text = (place / "means.csv").read_text().replace("\nA,", "\nAX,")
    (place / "means.csv").write_text(text)
    assert run(place, TABLE) == 2
    assert '[sources.zonal_series]: unit "AX" is not on the map' in capsys.readouterr().err
