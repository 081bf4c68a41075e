"""Many pictures in one raster, bands by name, and bands that the file itself calls otherwise.

Names of bands: ESA (Sentinel-2: B04 red, B08 near-infrared, B11 and B12 short-wave) and USGS
LSDS-1619 and LSDS-1618 (Landsat 8: B4 red, B5 near-infrared; Landsat 7: B3 red, B4 near-infrared).
"""

from datetime import date
from itertools import product

import numpy as np
import pytest
import rasterio
from hypothesis import given
from hypothesis import strategies as st
from rasterio.io import MemoryFile
from rasterio.shutil import copy
from rasterio.windows import Window

from pipeline.intake.rasters import raster_file
from pipeline.intake.rasters.band_dates import dates_since
from pipeline.intake.rasters.band_names import quantity_of
from pipeline.intake.rasters.samples import sampled_numbers
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from tests.made_scenes import write_raster

DAYS = [date(2024, 7, 20), date(2025, 7, 21), date(2026, 7, 19)]
SHAPE = (12, 12)


def look(folder, path, **given):
    source = SceneSource(**({"path": path.name, "kind": "ndvi"} | given))
    frame, sources, faults = read_scenes((source,), folder)
    return frame, sources, "\n".join(map(str, faults))


def described(path, stack, descriptions, **more):
    write_raster(path, stack, **more)
    with rasterio.open(path, "r+") as raster:
        raster.descriptions = descriptions
    return path


def levels(*numbers):
    return np.stack([np.full(SHAPE, number, "float32") for number in numbers])


@pytest.mark.parametrize(
    ("description", "sensor", "quantity"),
    [
        ("Red", None, "red"),
        ("near infrared", None, "nir"),
        ("NIR", None, "nir"),
        ("swir22", None, "swir2"),
        ("red edge 1", None, "another"),
        ("RedEdge", None, "another"),
        ("B04", "S2A", "red"),
        ("B8A", None, "nir"),
        ("B12", None, "swir2"),
        ("B4", None, None),
        ("SR_B4", "LC08", "red"),
        ("SR_B4", "LE07", "nir"),
        ("SR_B5", "LC09", "nir"),
        ("SR_B5", "LT05", "swir1"),
        ("B05", "HLS.L30", "nir"),
        ("band 1", None, None),
        (None, "S2A", None),
        ("red or nir", None, None),
        ("scored", None, None),
    ],
)
def test_quantity_that_a_description_speaks_of(description, sensor, quantity):
    assert quantity_of(description, sensor) == quantity


def test_bands_that_the_file_calls_otherwise_are_refused(tmp_path):
    path = described(tmp_path / "s_2025-07-20.tif", levels(0.08, 0.3), ["nir", "red"])
    frame, _, faults = look(tmp_path, path, kind="reflectance", bands={"red": 1, "nir": 2})
    assert frame.empty
    assert 'red = 1, and the file calls band 1 "nir"; expected the band of red light' in faults
    assert "say red = 2" in faults
    assert "say nir = 1" in faults
    frame, _, faults = look(tmp_path, path, kind="reflectance", bands={"red": 2, "nir": 1})
    assert not faults
    assert frame[["red_band", "nir_band"]].iloc[0].tolist() == [2, 1]


def test_bands_by_name(tmp_path):
    path = described(tmp_path / "s_2025-07-20.tif", levels(0.1, 0.2, 0.3), ["B3", "B4", "B8"])
    frame, _, faults = look(tmp_path, path, kind="reflectance", bands={"red": "b4", "nir": "B8"})
    assert not faults
    assert frame[["red_band", "nir_band"]].iloc[0].tolist() == [2, 3]
    ask = {"red": "B5", "nir": "B8"}
    assert (
        'red = "B5", and no band is called so'
        in look(tmp_path, path, kind="reflectance", bands=ask)[2]
    )
    twice = described(tmp_path / "t_2025-07-20.tif", levels(0.1, 0.2), ["a red", "b red"])
    said = look(tmp_path, twice, kind="reflectance", bands={"red": "red", "nir": "b red"})[2]
    assert 'red = "red" can be band 1 or 2; expected the name of one band' in said
    bare = write_raster(tmp_path / "bare_2025-07-20.tif", levels(0.1, 0.2))
    said = look(tmp_path, bare, kind="reflectance", bands={"red": "B4", "nir": "B8"})[2]
    assert "the file names no bands: say its number" in said


def test_index_among_other_bands(tmp_path):
    path = described(tmp_path / "s_2025-07-20.tif", levels(0.1, 0.2, 0.5), ["red", "nir", "NDVI"])
    assert look(tmp_path, path)[0]["ndvi_band"].tolist() == [3], "the file says which it is"
    assert 'ndvi = 1, and the file calls band 1 "red"' in look(tmp_path, path, band=1)[2]
    bare = write_raster(tmp_path / "bare_2025-07-20.tif", levels(0.1, 0.2, 0.5))
    assert "say band = …" in look(tmp_path, bare)[2]
    assert look(tmp_path, bare, band=3)[0]["high"].tolist() == pytest.approx([0.5])
    assert "band = 4, the file has 3" in look(tmp_path, bare, band=4)[2]


@pytest.mark.parametrize("form", ["{:%Y-%m-%d}", "NDVI_{:%Y%m%d}", "{:%Y%m%d}T174911_T13TGF_NDVI"])
def test_many_dates_by_the_descriptions_of_the_bands(form, tmp_path):
    stack = levels(0.4, 0.5, 0.6)
    path = described(tmp_path / "series.tif", stack, [form.format(day) for day in DAYS])
    frame, sources, faults = look(tmp_path, path)
    assert not faults
    assert [day.date() for day in frame["date"]] == DAYS
    assert frame["ndvi_band"].tolist() == [1, 2, 3]
    assert frame["high"].tolist() == pytest.approx([0.4, 0.5, 0.6])
    assert frame["scene"].tolist() == [1, 2, 3]
    assert [row["rows_used"] for row in sources] == [3]


def test_many_dates_told_in_a_list(tmp_path):
    path = write_raster(tmp_path / "series.tif", levels(0.4, 0.5, 0.6))
    frame, _, faults = look(tmp_path, path, dates=DAYS)
    assert not faults
    assert [day.date() for day in frame["date"]] == DAYS
    assert "2 dates, the file has 3 bands" in look(tmp_path, path, dates=DAYS[:2])[2]
    with pytest.raises(ValueError, match="a day twice"):
        SceneSource(path="a.tif", kind="ndvi", dates=[DAYS[0], DAYS[0]])


def test_days_that_do_not_fit_the_bands_are_refused(tmp_path):
    stack = levels(0.4, 0.5, 0.6)
    path = described(tmp_path / "a.tif", stack, ["2024-07-20", "2025-07-20", None])
    assert "no day in the description of band 3" in look(tmp_path, path)[2]
    path = described(tmp_path / "b.tif", stack, ["2024-07-20", "2024-07-20", "2025-07-20"])
    assert "2024-07-20 stands for several bands" in look(tmp_path, path)[2]


def test_stacks_of_many_dates(tmp_path):
    names = [f"{day}_{name}" for day, name in product(DAYS[:2], ("red", "nir"))]
    path = described(tmp_path / "stacks.tif", levels(0.1, 0.3, 0.05, 0.4), names)
    frame, _, faults = look(tmp_path, path, kind="reflectance", bands={"red": "red", "nir": "nir"})
    assert not faults
    assert frame[["red_band", "nir_band"]].to_numpy().tolist() == [[1, 2], [3, 4]]
    assert [day.date() for day in frame["date"]] == DAYS[:2]


def netcdf(path, hours, units="hours since 1970-01-01", calendar="standard"):
    """A netCDF file with an axis of time, as GDAL's own driver writes it."""
    place = {"crs": "EPSG:32614", "transform": rasterio.Affine(10, 0, 600000, 0, -10, 4500000)}
    size = {"count": len(hours), "height": 12, "width": 12, "dtype": "float32"}
    with MemoryFile() as memory:
        with memory.open(driver="GTiff", **size, **place) as raster:
            raster.write(levels(*(0.4 + 0.1 * n for n in range(len(hours)))))
            times = ",".join(map(str, hours))
            raster.update_tags(
                **{
                    "NETCDF_DIM_EXTRA": "{time}",
                    "NETCDF_DIM_time_DEF": f"{{{len(hours)},6}}",
                    "NETCDF_DIM_time_VALUES": f"{{{times}}}",
                    "time#units": units,
                    "time#calendar": calendar,
                }
            )
            for number, hour in enumerate(hours, 1):
                raster.update_tags(number, NETCDF_DIM_time=str(hour))
        copy(memory.name, path, driver="netCDF")
    return path


def test_axis_of_time_of_a_netcdf_file(tmp_path):
    hours = [(day - date(1970, 1, 1)).days * 24 + 17 for day in DAYS]
    path = netcdf(tmp_path / "cube.nc", hours)
    frame, _, faults = look(tmp_path, path)
    assert not faults
    assert [day.date() for day in frame["date"]] == DAYS
    assert frame["high"].tolist() == pytest.approx([0.4, 0.5, 0.6])
    odd = netcdf(tmp_path / "odd.nc", hours, calendar="360_day")
    assert '3 bands, and kind = "ndvi"' in look(tmp_path, odd)[2], "no day of ours"


def test_rasterio_without_netcdf_is_told_plainly(tmp_path, monkeypatch):
    path = netcdf(tmp_path / "cube.nc", [24])
    monkeypatch.setattr(raster_file, "_drivers", lambda: {"GTiff": "rw"})
    assert "which the rasterio that is installed cannot read" in look(tmp_path, path)[2]


# CF conventions 1.8, section 4.4; the days by Python's own calendar.
@given(st.dates(date(1970, 1, 1), date(2100, 1, 1)), st.sampled_from(["days", "hours", "seconds"]))
def test_days_since_a_first_day(day, unit):
    since = date(1970, 1, 1)
    many = {"days": 1, "hours": 24, "seconds": 86400}[unit]
    assert dates_since(f"{unit} since 1970-01-01 00:00:00", [(day - since).days * many]) == [day]


def test_time_of_day_of_the_first_day_counts():
    assert dates_since("hours since 2025-07-20T18:00", [5, 6]) == [
        date(2025, 7, 20),
        date(2025, 7, 21),
    ]


def test_name_with_two_days_is_refused_until_one_is_told(tmp_path):
    path = write_raster(tmp_path / "ndvi_2025-07-20_2026-07-20.tif", levels(0.5))
    said = look(tmp_path, path)[2]
    assert "its name has several days: 2025-07-20, 2026-07-20" in said
    assert not look(tmp_path, path, date=DAYS[2])[2]


def test_sample_of_a_large_raster_comes_from_a_few_blocks(tmp_path):
    stored = np.zeros((3000, 3000), "int16")
    stored[:, :] = np.linspace(2000, 8000, 3000)
    path = write_raster(
        tmp_path / "big.tif", stored, tiled=True, blockxsize=256, blockysize=256, compress="zstd"
    )
    frame, _, faults = look(tmp_path, path, date=DAYS[0], scale=0.0001)
    assert not faults
    with rasterio.open(path) as raster:
        every = raster.read(1) * 0.0001
    assert frame["high"].iloc[0] == pytest.approx(np.percentile(every, 99), abs=0.05)
    assert frame["low"].iloc[0] == pytest.approx(np.percentile(every, 1), abs=0.05)


def test_data_between_the_blocks_looked_at_is_found(tmp_path):
    stored = np.full((3000, 3000), -9999, "int16")
    stored[1300:1500, 1300:1500] = 7000
    path = write_raster(tmp_path / "corner.tif", stored, nodata=-9999)
    frame, _, _ = look(tmp_path, path, date=DAYS[0], scale=0.0001)
    assert frame["high"].iloc[0] == pytest.approx(0.7)


class Counted:
    """A raster that counts the pixels which are read of it."""

    def __init__(self, raster):
        self.raster, self.pixels = raster, 0

    def __getattr__(self, name):
        return getattr(self.raster, name)

    def read(self, *bands, window=None, **options):
        height, width = (window.height, window.width) if window else self.raster.shape
        self.pixels += height * width
        return self.raster.read(*bands, window=window, **options)


@pytest.mark.parametrize("missing_are_stored", [False, True])
def test_little_data_in_a_huge_raster_is_found_without_reading_it_whole(
    missing_are_stored, tmp_path
):
    """Of many blocks one holds numbers; the others are not stored, or hold missing pixels."""
    size = 5_000 if missing_are_stored else 20_000
    kind = {"driver": "GTiff", "dtype": "int16", "count": 1, "nodata": -9999, "compress": "zstd"}
    tiles = {"width": size, "height": size, "tiled": True, "blockxsize": 256, "blockysize": 256}
    tiles["transform"] = rasterio.Affine(10, 0, 500_000, 0, -10, 4_600_000)
    path, there = tmp_path / "huge.tif", Window(2_300, 4_100, 20, 20)
    with rasterio.open(path, "w", sparse_ok=not missing_are_stored, **kind, **tiles) as new:
        new.write(np.full((20, 20), 7000, "int16"), 1, window=there)
    with rasterio.open(path) as raster:
        counted = Counted(raster)
        assert set(sampled_numbers(counted, [1])) == {7000}
    assert counted.pixels < 6_000_000


def test_variable_of_a_netcdf_file(tmp_path):
    stack = write_raster(tmp_path / "two.tif", levels(0.4, 0.7))
    copy(stack, tmp_path / "two.nc", driver="netCDF")  # GDAL names the variables Band1 and Band2
    frame, _, faults = look(tmp_path, tmp_path / "two.nc", date=DAYS[0], variable="Band2")
    assert not faults
    assert frame["high"].tolist() == pytest.approx([0.7])
    assert frame["variable"].tolist() == ["Band2"]
    said = look(tmp_path, tmp_path / "two.nc", date=DAYS[0])[2]
    assert "2 variables; expected variable = … for one of the file's; the file has Band1" in said
    assert "expected a netCDF file" in look(tmp_path, stack, date=DAYS[0], variable="Band2")[2]


def test_fill_that_the_file_does_not_declare_can_be_told(tmp_path):
    path = write_raster(tmp_path / "a.tif", np.full(SHAPE, 5000, "int16"), scale=0.0001)
    assert look(tmp_path, path, date=DAYS[0], fill=2000)[0]["product_fill"].tolist() == [2000]
