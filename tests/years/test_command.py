"""``swardline years`` as a person meets it: which folders, what fails, what is written where."""

import json
import shutil
import sqlite3
import zipfile
from contextlib import closing

import pyogrio
import pytest

from pipeline.cli import main
from tests.made_runs import seal, tree
from tests.write.test_schema import VERSIONS
from tests.years.made_years import computed, write_geopackage, write_season

FILES = {"years.json", "years.gpkg", "years.csv", "years.html"}


@pytest.fixture
def two(ten_seasons, tmp_path):
    """The GeoPackages of two seasons, in a folder of their own."""
    for season in (2028, 2029):
        shutil.copy(ten_seasons / f"four_{season}.gpkg", tmp_path)
    return tmp_path


def seasons(folder):
    rows = json.loads((folder / "years.json").read_text())["seasons"]
    return [(row["season"], row["state"]) for row in rows]


def errors(said):
    return [line for line in said.err.splitlines() if line.startswith("error: ")]


def tell_schema(package, value):
    with closing(sqlite3.connect(package)) as database, database:
        database.execute(
            "UPDATE gpkg_metadata SET metadata = json_set(metadata, '$.schema', ?)", (value,)
        )


def test_only_the_folder_is_a_result_and_the_files_stand_beside_the_runs(two, capsys):
    assert main(["years", str(two)]) == 0
    said = capsys.readouterr()
    assert said.out == f"{two}\n"
    assert {path.name for path in two.iterdir()} > FILES
    assert "no permission to ignite" in said.err
    assert "2028     40.0         0.0       40.0" in said.err


def test_bad_file_costs_itself_alone_and_is_told_in_one_line(two, capsys):
    (two / "broken.gpkg").write_text("no database")
    assert main(["years", str(two), "--quiet"]) == 1
    (line,) = errors(capsys.readouterr())
    assert "broken.gpkg: cannot be read as one" in line
    assert seasons(two) == [(2028, "read"), (2029, "read"), (None, "failed")]


def test_file_of_a_newer_schema_is_refused_in_one_line(two, capsys):
    tell_schema(two / "four_2029.gpkg", 99)
    assert main(["years", str(two), "--quiet"]) == 1
    (line,) = errors(capsys.readouterr())
    assert line.startswith(f"error: failed: {two / 'four_2029.gpkg'}: ")
    assert "of schema 99, written by a newer version" in line
    assert seasons(two) == [(2028, "read"), (None, "failed")]


def test_where_nothing_can_be_read_nothing_is_written(two, capsys):
    for season in (2028, 2029):
        tell_schema(two / f"four_{season}.gpkg", 99)
    before = tree(two)
    assert main(["years", str(two), "--quiet"]) == 3
    assert len(errors(capsys.readouterr())) == 2
    assert tree(two) == before


def test_same_runs_give_the_same_bytes(two):
    for out in ("one", "other"):
        assert main(["years", str(two), "--quiet", "--out", str(two / out)]) == 0
    assert tree(two / "one") == tree(two / "other")


def test_season_that_was_run_twice_counts_once(two, capsys):
    (two / "again").mkdir()
    shutil.copy(two / "four_2029.gpkg", two / "again" / "other.gpkg")
    assert main(["years", str(two), str(two / "again"), "--quiet"]) == 0
    assert seasons(two) == [(2028, "read"), (2029, "read"), (2029, "left_out")]
    assert not errors(capsys.readouterr())


def test_season_without_a_run_is_told(ten_seasons, tmp_path):
    for season in (2027, 2030):
        shutil.copy(ten_seasons / f"four_{season}.gpkg", tmp_path)
    assert main(["years", str(tmp_path), "--quiet"]) == 0
    notes = pyogrio.read_dataframe(tmp_path / "years.gpkg", layer="notes")
    assert notes["code"].tolist() == ["season_missing"]
    assert "2028 to 2029" in notes["note"][0]
    assert main(["years", str(tmp_path), "--quiet", "--strict"]) == 1


def test_of_a_folder_of_run_folders_what_the_runs_wrote_is_read(two, capsys):
    """Not the copy for the field beside it, not a file of the user's, not what was rendered."""
    for season in (2028, 2029):
        (two / f"four_forties_{season}").mkdir()
        shutil.move(two / f"four_{season}.gpkg", two / f"four_forties_{season}" / "four.gpkg")
        (two / f"four_forties_{season}" / "field_plan.gpkg").write_text("for the field")
        seal(two / f"four_forties_{season}")
    (two / "four_forties_2029" / "mine.gpkg").write_text("the user's")
    (two / "four_forties_2029_rendered").mkdir()
    (two / "four_forties_2029_rendered" / "report.html").write_text("rendered")
    seal(two / "four_forties_2029_rendered")
    assert main(["years", str(two), "--quiet"]) == 0
    assert seasons(two) == [(2028, "read"), (2029, "read")]
    assert capsys.readouterr().out == f"{two}\n"
    assert main(["years", str(two / "four_forties_2029"), "--quiet"]) == 0
    assert seasons(two) == [(2029, "read")]


@pytest.mark.parametrize("name", sorted(FILES))
def test_file_of_that_name_that_no_run_wrote_stays(name, two, capsys):
    (two / "out").mkdir()
    (two / "out" / name).write_text('{"mine": 1}')
    assert main(["years", str(two), "--out", str(two / "out")]) == 2
    assert tree(two / "out") == {name: b'{"mine": 1}'}
    assert len(errors(capsys.readouterr())) == 1


@pytest.mark.parametrize("name", ["absent", "."])
def test_path_without_a_run_is_a_fault_of_usage(name, tmp_path, capsys):
    assert main(["years", str(tmp_path / name)]) == 2
    (line,) = errors(capsys.readouterr())
    assert "expected a run folder" in line
    assert list(tmp_path.iterdir()) == []


def write_elsewhere(folder, tmp_path_factory, season):
    """A run of a season of another property into a folder."""
    other = tmp_path_factory.mktemp("other")
    path = write_season(other / "sources", season)
    path.write_text(path.read_text().replace("Four Forties", "Elsewhere"))
    units = path.parent / "units.geojson"
    told = json.loads(units.read_text())
    for feature in told["features"]:
        (ring,) = feature["geometry"]["coordinates"]
        feature["geometry"]["coordinates"] = [[[x + 0.1, y] for x, y in ring]]
    units.write_text(json.dumps(told))
    write_geopackage(computed(path), folder / "elsewhere.gpkg")


def test_run_of_another_property_is_refused_by_name(two, tmp_path_factory, capsys):
    write_elsewhere(two, tmp_path_factory, 2030)
    assert main(["years", str(two)]) == 2
    said = errors(capsys.readouterr())
    assert len(said) == 2  # the two that lie elsewhere than the newest one
    assert 'is of "Four Forties", on other ground than "Elsewhere"' in said[0]
    assert not (two / "years.gpkg").exists()


def test_run_of_another_property_is_refused_in_a_season_that_has_a_run(
    two, tmp_path_factory, capsys
):
    write_elsewhere(two, tmp_path_factory, 2029)
    assert main(["years", str(two)]) == 2
    said = errors(capsys.readouterr())
    assert said
    assert all("on other ground than" in line for line in said)


def test_file_of_the_first_version_is_joined_as_far_as_it_tells(tmp_path):
    """The stored GeoPackage of version 0.1.0: see tests/write/test_schema.py."""
    with zipfile.ZipFile(VERSIONS / "small_place_0.1.0.zip") as stored:
        stored.extractall(tmp_path)
    assert main(["years", str(tmp_path), "--quiet"]) == 0
    assert seasons(tmp_path) == [(2026, "read_in_part")]
    rows = pyogrio.read_dataframe(tmp_path / "years.gpkg", layer="outcomes")
    assert rows["work_id"].tolist() == ["burn:West", "seed:East"]
    assert set(rows["outcome"]) == {"untold"}
    assert rows["planned_pls_lb"].tolist()[1] == pytest.approx(237.85, abs=0.01)
    years = pyogrio.read_dataframe(tmp_path / "years.gpkg", layer="unit_years")
    told = years[years["line"].eq("B") & years["year"].eq(2025)].iloc[0]
    assert (told["grazed_days"], told["fuel_lb_ac"]) == (45, 3000)
    notes = pyogrio.read_dataframe(tmp_path / "years.gpkg", layer="notes")
    assert notes["code"].tolist() == ["layers_lacking"]
    assert "record_book" in notes["about"][0]
