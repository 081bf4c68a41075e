"""Patches from the property file on: one file or several, with what a file has in common."""

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import shapely

from pipeline.cli import main

UTM = "EPSG:32614"
WEST, SOUTH = 600000.0, 4500000.0


def write_map(path, shapes, **columns):
    moved = [shapely.affinity.translate(shape, WEST, SOUTH) for shape in shapes]
    gpd.GeoDataFrame(columns, geometry=moved, crs=UTM).to_crs(4326).to_file(path)


@pytest.fixture
def place(tmp_path):
    units = [shapely.box(0, 0, 400, 400), shapely.box(400, 0, 800, 400)]
    write_map(tmp_path / "units.geojson", units, unit_id=["A", "B"])
    points = [shapely.Point(100, 100), shapely.Point(400, 300)]
    write_map(tmp_path / "old.geojson", points, name=["a", "b"])
    write_map(
        tmp_path / "new.geojson",
        [shapely.box(80, 80, 120, 120), shapely.Point(700, 300)],
        kind=["thistle", "cedar"],
        date=["2026-06-20", "2026-10-07"],
        radius_ft=[None, 40.0],
    )
    return tmp_path


def run(place, patches, capsys):
    told = (
        f'[property]\nname = "Small Place"\nseason = 2027\n\n[sources.units]\n'
        f'path = "units.geojson"\n\n{patches}'
    )
    (place / "small.toml").write_text(told)
    code = main(["run", str(place / "small.toml"), "--out", str(place / "out"), "--quiet"])
    return code, capsys.readouterr().err


OLD = 'path = "old.geojson"\nkind = "thistle"\ndate = 2025-06-20\nradius_ft = 50\n'


def test_two_files_of_patches_are_one_layer(place, capsys):
    sources = f'[[sources.patches]]\n{OLD}\n[[sources.patches]]\npath = "new.geojson"\n'
    assert run(place, sources, capsys)[0] == 0
    package = place / "out/small_place_2027/small_place.gpkg"
    rows = pyogrio.read_dataframe(package, layer="patch_ground", read_geometry=False)
    told = list(zip(rows["unit_id"], rows["kind"], rows["date"].dt.year, strict=True))
    assert told == [
        ("A", "thistle", 2025),
        ("A", "thistle", 2026),
        ("B", "cedar", 2026),
        ("B", "thistle", 2025),
    ]
    # One and a half circles of 50 ft in A: the second point stands on the line to B.
    circle_ac = 3.14159265 * 50**2 / 43560
    areas = rows.set_index(["unit_id", "kind"])["area_ac"]
    assert areas["A", "thistle"].iloc[0] == pytest.approx(1.5 * circle_ac, rel=1e-3)
    assert areas["B", "thistle"].item() == pytest.approx(0.5 * circle_ac, rel=1e-3)
    assert rows["water_ft"].isna().all()
    report = next(place.glob("out/*/report.html")).read_text("utf-8")
    assert "Patches by year" in report
    assert 'data-layer="patch_ground"' in report
    assert len(pd.read_excel(next(place.glob("out/*/season.xlsx")), sheet_name="Patches", header=3))


def test_one_file_of_patches_may_stand_without_a_list(place, capsys):
    assert run(place, f"[sources.patches]\n{OLD}", capsys)[0] == 0


def test_point_without_a_radius_and_line_are_refused_in_a_line(place, capsys):
    lines = [shapely.LineString([(0, 0), (9, 9)]), shapely.Point(3, 3)]
    write_map(place / "new.geojson", lines, kind=["x", "x"], date=["2026-06-20"] * 2)
    code, said = run(place, '[sources.patches]\npath = "new.geojson"\n', capsys)
    assert code == 2
    assert "patches 1: lines; expected polygons, or points with a radius" in said
    assert "patches 2: points without a radius; expected radius_ft" in said
    assert not (place / "out").exists() or not list((place / "out").iterdir())
