"""Greenness of zones on real Sentinel-2 pictures, against exactextract and rasterstats.

The pictures and their origin are in conftest.py. Where a figure was not published but computed
with other software from the same files, the test says "computed".
"""

import shutil

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from rasterio.transform import Affine
from rasterstats import zonal_stats

from pipeline.core.errors import PipelineError
from tests.chips import (
    BARE,
    agrees,
    by_exactextract,
    compare,
    measured,
    of_change,
    on_raster,
    run,
    spyndex_ndvi,
    stack,
    write,
    write_spyndex_ndvi,
)

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


def squares(size, origin=(600000, 4700020), crs=32719):
    """Six units of so many meters in a row, 250 m apart, turned against the pixels."""
    shapes = [
        shapely.affinity.rotate(
            shapely.box(origin[0] + x, origin[1] - y - size, origin[0] + x + size, origin[1] - y),
            17,
        )
        for x, y in [(150, 200), (700, 260), (1300, 900), (1900, 330), (2300, 1200), (900, 1400)]
    ]
    ids = [f"S{n}" for n in range(len(shapes))]
    return gpd.GeoDataFrame({"unit_id": ids}, geometry=shapes, crs=crs)


def test_netcdf_without_reference_system_is_refused_in_one_line(patagonia, tmp_path):
    # The files do name EPSG:32719, but in an attribute of their own that no convention knows.
    shutil.copy(patagonia / "red_band.nc", tmp_path / "red_2020-01-15.nc")
    with pytest.raises(PipelineError) as refused:
        run(tmp_path, squares(400), [stack("red_2020-01-15.nc", 1, 1, scale=0.0001)])
    (fault,) = refused.value.faults
    assert "red_2020-01-15.nc" in fault.where
    assert fault.found == "no coordinate reference system"
    assert "\n" not in str(fault)


def test_netcdf_bands_have_the_pixels_they_are_known_for(patagonia):
    red, nir = (rasterio_values(patagonia / f"{name}_band.nc") for name in ("red", "nir"))
    ndvi = spyndex_ndvi(red, nir)
    # Computed with numpy from the same files.
    assert (ndvi.mean(), ndvi.std()) == pytest.approx((0.077072, 0.020146), abs=5e-7)


def rasterio_values(path):
    with rasterio.open(path) as raster:
        assert raster.driver == "netCDF"
        assert raster.crs is None
        return raster.read(1)


@pytest.fixture(scope="module")
def two_grids(patagonia, tmp_path_factory):
    """The same ground in pixels of 10 m, and of 20 m (means of four), each with its day."""
    folder = tmp_path_factory.mktemp("two_grids")
    red, nir = (rasterio_values(patagonia / f"{name}_band.nc") for name in ("red", "nir"))
    coarse = [band.reshape(100, 2, 150, 2).mean(axis=(1, 3)) for band in (red, nir)]
    fine = np.rint(np.stack([red, nir])).astype("uint16")
    place = {"crs": "EPSG:32719", "transform": Affine(10, 0, 600000, 0, -10, 4700020)}
    write(folder / "fine_2020-01-15.tif", fine, place)
    write(
        folder / "coarse_2021-01-15.tif",
        np.stack(coarse),
        place,
        transform=Affine(20, 0, 600000, 0, -20, 4700020),
        nodata=np.nan,
    )
    write_spyndex_ndvi(folder / "fine.tif", folder / "fine_2020-01-15.tif", 1, 2)
    write_spyndex_ndvi(folder / "coarse.tif", folder / "coarse_2021-01-15.tif", 1, 2)
    return folder


@pytest.mark.parametrize(("greenness", "edge_pixels"), [(BARE, 0), ("", 1)])
def test_pictures_of_10_and_20_m_are_each_read_on_their_own_grid(two_grids, greenness, edge_pixels):
    names = ("fine_2020-01-15.tif", "coarse_2021-01-15.tif")
    layers = run(
        two_grids,
        squares(400),
        [stack(name, 1, 2, scale=0.0001) for name in names],
        compare("2020-01-15", "2021-01-15", ["S0", "S1"], ["S2", "S3", "S4", "S5"]),
        greenness,
    )
    changes = of_change(layers)
    # On the ground a pixel of the projection's 20 m measures a little more or less.
    assert changes["pixel_m"].to_numpy() == pytest.approx(20.0, abs=0.02)
    # Where grids differ a whole pixel of the coarser picture is left out along the edge.
    edge_m = edge_pixels * changes["pixel_m"].iloc[0]
    inner = layers["units"].set_geometry(layers["units"].buffer(-edge_m))
    zones = on_raster(inner, two_grids / "fine.tif")
    fine, coarse = (by_exactextract(two_grids / f"{n}.tif", zones) for n in ("fine", "coarse"))
    assert not changes["paired"].any()
    assert changes["mixed"].all()
    assert changes["reason"].isna().all()
    assert changes["before_mean"].to_numpy() == pytest.approx(fine["mean"], abs=1e-6)
    assert changes["after_mean"].to_numpy() == pytest.approx(coarse["mean"], abs=1e-6)
    assert changes["change"].to_numpy() == pytest.approx(coarse["mean"] - fine["mean"], abs=2e-6)
    assert layers["greenness"]["noise_floor"].eq(0.03).all()


DRAWN = [
    shapely.Point(600900, 4498800).buffer(410),
    shapely.Point(601700, 4498100).buffer(600) - shapely.Point(601700, 4498100).buffer(90),
    shapely.MultiPolygon(
        [
            shapely.box(602004, 4497711, 602333, 4498123),
            shapely.box(602501, 4499000, 602533, 4498123),
        ]
    ),
    shapely.LineString([(600100, 4499900), (602900, 4497100)]).buffer(3),
    shapely.box(599500, 4498000, 600300, 4500500),
]


def test_drawn_zones_on_a_real_sentinel_2_chip_agree_with_exactextract(sentinel):
    ours = measured(sentinel, DRAWN, "EPSG:32614", bands=(3, 4), scale=0.0001)
    agrees(
        ours,
        by_exactextract(
            sentinel.with_name("ndvi.tif"), gpd.GeoDataFrame(geometry=DRAWN, crs=32614)
        ),
    )


def test_whole_pixels_of_a_real_sentinel_2_chip_agree_with_rasterstats(sentinel):
    corners = [(0, 0, 300, 300), (10, 20, 60, 45), (150, 3, 299, 131), (7, 200, 8, 300)]
    zones = [
        shapely.box(600000 + 10 * a, 4500000 - 10 * d, 600000 + 10 * c, 4500000 - 10 * b)
        for a, b, c, d in corners
    ]
    ours = measured(sentinel, zones, "EPSG:32614", bands=(3, 4), scale=0.0001)
    theirs = zonal_stats(zones, str(sentinel.with_name("ndvi.tif")), stats=["mean", "std", "count"])
    for column, name in (("mean", "mean"), ("sd", "std"), ("pixels", "count")):
        assert ours[column].to_numpy() == pytest.approx([r[name] for r in theirs], rel=1e-9)
    # Computed with numpy from the same file.
    assert ours["mean"].iloc[0] == pytest.approx(0.469985, abs=5e-7)
    assert ours["sd"].iloc[0] == pytest.approx(0.230301, abs=5e-7)
    assert (ours["full_pixels"] == ours["pixels"].round()).all()
