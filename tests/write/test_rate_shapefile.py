"""The rate map: what a terminal needs of it, and that nothing gets lost on the way.

Outside sources: the bulk rate is pounds of pure live seed divided by the share of it, as on seed
tags (7 lb PLS an acre at 70 % PLS is 10 lb of bulk an acre); names of at most eight characters and
at most 100 areas are what manuals of terminals ask for; dBASE III for the kind of a field.
"""

import dataclasses
import zipfile

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.core.units import M2_PER_AC
from pipeline.ground.geometry import working_crs
from pipeline.write.rate_shapefile import bulk_rates, valid_degrees, write_rate_shapefile
from tests.made_conflicts import WORDS, conflicts_layer, grazing, seeding

CRS = working_crs(gpd.GeoSeries([shapely.box(-96.01, 39.99, -95.99, 40.01)], crs=4326))


def seed_areas(*rows):
    """Areas of 10 acres: name, pounds of bulk and pounds of companions."""
    side = (10 * M2_PER_AC) ** 0.5
    columns = {c.name: None for c in LAYERS["seed_areas"].columns}
    told = [
        columns
        | {
            "area": area,
            "unit_ids": "U1",
            "mix": "Tallgrass",
            "method": "drill",
            "gross_ac": 10.0,
            "net_ac": 10.0,
            "pls_lb": 70.0,
            "bulk_lb": bulk,
            "companion_lb": companion,
        }
        for area, bulk, companion in rows
    ]
    shapes = [shapely.box(n * 500, 0, n * 500 + side, side) for n in range(len(rows))]
    return conform(gpd.GeoDataFrame(told, geometry=shapes, crs=CRS), LAYERS["seed_areas"], CRS)


@pytest.fixture
def zipped(sample_run, tmp_path):
    """Write the rate map of the given areas: ``zipped(areas)`` gives the path."""

    def write(areas=None, name="rates.zip"):
        frames = sample_run.frames | ({} if areas is None else {"seed_areas": areas})
        write_rate_shapefile(dataclasses.replace(sample_run, frames=frames), tmp_path / name)
        return tmp_path / name

    return write


def note_of(path):
    with zipfile.ZipFile(path) as archive:
        return archive.read("read_me.txt").decode("utf-8")


def test_rate_is_bulk_and_companions_count_to_what_the_drill_lets_out(zipped):
    # 7 lb PLS/ac at 70 % PLS: 10 lb of bulk an acre; 5 lb/ac of a nurse crop beside it.
    rates = gpd.read_file(zipped(seed_areas(("Windmill", 100.0, 50.0))))
    assert rates["SEED_LBA"].tolist() == pytest.approx([10.0])
    assert rates["FILL_LBA"].tolist() == pytest.approx([15.0])


def test_it_is_in_degrees_of_wgs_84_at_its_place(zipped):
    areas = seed_areas(("Windmill", 100.0, 0.0))
    rates = gpd.read_file(zipped(areas))
    assert rates.crs.to_epsg() == 4326
    back = rates.to_crs(CRS).geometry[0]
    assert back.hausdorff_distance(areas.geometry[0]) < 0.01


def test_names_are_short_and_rates_are_numbers(zipped):
    path = zipped(seed_areas(("Windmill", 100.0, 0.0)))
    told = pyogrio.read_info(path)
    assert all(len(name) <= 8 for name in told["fields"])
    kinds = dict(zip(told["fields"], told["dtypes"], strict=True))
    assert {kinds[name] for name in ("SEED_LBA", "FILL_LBA", "ACRES")} == {"float64"}
    with zipfile.ZipFile(path) as archive:
        assert {"drill1.shp", "drill1.shx", "drill1.dbf", "drill1.prj"} < set(archive.namelist())
        dbf = archive.read("drill1.dbf")
    assert [chr(dbf[32 * n + 11]) for n in range(1, 6)] == ["C", "C", "N", "N", "N"]


def test_an_unknown_rate_is_left_out_and_told(zipped):
    path = zipped(seed_areas(("Windmill", 100.0, 0.0), ("Lark", None, 0.0)))
    assert gpd.read_file(path)["AREA"].tolist() == ["Windmill"]
    assert "bulk rate is unknown: Lark." in note_of(path)


def test_where_no_rate_is_known_the_note_alone_says_so(zipped):
    path = zipped(seed_areas(("Lark", None, 0.0)))
    with zipfile.ZipFile(path) as archive:
        assert archive.namelist() == ["read_me.txt"]
    assert "unknown: Lark." in note_of(path)


def test_the_note_says_bulk_and_not_pls(zipped):
    note = note_of(zipped())
    assert "BULK pounds an acre, NOT pure live seed (PLS)" in note
    assert "Larkspindle Prairie" in note


def test_more_than_a_hundred_areas_go_into_several_maps(zipped):
    path = zipped(seed_areas(*((f"A{n:03}", 100.0, 0.0) for n in range(101))))
    first = gpd.read_file(f"zip://{path}!drill1.shp")
    second = gpd.read_file(f"zip://{path}!drill2.shp")
    assert (len(first), len(second)) == (100, 1)
    assert sorted([*first["AREA"], *second["AREA"]]) == [f"A{n:03}" for n in range(101)]


def test_the_sample_map_agrees_with_the_drill_sheet(sample_run, zipped):
    path = zipped()
    jobs = [gpd.read_file(f"zip://{path}!{name}1.shp") for name in ("drill", "overseed")]
    rates = pd.concat(jobs).set_index("AREA")
    boxes = sample_run.frames["seed_boxes"].groupby("area")
    assert [list(job["AREA"]) for job in jobs] == [["Windmill"], ["Lantern and Lark"]]
    for area, row in rates.iterrows():
        acres = sample_run.frames["seed_areas"].set_index("area")["net_ac"][area]
        fill_lb_ac = boxes.get_group(area)["fill_lb"].sum() / acres
        assert row["FILL_LBA"] == pytest.approx(fill_lb_ac, abs=0.005000001)


def test_rates_have_the_decimals_that_a_controller_takes(zipped):
    # 100.125 lb on 10 ac are 10.0125 lb an acre.
    rates = gpd.read_file(zipped(seed_areas(("Windmill", 100.125, 0.0))))
    assert rates["SEED_LBA"].tolist() == [10.01]


def test_a_sliver_that_crosses_itself_in_degrees_is_mended():
    # A notch a millionth of a millimeter wide: valid in meters, and in degrees as it rounds.
    shapes = []
    for n in range(50):
        x = 100 + 7.3 * n
        corners = [
            (0, 0),
            (2000, 0),
            (2000, 500),
            (x + 1e-9, 500),
            (x + 0.1, 3),
            (x, 500),
            (0, 500),
        ]
        shapes.append(shapely.Polygon(corners))
    drawn = gpd.GeoSeries(shapes, crs=CRS)
    assert drawn.is_valid.all()
    assert not drawn.to_crs(4326).is_valid.all()
    mended = valid_degrees(drawn)
    assert mended.is_valid.all()
    assert set(mended.geom_type) == {"MultiPolygon"}
    areas = mended.to_crs(CRS).area
    assert areas.max() - areas.min() < 0.09  # a square foot, between mended and valid ones


def test_same_run_gives_the_same_bytes(zipped):
    assert zipped(name="a.zip").read_bytes() == zipped(name="b.zip").read_bytes()


def test_letters_of_every_script_survive(zipped):
    rates = gpd.read_file(zipped(seed_areas(("Prärie שלום\u202e", 100.0, 0.0))))
    assert rates["AREA"].tolist() == ["Prärie שלום"]


def test_meters_are_refused(zipped):
    areas = seed_areas(("Windmill", 100.0, 0.0)).set_crs(4326, allow_override=True)
    with pytest.raises(ValueError, match="degrees"):
        zipped(areas)


def test_no_acres_no_rate():
    areas = seed_areas(("Windmill", 100.0, 0.0)).assign(net_ac=0.0)
    assert bulk_rates(areas).empty
    assert not np.isinf(bulk_rates(areas)["SEED_LBA"]).any()


def test_note_says_first_what_to_stop_and_ask_for(sample_run, tmp_path):
    def note(*told):
        frames = sample_run.frames | {"conflicts": conflicts_layer(*told, crs=sample_run.crs)}
        write_rate_shapefile(dataclasses.replace(sample_run, frames=frames), tmp_path / "r.zip")
        with zipfile.ZipFile(tmp_path / "r.zip") as archive:
            return archive.read("read_me.txt").decode()

    told = note(seeding(1), seeding(2, "know"), grazing(3)).splitlines()
    assert told[0] == f"Stop and ask: seeding of area Area: {WORDS['stop_and_ask']}; " + (
        "who decides: seed dealer"
    )
    assert told[1].startswith("Seeding rates of")
    assert note().startswith("Seeding rates of")
