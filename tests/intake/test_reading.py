"""What the commands say of sources that cannot be used: one clear line each, nothing written."""

import re
from pathlib import Path

import geopandas as gpd
import pytest
import rasterio
from shapely import LineString, Point

from pipeline.cli import main
from tests.four_forties import (
    SCENE,
    SEEDING,
    both,
    more,
    raster,
    run,
    text,
    units,
    write_four_forties,
)
from tests.hostile import ground


@pytest.fixture
def folder(tmp_path):
    write_four_forties(tmp_path)
    return tmp_path


BAD = {
    "no such property file": (lambda f: (f / "four.toml").unlink(), r"four\.toml.*"),
    "not TOML": (text("four.toml", "[property\nname ="), r"four\.toml:1"),
    "misspelt setting": (more("[acreage]\ntiny_prt_ac = 1\n"), r"four\.toml:10.*tiny_part_ac"),
    "value out of bounds": (more("[acreage]\ntiny_part_ac = -1\n"), r"four\.toml:10.*tiny_part_ac"),
    "passes that lie on each other": (
        more('[[burns]]\nblock="1"\nunits=["A"]\n[mowing]\nmower_width_ft=6\noverlap_ft=6\n'),
        r"four\.toml:12.*mowing.*at most half",
    ),
    "no units source": (text("four.toml", '[property]\nname="x"\nseason=2027\n'), "units"),
    "source file missing": (lambda f: (f / "units.geojson").unlink(), r"units\.geojson"),
    "source is not a map": (text("units.geojson", "hello"), r"units\.geojson"),
    "path outside the folder": (
        more('[sources.exclusions]\npath = "../../elsewhere.gpkg"\n'),
        "elsewhere",
    ),
    "network path": (
        more('[sources.exclusions]\npath = "/vsicurl/http://example.org/a.gpkg"\n'),
        "vsicurl",
    ),
    "id column missing": (units(lambda g: g.rename(columns={"UNIT": "FIELD"})), "UNIT"),
    "id stands twice": (units(lambda g: g.assign(UNIT=["A", "A", "C", "D"])), r"\bA\b"),
    "id empty": (units(lambda g: g.assign(UNIT=["A", None, "C", "D"])), "2"),
    "points for units": (units(lambda g: g.set_geometry([Point(0, 0)] * 4)), "Point"),
    "lines for units": (
        units(lambda g: g.set_geometry([LineString([(0, 0), (1, 1)])] * 4)),
        "LineString",
    ),
    "coordinates outside the earth": (
        units(lambda g: g.to_crs(32614).set_crs(4326, allow_override=True)),
        "180",
    ),
    "burn of an unknown unit": (more('[[burns]]\nblock="1"\nunits=["A","Z"]\n'), r"\bZ\b"),
    "unit in two blocks": (
        more('[[burns]]\nblock="1"\nunits=["A"]\n[[burns]]\nblock="2"\nunits=["A"]\n'),
        r"\bA\b",
    ),
    "mix not in the table": (more(SEEDING.replace('"dry"', '"wet"')), "wet"),
    "cell is not a number": (
        both(more(SEEDING), text("mixes.csv", "mix,species,pls_lb_ac\ndry,big bluestem,six\n")),
        r"mixes\.csv.*C2.*six",
    ),
    "needed column missing": (
        both(more(SEEDING), text("mixes.csv", "mix,pls_lb_ac\ndry,6\n")),
        r"mixes\.csv.*species",
    ),
    "scene missing": (more(SCENE), r"scene\.tif"),
    "scene without a CRS": (both(more(SCENE), raster(crs=None)), r"scene\.tif"),
    "scene rotated": (
        both(more(SCENE), raster(transform=rasterio.Affine(10, 3, 7e5, 3, -10, 4.43e6))),
        r"scene\.tif",
    ),
}


@pytest.mark.parametrize("kind", BAD)
def test_bad_input_gets_one_clear_line_and_nothing_is_written(kind, folder, capsys):
    spoil, expected = BAD[kind]
    spoil(folder)
    before = sorted(folder.rglob("*"))
    assert run(folder) == 2
    said = capsys.readouterr()
    assert said.out == ""
    lines = said.err.splitlines()
    assert all(line.startswith("error: ") for line in lines), said.err
    assert any(re.search(expected, line) for line in lines), said.err
    assert all(re.search(r": .*; expected .*; ", line) for line in lines), said.err
    assert not re.search(r"Traceback|pydantic|errors\.|site-packages", said.err)
    assert sorted(folder.rglob("*")) == before


def test_all_faults_of_all_sources_are_told_together(folder, capsys):
    more(SEEDING + SCENE)(folder)
    text("mixes.csv", "mix,species,pls_lb_ac\ndry,big bluestem,six\ndry,,5\n")(folder)
    assert run(folder) == 2
    said = capsys.readouterr().err
    assert "C2" in said
    assert "B3" in said
    assert "scene.tif" in said


def test_check_tells_the_rows_of_the_log_that_no_figure_rests_on(folder, capsys):
    more('[sources.treatments]\npath = "log.csv"\n')(folder)
    text(
        "log.csv",
        "unit_id,start,end,kind\nA,2024-04-10,,burn\nA,2025-04-10,2025-04-01,burn\n"
        "E,2025-04-10,,burn\nB,,,mow\n",
    )(folder)
    assert main(["check", str(folder / "four.toml"), "--all-findings"]) == 0
    said = capsys.readouterr().err
    assert "log.csv, 1 of 4 rows used" in said
    for words in ("before it begins", 'unit "E" is not on the map', "the mow has no first day"):
        assert said.count(words) == 1
    assert run(folder, "--quiet") == 0
    made = folder / "out/four_forties_2027/four_forties.gpkg"
    assert list(gpd.read_file(made, layer="history")["burn_dates"].dropna()) == ["2024-04-10"]
    assert run(folder, "--strict") == 1


@pytest.mark.parametrize("kind", ["shp", "gpkg", "csv", "tif"])
def test_a_source_is_read_however_deep_it_lies(kind, tmp_path):
    """A band of a satellite picture as it is unpacked has a path of 157 letters or more."""
    name = {"csv": "lots.csv", "tif": "picture.tif"}.get(kind, f"map.{kind}")
    inner = Path(*["d" * 99] * 9, "d" * (99 - len(name)))
    (tmp_path / inner).mkdir(parents=True)
    path = inner / name
    assert len(str(path)) == 1000
    sources = {
        "csv": ground.UNITS + f'seed_lots = {{ path = "{path}" }}\n',
        "tif": ground.UNITS + ground.SCENE.replace("picture.tif", str(path)),
    }.get(kind, ground.UNITS.replace("units.geojson", str(path)))
    ground.write_property(tmp_path, sources)
    if kind == "csv":
        (tmp_path / path).write_text("lot,species,purity_pct,germination_pct\nL1,oats,90,80\n")
    elif kind == "tif":
        ground.write_picture(tmp_path / "near.tif")
        (tmp_path / "near.tif").rename(tmp_path / path)
    else:
        (tmp_path / "near").mkdir()
        driver = {"shp": "ESRI Shapefile", "gpkg": "GPKG"}[kind]
        ground.write_map(tmp_path / "near" / name, ground.squares(), driver)
        for part in (tmp_path / "near").iterdir():
            part.rename(tmp_path / inner / part.name)
    assert main(["check", str(tmp_path / "small.toml")]) == 0


def test_start_prints_a_property_file_that_can_be_read(capsys):
    import tomllib

    sample = Path(__file__).parent.parent.parent / "sample_geo"
    before = sorted(sample.iterdir())
    assert main(["start", str(sample)]) == 0
    told = tomllib.loads(capsys.readouterr().out)["sources"]
    assert sorted(sample.iterdir()) == before, "nothing is written"
    assert told["units"]["path"] == "units.shp"
    assert told["units"]["columns"]["unit_id"] == "UNIT"
    assert {b["path"]: b.get("kind") for b in told["breaks"]}["creek.kml"] == "creek"
    assert {s["kind"] for s in told["scenes"]} == {"ndvi", "reflectance"}
    assert {"mixes", "seed_lots", "treatments", "clips", "exclusions"} <= set(told)


def test_start_of_no_folder_is_refused(tmp_path, capsys):
    assert main(["start", str(tmp_path / "nowhere")]) == 2
    assert "no such folder" in capsys.readouterr().err
