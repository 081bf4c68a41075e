"""Units a long way from each other: told and bounded, whatever part of the earth they span.

A coordinate that a program could not tell is often written as (0, 0), off the coast of Africa.
Miles are checked by the haversine formula on a sphere of 6,371.0088 km (mean radius R1 of the
GRS 80 ellipsoid, H. Moritz, Geodetic Reference System 1980), within 0.6 % of the ellipsoid.
"""

import math
import re
import subprocess
import sys
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely

from pipeline.cli import main
from pipeline.core.limits import CHANGE_MAP
from pipeline.greenness.readings import zone_changes
from pipeline.pages.map_frame import MapFrame
from pipeline.pictures.raster_grid import Grid
from pipeline.pictures.zone_ground import ZoneGround, full_pixels
from pipeline.runner import read_property
from tests.made_report import report
from tests.made_scenes import write_raster
from tests.part_runs import computed

PROPERTY = """
[property]
name = "Wide"
season = 2027

[sources.units]
path = "units.gpkg"
columns = {{ unit_id = "UNIT" }}

[[burns]]
block = "1"
units = [{names}]
wind_from_deg = 225
fuel_height_ft = 4.0
"""
SCENES = """
[[sources.scenes]]
path = "before.tif"
date = 2026-07-01
kind = "ndvi"
[[sources.scenes]]
path = "after.tif"
date = 2027-07-01
kind = "ndvi"
[[comparisons]]
name = "c"
before = 2026-07-01
after = 2027-07-01
burned = ["U0"]
reference = ["U1", "U2", "U3"]
"""
NEAR = [(-96.7 + 0.004 * n, 40.0) for n in range(3)]
NEAR_UTM = [(700_000 + 400 * n, 4_430_000) for n in range(3)]
PEAK_OF_A_RUN = """
import resource, sys
from pipeline.cli import main
code = main(["run", sys.argv[1], "--quiet"])
print(code, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""
MOST_KIB = 1_500_000


def property_of(folder, corners, *, crs=4326, side=0.004, more=""):
    """A property of squares; its property file."""
    names = [f"U{n}" for n in range(len(corners))]
    shapes = [shapely.box(x, y, x + side, y + side) for x, y in corners]
    gpd.GeoDataFrame({"UNIT": names}, geometry=shapes, crs=crs).to_file(folder / "units.gpkg")
    told = folder / "wide.toml"
    told.write_text(PROPERTY.format(names=", ".join(f'"{name}"' for name in names)) + more)
    return told


def scene(path, value):
    """A picture of 3 km around the units that lie near each other."""
    noise = np.random.default_rng(1).normal(0, 0.02, (300, 300))
    write_raster(path, (value + noise).astype("float32"), left=696_200, top=4_431_500)


def peak_kib(told):
    """Largest memory [KiB] of a run of its own, which must end well."""
    run = subprocess.run(
        [sys.executable, "-c", PEAK_OF_A_RUN, str(told)],
        capture_output=True,
        text=True,
        check=True,
        timeout=500,
    )
    code, peak = run.stdout.split()[-2:]
    assert code == "0", run.stderr
    return int(peak)


def far_apart(told):
    """Messages on units that lie far from the others."""
    findings = read_property(told)[1].frames["intake_findings"]
    return [m for m in findings["message"] if "far apart" in m]


def haversine_mi(lon1, lat1, lon2, lat2):
    phi1, phi2 = math.radians(lat1), math.radians(lat2)
    half = math.sin((phi2 - phi1) / 2) ** 2
    half += math.cos(phi1) * math.cos(phi2) * math.sin(math.radians(lon2 - lon1) / 2) ** 2
    return 2 * 6371.0088 / 1.609344 * math.asin(math.sqrt(half))


PLACES = {
    "lost coordinate in degrees": ([*NEAR, (0.0, 0.0)], 4326, 0.004),
    "lost coordinate in a plane": ([*NEAR_UTM, (0.0, 0.0)], 32614, 400.0),
    "scattered": ([(-120 + 7.0 * n, 30 + n * 7 % 18) for n in range(8)], 4326, 0.004),
    "two": ([NEAR[0], (-120.0, 45.0)], 4326, 0.004),
}


@pytest.mark.parametrize("kind", PLACES)
def test_units_across_the_earth_are_told_and_fit_into_memory(kind, tmp_path):
    corners, crs, side = PLACES[kind]
    told = property_of(tmp_path, corners, crs=crs, side=side)
    (message,) = far_apart(told)
    assert "is the coordinate right?" in message
    assert peak_kib(told) < MOST_KIB


def test_distance_of_a_stray_unit_is_that_on_the_earth(tmp_path):
    (message,) = far_apart(property_of(tmp_path, [*NEAR, (0.0, 0.0)]))
    miles = float(re.search(r"([\d,]+) miles to U3", message)[1].replace(",", ""))
    assert miles == pytest.approx(haversine_mi(-96.694, 40.002, 0.002, 0.002), rel=0.006)
    assert "(at 0.00200, 0.00200)" in message


def test_units_of_one_ranch_are_not_told(tmp_path):
    """Half a degree of longitude at 40° N is 26 miles."""
    assert far_apart(property_of(tmp_path, [*NEAR, (-96.2, 40.0)])) == []


def test_pictures_of_the_others_are_read_beside_a_stray_unit(tmp_path):
    """The far side of the earth has no place on the grid of a picture."""
    scene(tmp_path / "before.tif", 0.3)
    scene(tmp_path / "after.tif", 0.5)
    beside = property_of(tmp_path, [*NEAR, (0.0, 0.0)], more=SCENES)
    assert peak_kib(beside) < MOST_KIB
    stray = gpd.read_file(tmp_path / "out" / "wide_2027" / "wide.gpkg", layer="zone_scenes")
    alone = property_of(tmp_path, NEAR, more=SCENES.replace(', "U3"', ""))
    plain = computed(alone)["zone_scenes"]
    by_unit = stray.set_index(["unit_id", "date"])
    assert by_unit.loc["U3", "reason"].eq("out_of_reach").all()
    for row in plain.itertuples():
        own = by_unit.loc[(row.unit_id, row.date)]
        assert own["mean"] == pytest.approx(row.mean, abs=0.002)
        assert own["valid_pct"] == pytest.approx(100.0)


@pytest.mark.parametrize(("most", "drawn"), [(10, False), (10_000, True)])
def test_change_map_that_would_be_vast_is_told_and_not_made(most, drawn, tmp_path, monkeypatch):
    """The units are 1,026 m by 444 m, some 103 by 45 pixels of 10 m."""
    monkeypatch.setattr(zone_changes, "CHANGE_MAP", replace(CHANGE_MAP, most=most))
    scene(tmp_path / "before.tif", 0.3)
    scene(tmp_path / "after.tif", 0.5)
    more = SCENES.replace(', "U3"', "") + "[greenness]\nchange_map = true\n"
    assert main(["run", str(property_of(tmp_path, NEAR, more=more)), "--quiet"]) == 0
    folder = tmp_path / "out" / "wide_2027"
    assert (folder / "greenness_change.tif").exists() == drawn
    findings = gpd.read_file(folder / "wide.gpkg", layer="findings")
    assert findings["message"].str.contains("it would be vast").any() != drawn


def test_unit_with_one_lost_corner_is_refused_with_that_corner(tmp_path, capsys):
    told = property_of(tmp_path, NEAR)
    x, y = NEAR[2]
    frame = gpd.read_file(tmp_path / "units.gpkg")
    spoiled = shapely.Polygon([(x, y), (x + 0.004, y), (0, 0), (x, y + 0.004)])
    frame.loc[2, "geometry"] = spoiled
    frame.to_file(tmp_path / "units.gpkg")
    assert main(["check", str(told), "--quiet"]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert 'row 3, unit "U2": reaches over ' in line
    assert "miles, to 0.00000, 0.00000; expected a unit of at most 100 miles; " in line


def test_breaks_and_gates_far_from_every_unit_are_told_although_a_stray_unit_spans_them(tmp_path):
    """Between the units and (0, 0) lies half a world; what is there is near none of them."""
    more = '[[sources.breaks]]\npath = "lane.gpkg"\nkind = "lane"\n'
    more += '[sources.gates]\npath = "gate.gpkg"\n'
    told = property_of(tmp_path, [*NEAR, (0.0, 0.0)], more=more)
    for name, shape in (
        ("lane", shapely.LineString([(-50, 20), (-50, 20.1)])),
        ("gate", shapely.Point(-50, 20)),
    ):
        gpd.GeoDataFrame({"k": [1]}, geometry=[shape], crs=4326).to_file(tmp_path / f"{name}.gpkg")
    findings = read_property(told)[1].frames["intake_findings"]
    near = findings.loc[findings["message"].str.contains("nothing of this source"), "source"]
    assert sorted(near) == ["breaks 1", "gates"]


def test_crosses_are_counted_before_they_are_made():
    assert MapFrame(-1e7, 1e7, 2e7, 2e7).quarter_mile_crosses() == []
    assert len(MapFrame(0.0, 20_000.0, 20_000.0, 20_000.0).quarter_mile_crosses()) == 50 * 50


@pytest.mark.parametrize(("side", "told"), [(0.1, False), (0.004, True)])
def test_report_speaks_of_crosses_only_where_they_are_drawn(side, told, tmp_path):
    """Three squares of 0.1 degrees are some 21 miles wide and 7 high: 84 by 28 crosses and more."""
    corners = [(-96.7 + 4 * side * n, 40.0 + 4 * side * n) for n in range(3)]
    frames = computed(property_of(tmp_path, corners, side=side))
    page = report(frames, frames["units"].crs)
    assert ("Crosses stand a quarter mile apart" in page) == told
    assert ('data-layer="lattice"' in page) == told


def test_whole_pixels_of_parts_far_apart_are_counted_without_the_ground_between():
    """Two squares of 10 pixels, 10 million pixels apart each way."""
    far = 1e7
    zone = shapely.MultiPolygon(
        [shapely.box(0, 0, 10, 10), shapely.box(far, far, far + 10, far + 10)]
    )
    assert full_pixels(zone) == 200


def test_bands_of_a_window_are_the_window():
    grid = Grid(rasterio.crs.CRS.from_epsg(32614).to_wkt(), 0.0, 40_000.0, 10.0, 10.0, 4000, 4000)
    zone = shapely.Point(20_000, 20_000).buffer(15_000)
    ground = ZoneGround(grid, np.array([zone]), *(np.zeros(1),) * 3)
    window = ground.window(0)
    bands = list(window.bands())
    assert len(bands) > 1
    assert np.array_equal(np.concatenate([band.shares() for band in bands]), window.shares())
