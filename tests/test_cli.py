"""The commands as a person meets them: exit codes, one clear line, nothing written."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest

from pipeline.cli import main
from pipeline.terminal import acres_lines
from tests.four_forties import (
    PROPERTY,
    SEEDING,
    both,
    more,
    run,
    text,
    write_four_forties,
)
from tests.made_conflicts import WORDS, conflict, grazing, plan_with


@pytest.fixture
def folder(tmp_path):
    write_four_forties(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def made_once(tmp_path_factory):
    """A property with its finished run, which is only copied."""
    folder = tmp_path_factory.mktemp("made_once")
    write_four_forties(folder)
    assert run(folder, "--quiet") == 0
    return folder


@pytest.fixture
def ran(made_once, tmp_path):
    """A property with its finished run, to go on from."""
    return Path(shutil.copytree(made_once, tmp_path, dirs_exist_ok=True))


def test_run_prints_the_run_folder_and_nothing_else(folder, capsys):
    assert run(folder) == 0
    said = capsys.readouterr()
    assert said.out == f"{folder / 'out' / 'four_forties_2027'}\n"
    assert "4 units, 160.0 acres" in said.err
    assert "no permission to ignite" in said.err
    assert (folder / "out" / "four_forties_2027" / "four_forties.gpkg").exists()
    record = json.loads((folder / "out" / "four_forties_2027" / "run.json").read_text())
    assert record["layers"]["units"] == 4


def test_acres_counted_twice_are_told_apart_from_the_ground():
    told = {"units": 4, "units_ac": 121585.04, "overlap_ac": 26551.0, "ground_ac": 95034.04}
    totals = pd.DataFrame([told | {"no_burn_ac": 34.0, "burnable_ac": 95000.04}])
    assert acres_lines(totals) == [
        "4 units, 121,585.0 acres summed",
        "95,034.0 acres of ground covered, 95,000.0 of them burnable",
        "26,551.0 acres counted twice, where outlines overlap",
    ]
    none_twice = totals.assign(overlap_ac=0.04)
    assert acres_lines(none_twice) == ["4 units, 95,034.0 acres, 95,000.0 of them burnable"]


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
    level_by_severity = {"warning": "warning", "note": "info"}
    told = [entry for entry in map(json.loads, lines) if "severity" in entry]
    assert all(entry["level"] == level_by_severity[entry["severity"]] for entry in told)
    layer = folder / "out" / "four_forties_2027" / "four_forties.gpkg"
    assert len(told) == len(gpd.read_file(layer, layer="findings"))


def test_each_finding_is_said_when_asked_for(folder, capsys):
    again = SEEDING[SEEDING.index("[[seedings]]") :].replace("North", "South")
    both(
        more(SEEDING + again),
        text("mixes.csv", "mix,species,role,bulk_lb_ac\ndry,oats,nurse,30\n"),
    )(folder)
    assert main(["check", str(folder / "four.toml")]) == 0
    assert "warning: 1 unit in several seeding areas: " in capsys.readouterr().err
    assert main(["check", str(folder / "four.toml"), "--all-findings"]) == 0
    assert "is in 2 seeding areas" in capsys.readouterr().err


def test_check_writes_nothing(folder, capsys):
    before = sorted(folder.rglob("*"))
    assert main(["check", str(folder / "four.toml")]) == 0
    assert sorted(folder.rglob("*")) == before
    assert "units.geojson, 4 of 4 rows used" in capsys.readouterr().err


def test_python_m_pipeline_is_the_same_program(folder):
    command = [sys.executable, "-m", "pipeline", "check", str(folder / "four.toml"), "--quiet"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_what_is_printed_is_utf_8_whatever_the_system_speaks(folder):
    environment = {**os.environ, "PYTHONUTF8": "0", "PYTHONIOENCODING": "cp1252"}
    command = [sys.executable, "-m", "pipeline", "start", str(folder)]
    done = subprocess.run(command, capture_output=True, check=False, env=environment)
    assert done.returncode == 0
    assert "…" in done.stdout.decode("utf-8")


@pytest.mark.parametrize("topic", ["steps", "settings", "layers", "schema"])
def test_describe_prints_the_reference(topic, capsys):
    assert main(["describe", topic]) == 0
    assert len(capsys.readouterr().out) > 500


def test_describe_finds_a_word_and_tells_one_that_nothing_has(capsys):
    assert main(["describe", "mow", "width"]) == 0
    assert capsys.readouterr().out.startswith("[mowing]: mow_width_ft\n")
    assert main(["describe", "nodata_is_clear"]) == 0
    assert capsys.readouterr().out.startswith("[sources.scenes.mask]: nodata_is_clear\n")
    assert main(["describe", "zebra"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1


BAG = """
[sources.seed_bags]
path = "bags.csv"
"""


WITHOUT_A_LOT = {
    "sown from a pre-mixed bag": both(
        more(BAG + SEEDING + 'bag = "Ready"\n'),
        text(
            "bags.csv",
            "bag,species,purity_pct,germination_pct,dormant_pct\n"
            "Ready,Andropogon gerardii,40,80,5\n",
        ),
    ),
    "cover crop alone": both(
        more(SEEDING), text("mixes.csv", "mix,species,role,bulk_lb_ac\ndry,oats,nurse,30\n")
    ),
}


@pytest.mark.parametrize("kind", WITHOUT_A_LOT)
def test_area_that_no_lot_is_weighed_out_for_gets_all_its_files(kind, folder):
    WITHOUT_A_LOT[kind](folder)
    assert run(folder) == 0
    made = folder / "out/four_forties_2027"
    assert {path.name for path in made.iterdir()} >= {
        "four_forties.gpkg",
        "report.html",
        "packet.pdf",
        "seed_order.csv",
        "seed_order.xlsx",
        "seed_rates.zip",
    }
    assert len(gpd.read_file(made / "four_forties.gpkg", layer="seed_areas")) == 1


def test_strict_counts_warnings_as_failures(folder, monkeypatch):
    from pipeline.core.findings import findings_frame
    from pipeline.core.step import Step

    def warn(units):
        return findings_frame(
            [{"severity": "warning", "source": "test", "message": "Look.", "code": "overlap"}],
            units.crs,
        )

    from pipeline import runner, steps

    table = tuple(
        Step(s.writes, warn) if s.writes == "acreage_findings" else s for s in steps.STEPS
    )
    monkeypatch.setattr(runner, "STEPS", table)
    assert run(folder) == 0
    assert run(folder, "--strict") == 1


STOP_LINE = (
    "Stop and ask: burn of block Block: the words of the agency hold from 05-01 to 07-15; "
    "who decides: wildlife agency"
)
EACH_KIND = (conflict(1), grazing(2, "think_again"), grazing(3, "know"))


def test_conflicts_of_the_first_kind_are_told_before_all_else(folder, monkeypatch, capsys):
    plan_with(monkeypatch, *EACH_KIND)
    assert run(folder) == 0
    said = capsys.readouterr().err.splitlines()
    assert said[0] == STOP_LINE
    assert said[1] == "conflicts of what is planned: 1 stop and ask, 1 think again, 1 know"
    assert said[2].startswith("Four Forties")
    assert not [line for line in said if WORDS["think_again"] in line or WORDS["know"] in line]


def test_quiet_run_still_tells_what_to_stop_and_ask_for(folder, monkeypatch, capsys):
    plan_with(monkeypatch, *EACH_KIND)
    assert run(folder, "--quiet") == 0
    assert capsys.readouterr().err.splitlines() == [STOP_LINE]


def test_json_log_carries_every_conflict_with_its_seriousness(folder, monkeypatch, capsys):
    plan_with(monkeypatch, *EACH_KIND)
    assert run(folder, "--log-format", "json") == 0
    entries = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    told = [entry for entry in entries if "seriousness" in entry]
    assert [entry["seriousness"] for entry in told] == ["stop_and_ask", "think_again", "know"]
    assert [entry["level"] for entry in told] == ["critical", "info", "info"]
    assert (told[0]["block"], told[0]["unit_id"]) == ("Block", None)
    assert (told[1]["who_decides"], told[1]["unit_id"]) == ("landowner", "U1")


@pytest.mark.parametrize(
    ("conflicts", "code"),
    [((), 0), (EACH_KIND[1:], 0), (EACH_KIND, 4)],
    ids=["no conflict", "others only", "one to stop and ask for"],
)
def test_strict_has_an_exit_code_of_its_own_for_stop_and_ask(conflicts, code, folder, monkeypatch):
    plan_with(monkeypatch, *conflicts)
    assert run(folder, "--strict") == code
    package = folder / "out/four_forties_2027/four_forties.gpkg"
    assert package.exists()
    assert main(["render", str(package), "--out", str(folder / "again"), "--strict"]) == code
    assert main(["render", str(package), "--out", str(folder / "again")]) == 0


def test_line_breaks_of_a_conflict_stay_in_its_line(folder, monkeypatch, capsys):
    plan_with(monkeypatch, conflict(1, block="No\nrth"))
    assert run(folder, "--quiet") == 0
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_run_without_conflicts_says_nothing_of_them(folder, monkeypatch, capsys):
    plan_with(monkeypatch)
    assert run(folder) == 0
    assert "conflict" not in capsys.readouterr().err


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


def test_same_sources_give_the_same_bytes(ran):
    first = (ran / "out/four_forties_2027/four_forties.gpkg").read_bytes()
    assert run(ran) == 0
    assert (ran / "out/four_forties_2027/four_forties.gpkg").read_bytes() == first


def test_the_language_of_the_computer_changes_no_byte(ran, tmp_path):
    """In Turkish i and I are two letters (SpecialCasing.txt of the Unicode standard, tr).

    Where the system has no tools to make that language, its plainest one stands in.
    """
    languages = tmp_path / "languages"
    languages.mkdir()
    subprocess.run(
        ["localedef", "-i", "tr_TR", "-f", "UTF-8", languages / "tr_TR.UTF-8"], check=True
    )
    package = ran / "out/four_forties_2027/four_forties.gpkg"
    first = package.read_bytes()
    command = [sys.executable, "-m", "pipeline", "run", str(ran / "four.toml"), "--quiet"]
    place = {**os.environ, "LOCPATH": str(languages), "LC_ALL": "tr_TR.UTF-8"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=place)
    assert (done.returncode, done.stderr) == (0, "")
    assert package.read_bytes() == first


def test_layers_open_with_three_readers(ran):
    import fiona
    import pyogrio

    path = ran / "out/four_forties_2027/four_forties.gpkg"
    with fiona.open(path, layer="units") as source:
        assert len(source) == 4
    assert pyogrio.read_info(path, layer="units")["features"] == 4
    units_layer = gpd.read_file(path, layer="units")
    assert units_layer["gross_ac"].sum() == pytest.approx(160, rel=1e-5)
    assert isinstance(gpd.read_file(path, layer="settings"), pd.DataFrame)


def test_render_makes_the_same_files_again_from_the_geopackage(sample_run, tmp_path, capsys):
    from pipeline.outputs import OUTPUTS, write_outputs

    first = tmp_path / "run" / f"{sample_run.slug}_2027"
    first.mkdir(parents=True)
    # The air photo is no part of a GeoPackage: a packet made again has white maps, and says so.
    frames = {**sample_run.frames, "backdrop": sample_run.frames["backdrop"].iloc[:0]}
    made = write_outputs(replace(sample_run, frames=frames), first, OUTPUTS)
    package = first / f"{sample_run.slug}.gpkg"
    assert main(["render", str(package), "--out", str(tmp_path / "again")]) == 0
    said = capsys.readouterr()
    assert "packet.pdf: without the air photo" in said.err
    folder = Path(said.out.strip())
    assert folder == tmp_path / "again" / f"{sample_run.slug}_2027_rendered"
    again = {p.name for p in folder.iterdir()}
    assert again == {p.name for p in made} - {package.name} | {"run.json"}
    for name in again - {"run.json"}:
        assert (folder / name).read_bytes() == (first / name).read_bytes(), name
    record = json.loads((folder / "run.json").read_text())
    assert {row["file"] for row in record["outputs"]} == again - {"run.json"}


def test_rendering_again_takes_the_place_of_the_former_files_and_keeps_others(ran):
    package = ran / "out/four_forties_2027/four_forties.gpkg"
    assert main(["render", str(package)]) == 0
    folder = ran / "out/four_forties_2027_rendered"
    first = told(folder)
    (folder / "notes.txt").write_text("mine")
    (folder / "report.html").unlink()
    assert main(["render", str(package)]) == 0
    assert told(folder).keys() == first.keys() | {folder / "notes.txt"}


def told(folder):
    """Every file below a folder with its bytes."""
    return {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("slug", ["/../../victim/z", "..", "", "a/b", "a b", "ä", None, 7])
def test_render_refuses_a_geopackage_whose_slug_is_a_path(slug, ran, capsys):
    victim = ran / "victim" / "z_2027_rendered"
    victim.mkdir(parents=True)
    (victim / "photo.jpg").write_text("mine")
    package = ran / "out" / "four_forties_2027" / "four_forties.gpkg"
    with sqlite3.connect(package) as database:
        (text,) = database.execute("SELECT metadata FROM gpkg_metadata WHERE id = 1").fetchone()
        changed = json.dumps(json.loads(text) | {"slug": slug})
        database.execute("UPDATE gpkg_metadata SET metadata = ? WHERE id = 1", (changed,))
    database.close()
    before = told(ran)
    capsys.readouterr()
    assert main(["render", str(package), "--out", str(ran / "out")]) == 2
    said = capsys.readouterr()
    assert len(said.err.splitlines()) == 1
    assert "letters, digits and underscores" in said.err
    assert told(ran) == before


@pytest.mark.parametrize("text", ["[]", "{}", '{"slug": "a"}', '{"slug": "a", "crs": "b"}', "7"])
def test_render_refuses_a_geopackage_with_the_origin_of_something_else(text, ran, capsys):
    package = ran / "out" / "four_forties_2027" / "four_forties.gpkg"
    with sqlite3.connect(package) as database:
        database.execute("UPDATE gpkg_metadata SET metadata = ? WHERE id = 1", (text,))
    database.close()
    capsys.readouterr()
    assert main(["render", str(package)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_rendering_into_the_folder_of_the_geopackage_itself_is_refused(ran, capsys):
    package = ran / "out" / "four_forties_2027" / "four_forties.gpkg"
    assert main(["render", str(package)]) == 0
    moved = ran / "out" / "four_forties_2027_rendered" / "my.gpkg"
    package.rename(moved)
    before = told(ran)
    assert main(["render", str(moved)]) == 2
    assert "which this run reads" in capsys.readouterr().err
    assert told(ran) == before


def test_run_into_a_relative_folder(folder, monkeypatch, capsys):
    (folder / "work").mkdir()
    monkeypatch.chdir(folder / "work")
    for _ in range(2):
        assert main(["run", "../four.toml", "--out", "results"]) == 0
        result = Path("results") / "four_forties_2027"
        assert capsys.readouterr().out == f"{result}\n"
        assert (folder / "work" / result / "run.json").exists()
    assert main(["render", str(result / "four_forties.gpkg"), "--out", "again"]) == 0
    assert (folder / "work" / "again" / "four_forties_2027_rendered" / "report.html").exists()


def no_computing(monkeypatch):
    from pipeline import runner

    monkeypatch.setattr(runner, "compute_layers", pytest.fail)


@pytest.mark.parametrize("moved", ["units.geojson", "four.toml"])
def test_run_that_would_replace_its_own_sources_is_refused(moved, folder, monkeypatch, capsys):
    no_computing(monkeypatch)
    home = folder / "four_forties_2027"
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
        text = PROPERTY.replace('path = "', 'path = "four_forties_2027/')
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
    home = folder / "four_forties_2027"
    home.mkdir()
    before = told(folder)
    assert run(folder, "--out", str(folder), "--allow", str(home)) == 2
    assert "which this run reads" in capsys.readouterr().err
    assert told(folder) == before


def test_folder_of_something_else_is_refused_before_computing(folder, monkeypatch, capsys):
    no_computing(monkeypatch)
    home = folder / "out" / "four_forties_2027"
    home.mkdir(parents=True)
    (home / "photo.jpg").write_text("mine")
    before = told(folder)
    assert run(folder) == 2
    assert "run.json" in capsys.readouterr().err
    assert told(folder) == before


def test_next_run_takes_the_place_of_the_same_season_only(ran, capsys):
    first = ran / "out" / "four_forties_2027"
    (first / "photo.jpg").write_text("mine")
    assert run(ran) == 0
    assert (first / "photo.jpg").read_text() == "mine"
    assert "photo.jpg" in capsys.readouterr().err
    before = told(first)
    (ran / "four.toml").write_text(PROPERTY.replace("2027", "2028"))
    assert run(ran) == 0
    assert told(first) == before
    assert (ran / "out" / "four_forties_2028" / "four_forties.gpkg").exists()


@pytest.mark.parametrize(
    ("file", "name", "word"),
    [("four.toml", "four forties", '"Four Forties"'), ("east.toml", "Four Forties", "four.toml")],
    ids=["name that gives the same folder", "same name from another property file"],
)
def test_run_of_another_property_is_never_replaced(file, name, word, ran, capsys):
    before = told(ran / "out")
    (ran / file).write_text(PROPERTY.replace("Four Forties", name))
    assert main(["run", str(ran / file)]) == 2
    said = capsys.readouterr().err.splitlines()[-1]
    assert word in said
    assert "--out" in said
    assert told(ran / "out") == before


def test_render_of_another_file_is_refused(folder, capsys):
    assert main(["render", str(folder / "units.geojson")]) == 2
    assert "GeoPackage" in capsys.readouterr().err


def test_what_is_written_is_told_though_standard_output_is_full(folder):
    command = [sys.executable, "-m", "pipeline", "run", str(folder / "four.toml")]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    written = folder / "out" / "four_forties_2027"
    assert (written / "run.json").exists()
    assert "cannot be written to (No space left on device)" in done.stderr
    assert f"the run is written, in {written}" in done.stderr
