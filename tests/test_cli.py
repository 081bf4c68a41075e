"""The commands as a person meets them: exit codes, one clear line, nothing written."""

import json
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio
from shapely import LineString, Point, box

from pipeline.cli import main

PROPERTY = """
[property]
name = "Four Forties"
season = 2027

[sources.units]
path = "units.geojson"
columns = { unit_id = "UNIT" }
"""
SEEDING = """
[sources.mixes]
path = "mixes.csv"
[sources.species]
path = "species.csv"

[[seedings]]
area = "North"
units = ["A"]
mix = "dry"
method = "drill"
"""
SCENE = """
[[sources.scenes]]
path = "scene.tif"
date = 2026-07-20
kind = "ndvi"
"""


def forties():
    """Four squares of forty acres that share their sides."""
    side = 402.336
    shapes = [box(x, y, x + side, y + side) for x in (0, side) for y in (0, side)]
    frame = gpd.GeoDataFrame({"UNIT": list("ABCD")}, geometry=shapes)
    return frame.set_crs("+proj=laea +lat_0=40 +lon_0=-96 +datum=WGS84 +units=m")


@pytest.fixture
def folder(tmp_path):
    forties().to_crs(4326).to_file(tmp_path / "units.geojson")
    (tmp_path / "four.toml").write_text(PROPERTY)
    (tmp_path / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,Andropogon gerardii,6\n")
    (tmp_path / "species.csv").write_text(
        "species,common_name,seeds_per_lb\nAndropogon gerardii,big bluestem,144240\n"
    )
    return tmp_path


def run(folder, *words):
    return main(["run", str(folder / "four.toml"), *words])


def test_run_prints_the_run_folder_and_nothing_else(folder, capsys):
    assert run(folder) == 0
    said = capsys.readouterr()
    assert said.out == f"{folder / 'out' / 'four_forties'}\n"
    assert "4 units, 160.0 acres" in said.err
    assert "no permission to ignite" in said.err
    assert (folder / "out" / "four_forties" / "four_forties.gpkg").exists()
    record = json.loads((folder / "out" / "four_forties" / "run.json").read_text())
    assert record["layers"]["units"] == 4


def test_quiet_says_nothing_but_the_result(folder, capsys):
    assert run(folder, "--quiet", "--out", str(folder / "elsewhere")) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert Path(said.out.strip()).parent == folder / "elsewhere"


def test_json_log_is_one_object_a_line(folder, capsys):
    assert run(folder, "--log-format", "json") == 0
    lines = capsys.readouterr().err.splitlines()
    assert lines
    assert all({"level", "message"} <= set(json.loads(line)) for line in lines)


def test_check_writes_nothing(folder, capsys):
    before = sorted(folder.rglob("*"))
    assert main(["check", str(folder / "four.toml")]) == 0
    assert sorted(folder.rglob("*")) == before
    assert "units.geojson, 4 of 4 rows used" in capsys.readouterr().err


def test_python_m_pipeline_is_the_same_program(folder):
    command = [sys.executable, "-m", "pipeline", "check", str(folder / "four.toml"), "--quiet"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


@pytest.mark.parametrize("topic", ["steps", "settings", "layers", "schema"])
def test_describe_prints_the_reference(topic, capsys):
    assert main(["describe", topic]) == 0
    assert len(capsys.readouterr().out) > 500


def text(name, content):
    return lambda folder: (folder / name).write_text(content)


def more(content):
    return lambda folder: (folder / "four.toml").write_text(PROPERTY + content)


def units(change):
    def write(folder):
        frame = change(forties())
        (folder / "units.geojson").unlink()
        frame.to_file(folder / "units.geojson")

    return write


def both(*changes):
    def write(folder):
        for change in changes:
            change(folder)

    return write


PROFILE = {
    "driver": "GTiff",
    "width": 10,
    "height": 10,
    "count": 1,
    "dtype": "float32",
    "crs": "EPSG:32614",
    "transform": rasterio.Affine(10, 0, 7e5, 0, -10, 4.43e6),
}


def raster(**profile):
    def write(folder):
        with rasterio.open(folder / "scene.tif", "w", **(PROFILE | profile)) as made:
            made.write(np.full((10, 10), 0.5, "float32"), 1)

    return write


BAD = {
    "no such property file": (lambda f: (f / "four.toml").unlink(), r"four\.toml.*"),
    "not TOML": (text("four.toml", "[property\nname ="), r"four\.toml:1"),
    "misspelt setting": (more("[acreage]\ntiny_prt_ac = 1\n"), r"four\.toml:10.*tiny_part_ac"),
    "value out of bounds": (more("[acreage]\ntiny_part_ac = -1\n"), r"four\.toml:10.*tiny_part_ac"),
    "passes that lie on each other": (
        more('[[burns]]\nblock="1"\nunits=["A"]\n[mowing]\nmower_width_ft=6\noverlap_ft=6\n'),
        r"four\.toml:12.*mowing.*at most half"),
    "no units source": (text("four.toml", '[property]\nname="x"\nseason=2027\n'), "units"),
    "source file missing": (lambda f: (f / "units.geojson").unlink(), r"units\.geojson"),
    "source is not a map": (text("units.geojson", "hello"), r"units\.geojson"),
    "path outside the folder": (
        more('[sources.exclusions]\npath = "../../elsewhere.gpkg"\n'), "elsewhere"),
    "network path": (
        more('[sources.exclusions]\npath = "/vsicurl/http://example.org/a.gpkg"\n'), "vsicurl"),
    "id column missing": (units(lambda g: g.rename(columns={"UNIT": "FIELD"})), "UNIT"),
    "id stands twice": (units(lambda g: g.assign(UNIT=["A", "A", "C", "D"])), r"\bA\b"),
    "id empty": (units(lambda g: g.assign(UNIT=["A", None, "C", "D"])), "2"),
    "points for units": (units(lambda g: g.set_geometry([Point(0, 0)] * 4)), "Point"),
    "lines for units": (
        units(lambda g: g.set_geometry([LineString([(0, 0), (1, 1)])] * 4)), "LineString"),
    "coordinates outside the earth": (
        units(lambda g: g.to_crs(32614).set_crs(4326, allow_override=True)), "180"),
    "burn of an unknown unit": (more('[[burns]]\nblock="1"\nunits=["A","Z"]\n'), r"\bZ\b"),
    "unit in two blocks": (
        more('[[burns]]\nblock="1"\nunits=["A"]\n[[burns]]\nblock="2"\nunits=["A"]\n'), r"\bA\b"),
    "mix not in the table": (more(SEEDING.replace('"dry"', '"wet"')), "wet"),
    "cell is not a number": (
        both(more(SEEDING), text("mixes.csv", "mix,species,pls_lb_ac\ndry,big bluestem,six\n")),
        r"mixes\.csv.*C2.*six"),
    "needed column missing": (
        both(more(SEEDING), text("mixes.csv", "mix,pls_lb_ac\ndry,6\n")), r"mixes\.csv.*species"),
    "scene missing": (more(SCENE), r"scene\.tif"),
    "scene without a CRS": (both(more(SCENE), raster(crs=None)), r"scene\.tif"),
    "scene rotated": (
        both(more(SCENE), raster(transform=rasterio.Affine(10, 3, 7e5, 3, -10, 4.43e6))),
        r"scene\.tif"),
}  # fmt: skip


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


BAG = """
[sources.seed_bags]
path = "bags.csv"
"""
WITHOUT_A_LOT = {
    "sown from a pre-mixed bag": both(
        more(BAG + SEEDING + 'bag = "Ready"\n'),
        text("bags.csv", "bag,species,purity_pct,germination_pct,dormant_pct\n"
             "Ready,Andropogon gerardii,40,80,5\n")),
    "cover crop alone": both(
        more(SEEDING), text("mixes.csv", "mix,species,role,bulk_lb_ac\ndry,oats,nurse,30\n")),
}  # fmt: skip


@pytest.mark.parametrize("kind", WITHOUT_A_LOT)
def test_area_that_no_lot_is_weighed_out_for_gets_all_its_files(kind, folder):
    WITHOUT_A_LOT[kind](folder)
    assert run(folder) == 0
    made = folder / "out/four_forties"
    assert {path.name for path in made.iterdir()} >= {
        "four_forties.gpkg", "report.html", "packet.pdf", "seed_order.csv", "seed_order.xlsx",
        "seed_rates.zip",
    }  # fmt: skip
    assert len(gpd.read_file(made / "four_forties.gpkg", layer="seed_areas")) == 1


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
    text("log.csv", "unit_id,start,end,kind\nA,2024-04-10,,burn\nA,2025-04-10,2025-04-01,burn\n"
         "E,2025-04-10,,burn\nB,,,mow\n")(folder)  # fmt: skip
    assert main(["check", str(folder / "four.toml")]) == 0
    said = capsys.readouterr().err
    assert "log.csv, 1 of 4 rows used" in said
    for words in ("before it begins", 'unit "E" is not on the map', "the mow has no first day"):
        assert said.count(words) == 1
    assert run(folder, "--quiet") == 0
    made = folder / "out/four_forties/four_forties.gpkg"
    assert list(gpd.read_file(made, layer="history")["burn_dates"].dropna()) == ["2024-04-10"]
    assert run(folder, "--strict") == 1


def test_strict_counts_warnings_as_failures(folder, monkeypatch):
    from pipeline.core.findings import findings_frame
    from pipeline.core.step import Step

    def warn(units):
        return findings_frame(
            [{"severity": "warning", "source": "test", "message": "Look."}], units.crs
        )

    from pipeline import runner, steps

    table = tuple(
        Step(s.writes, warn) if s.writes == "acreage_findings" else s for s in steps.STEPS
    )
    monkeypatch.setattr(runner, "STEPS", table)
    assert run(folder) == 0
    assert run(folder, "--strict") == 1


def test_internal_error_is_told_as_one(folder, monkeypatch, capsys):
    from pipeline import runner

    def fail(*_):
        raise ZeroDivisionError("by hand")

    monkeypatch.setattr(runner, "compute_layers", fail)
    assert run(folder) == 3
    said = capsys.readouterr().err
    assert "internal error" in said
    assert "by hand" in said
    assert "Traceback" not in said
    assert not (folder / "out").exists() or not list((folder / "out").iterdir())


def test_interruption_has_its_own_exit_code(folder, monkeypatch):
    from pipeline import runner

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(runner, "compute_layers", stop)
    assert run(folder) == 130


def test_same_sources_give_the_same_bytes(folder):
    assert run(folder) == 0
    first = (folder / "out/four_forties/four_forties.gpkg").read_bytes()
    assert run(folder) == 0
    assert (folder / "out/four_forties/four_forties.gpkg").read_bytes() == first


def test_layers_open_with_three_readers(folder):
    import fiona
    import pyogrio

    assert run(folder) == 0
    path = folder / "out/four_forties/four_forties.gpkg"
    with fiona.open(path, layer="units") as source:
        assert len(source) == 4
    assert pyogrio.read_info(path, layer="units")["features"] == 4
    units_layer = gpd.read_file(path, layer="units")
    assert units_layer["gross_ac"].sum() == pytest.approx(160, rel=1e-5)
    assert isinstance(gpd.read_file(path, layer="settings"), pd.DataFrame)


def test_render_makes_the_same_files_again_from_the_geopackage(sample_run, tmp_path, capsys):
    from pipeline.outputs import OUTPUTS, write_outputs

    first = tmp_path / "run" / sample_run.slug
    first.mkdir(parents=True)
    made = write_outputs(sample_run, first, OUTPUTS)
    package = first / f"{sample_run.slug}.gpkg"
    assert main(["render", str(package), "--out", str(tmp_path / "again")]) == 0
    folder = Path(capsys.readouterr().out.strip())
    assert folder == tmp_path / "again" / f"{sample_run.slug}_rendered"
    again = {p.name for p in folder.iterdir()}
    assert again == {p.name for p in made} - {package.name} | {"run.json"}
    for name in again - {"run.json"}:
        assert (folder / name).read_bytes() == (first / name).read_bytes(), name
    record = json.loads((folder / "run.json").read_text())
    assert {row["file"] for row in record["outputs"]} == again - {"run.json"}
    (folder / "notes.txt").write_text("mine")
    assert main(["render", str(package), "--out", str(tmp_path / "again")]) == 0
    assert {p.name for p in folder.iterdir()} == again | {"notes.txt"}


def told(folder):
    """Every file below a folder with its bytes."""
    return {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("slug", ["/../../victim/z", "..", "", "a/b", "a b", "ä", None, 7])
def test_render_refuses_a_geopackage_whose_slug_is_a_path(slug, folder, capsys):
    assert run(folder) == 0
    victim = folder / "victim" / "z_rendered"
    victim.mkdir(parents=True)
    (victim / "photo.jpg").write_text("mine")
    package = folder / "out" / "four_forties" / "four_forties.gpkg"
    with sqlite3.connect(package) as database:
        (text,) = database.execute("SELECT metadata FROM gpkg_metadata WHERE id = 1").fetchone()
        changed = json.dumps(json.loads(text) | {"slug": slug})
        database.execute("UPDATE gpkg_metadata SET metadata = ? WHERE id = 1", (changed,))
    database.close()
    before = told(folder)
    capsys.readouterr()
    assert main(["render", str(package), "--out", str(folder / "out")]) == 2
    said = capsys.readouterr()
    assert len(said.err.splitlines()) == 1
    assert "letters, digits and underscores" in said.err
    assert told(folder) == before


@pytest.mark.parametrize("text", ["[]", "{}", '{"slug": "a"}', '{"slug": "a", "crs": "b"}', "7"])
def test_render_refuses_a_geopackage_with_the_origin_of_something_else(text, folder, capsys):
    assert run(folder, "--quiet") == 0
    package = folder / "out" / "four_forties" / "four_forties.gpkg"
    with sqlite3.connect(package) as database:
        database.execute("UPDATE gpkg_metadata SET metadata = ? WHERE id = 1", (text,))
    database.close()
    capsys.readouterr()
    assert main(["render", str(package)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_rendering_into_the_folder_of_the_geopackage_itself_is_refused(folder, capsys):
    assert run(folder, "--quiet") == 0
    package = folder / "out" / "four_forties" / "four_forties.gpkg"
    assert main(["render", str(package)]) == 0
    moved = folder / "out" / "four_forties_rendered" / "my.gpkg"
    package.rename(moved)
    before = told(folder)
    assert main(["render", str(moved)]) == 2
    assert "which this run reads" in capsys.readouterr().err
    assert told(folder) == before


def test_run_into_a_relative_folder(folder, monkeypatch, capsys):
    (folder / "work").mkdir()
    monkeypatch.chdir(folder / "work")
    for _ in range(2):
        assert main(["run", "../four.toml", "--out", "results"]) == 0
        result = Path("results") / "four_forties"
        assert capsys.readouterr().out == f"{result}\n"
        assert (folder / "work" / result / "run.json").exists()
    assert main(["render", str(result / "four_forties.gpkg"), "--out", "again"]) == 0
    assert (folder / "work" / "again" / "four_forties_rendered" / "report.html").exists()


def no_computing(monkeypatch):
    from pipeline import runner

    monkeypatch.setattr(runner, "compute_layers", pytest.fail)


@pytest.mark.parametrize("moved", ["units.geojson", "four.toml"])
def test_run_that_would_replace_its_own_sources_is_refused(moved, folder, monkeypatch, capsys):
    no_computing(monkeypatch)
    home = folder / "four_forties"
    home.mkdir()
    (home / "photo.jpg").write_text("mine")
    words = ["--allow", str(folder)]
    if moved == "four.toml":
        (folder / moved).rename(home / moved)
        text = PROPERTY.replace('path = "', 'path = "../')
        (home / moved).write_text(text)
        words += ["--out", str(folder)]
        command = ["run", str(home / moved), *words]
    else:
        (folder / moved).rename(home / moved)
        more("")(folder)
        text = PROPERTY.replace('path = "', 'path = "four_forties/')
        (folder / "four.toml").write_text(text)
        command = ["run", str(folder / "four.toml"), "--out", str(folder)]
    before = told(folder)
    assert main(command) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 1
    assert "which this run reads" in said[0]
    assert told(folder) == before


def test_run_that_would_replace_an_allowed_folder_is_refused(folder, monkeypatch, capsys):
    no_computing(monkeypatch)
    home = folder / "four_forties"
    home.mkdir()
    before = told(folder)
    assert run(folder, "--out", str(folder), "--allow", str(home)) == 2
    assert "which this run reads" in capsys.readouterr().err
    assert told(folder) == before


def test_folder_of_something_else_is_refused_before_computing(folder, monkeypatch, capsys):
    no_computing(monkeypatch)
    home = folder / "out" / "four_forties"
    home.mkdir(parents=True)
    (home / "photo.jpg").write_text("mine")
    before = told(folder)
    assert run(folder) == 2
    assert "run.json" in capsys.readouterr().err
    assert told(folder) == before


def test_next_season_takes_the_place_of_the_former_and_another_property_does_not(folder, capsys):
    assert run(folder) == 0
    photo = folder / "out" / "four_forties" / "photo.jpg"
    photo.write_text("mine")
    (folder / "four.toml").write_text(PROPERTY.replace("2027", "2028"))
    assert run(folder) == 0
    assert photo.read_text() == "mine"
    assert "photo.jpg" in capsys.readouterr().err
    before = told(folder / "out")
    (folder / "four.toml").write_text(PROPERTY.replace("Four Forties", "four forties"))
    assert run(folder) == 2
    assert '"Four Forties"' in capsys.readouterr().err
    assert told(folder / "out") == before


def test_render_of_another_file_is_refused(folder, capsys):
    assert main(["render", str(folder / "units.geojson")]) == 2
    assert "GeoPackage" in capsys.readouterr().err


def test_start_prints_a_property_file_that_can_be_read(capsys):
    import tomllib

    sample = Path(__file__).parent.parent / "sample_geo"
    before = sorted(sample.iterdir())
    assert main(["start", str(sample)]) == 0
    told = tomllib.loads(capsys.readouterr().out)["sources"]
    assert sorted(sample.iterdir()) == before, "nothing is written"
    assert told["units"] == {"path": "units.shp", "columns": {"unit_id": "UNIT"}}
    assert {b["path"]: b["kind"] for b in told["breaks"]}["creek.kml"] == "creek"
    assert {s["kind"] for s in told["scenes"]} == {"ndvi", "reflectance"}
    assert {"mixes", "seed_lots", "treatments", "clips", "exclusions"} <= set(told)


def test_start_of_no_folder_is_refused(tmp_path, capsys):
    assert main(["start", str(tmp_path / "nowhere")]) == 2
    assert "no such folder" in capsys.readouterr().err
