"""The draft for a folder goes through its own check."""

import shutil
import tomllib
from pathlib import Path

import geopandas as gpd
import pyogrio
import pytest
import shapely

from pipeline.cli import main

SAMPLE = Path(__file__).parent.parent / "sample_geo"
LEFT, BOTTOM = -96.7, 40.0


def box(column, row, wide=1, high=1):
    """A rectangle of cells of 0.004 degrees."""
    west, south = LEFT + 0.004 * column, BOTTOM + 0.004 * row
    return shapely.box(west, south, west + 0.004 * wide, south + 0.004 * high)


def write(path, shapes, **columns):
    """A map of shapes and their columns."""
    frame = gpd.GeoDataFrame(columns or {"n": range(len(shapes))}, geometry=shapes, crs=4326)
    pyogrio.write_dataframe(frame, path)


@pytest.fixture
def folder(tmp_path):
    """Two units."""
    write(tmp_path / "units.gpkg", [box(0, 0), box(1, 0)], UNIT=["A", "B"])
    return tmp_path


def draft_of(folder, capsys, *words):
    """What start prints and says."""
    assert main(["start", str(folder), *words]) == 0
    said = capsys.readouterr()
    return said.out, said.err


@pytest.fixture
def bare_sample(tmp_path):
    """The files of the sample without its property file."""
    for path in SAMPLE.iterdir():
        if path.is_file() and path.suffix not in (".toml", ".py", ".png"):
            shutil.copy(path, tmp_path / path.name)
    return tmp_path


def test_sample_files_without_their_property_file_give_a_draft_that_passes(bare_sample, capsys):
    text, said = draft_of(bare_sample, capsys)
    assert "the draft passes check" in said
    sources = tomllib.loads(text)["sources"]
    own = tomllib.loads((SAMPLE / "larkspindle_prairie.toml").read_text())["sources"]
    # The unit of a raster of heights is never guessed, and photos are a folder, not a file.
    assert sources.keys() == own.keys() - {"elevation", "photos"}
    assert sources["units"] == own["units"]
    assert sources["exclusions"] == own["exclusions"]
    assert sources["backdrop"] == own["backdrop"]
    assert {s["path"]: s.get("scale") for s in sources["scenes"]} == {
        s["path"]: s.get("scale") for s in own["scenes"]
    }
    assert {b["path"] for b in sources["breaks"]} == {b["path"] for b in own["breaks"]}
    told = bare_sample / "property.toml"
    told.write_text(text)
    assert main(["check", str(told), "--quiet"]) == 0


FROM_FILES_ALONE = ("burned_shares", "mix_sheet", "own_harvest", "history", "community")
"""Layers of the sample that rest on its files and on no plan, place or day."""

OF_REFERENCES = ("dnbr", "rbr")
"""Held against the reference units, which the sample's own comparison names otherwise."""


def test_draft_of_the_sample_files_runs_unedited_to_the_figures_of_the_sample(
    bare_sample, sample_layers, capsys
):
    draft_of(bare_sample, capsys, "--save")
    assert main(["run", str(bare_sample / "property.toml"), "--quiet"]) == 0
    package = next(p for p in (bare_sample / "out").rglob("*.gpkg") if p.stem != "field_plan")
    frames, _ = sample_layers
    for name in FROM_FILES_ALONE:
        now = pyogrio.read_dataframe(package, layer=name, read_geometry=False)
        assert len(now) == len(frames[name]) > 0, name
        for column in set(frames[name].select_dtypes("number")) - {*OF_REFERENCES}:
            wanted = frames[name][column].astype(float).tolist()
            assert now[column].astype(float).tolist() == pytest.approx(wanted, nan_ok=True), column
    for name, rows in {"season_plan": len(frames["units"]), "lot_quality": 20}.items():
        assert pyogrio.read_info(package, layer=name)["features"] == rows


def test_a_watershed_around_the_units_is_no_break(folder, capsys):
    write(folder / "upper_watershed.gpkg", [box(-9, -9, 20, 20)])
    for name in ("powerline", "contour_lines"):
        line = shapely.LineString([(LEFT, BOTTOM), (LEFT + 0.01, BOTTOM)])
        write(folder / f"{name}.gpkg", [line])
    text, said = draft_of(folder, capsys)
    assert "breaks" not in tomllib.loads(text)["sources"]
    for name in ("upper_watershed", "powerline", "contour_lines"):
        assert f"#   {name}.gpkg: " in text
        assert f"{name}.gpkg" in said


def test_a_lake_over_the_units_is_no_break_either(folder, capsys):
    write(folder / "lake.gpkg", [box(-9, -9, 20, 20)])
    text, _ = draft_of(folder, capsys)
    assert "breaks" not in tomllib.loads(text)["sources"]
    assert "covers 100% of the units' ground" in text


def test_an_entry_that_check_refuses_is_a_comment_with_the_refusal(folder, capsys):
    (folder / "treatments.csv").write_text("unit_id,start,kind\nA,2025-04-01,burn\n")
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\nDry,Andropogon gerardii,many\n")
    text, said = draft_of(folder, capsys)
    assert tomllib.loads(text)["sources"].keys() == {"units", "treatments"}
    above, _, _ = text.partition("# [sources.mixes]")
    assert "# check says: " in above.splitlines()[-1]
    assert "many" in above.splitlines()[-1]
    assert "the draft passes check" in said


def test_units_without_names_are_told_and_the_draft_says_that_it_does_not_pass(tmp_path, capsys):
    write(tmp_path / "pastures.gpkg", [box(0, 0), box(1, 0)], pasture=["N", "N"])
    text, said = draft_of(tmp_path, capsys)
    assert "does not pass check yet" in said
    assert "no column has a different name in every row; nearest: pasture" in text
    assert "# check says: " in text


def test_two_mixes_files_give_valid_toml_and_an_older_copy_loses(folder, capsys):
    for name in ("mixes_a", "mixes_b"):
        (folder / f"{name}.csv").write_text("mix,species,pls_lb_ac\nDry,Andropogon gerardii,2\n")
    (folder / "old").mkdir()
    shutil.copy(folder / "units.gpkg", folder / "old" / "units.gpkg")
    text, said = draft_of(folder, capsys)
    assert tomllib.loads(text)["sources"]["units"]["path"] == "units.gpkg"
    assert "old/units.gpkg: looks like an older copy of units.gpkg" in text
    assert "is newer and taken" in said


def test_what_each_file_was_taken_for_is_a_small_table(folder, capsys):
    (folder / "x.csv").write_text("a,b\n1,2\n")
    _, said = draft_of(folder, capsys)
    assert said.splitlines()[:3] == [
        "file        taken for  sure  why",
        'units.gpkg  units      yes   polygons, and its name says "unit"',
        "x.csv       -          no    no table of the program has these columns",
    ]
    _, said = draft_of(folder, capsys, "--quiet")
    assert said == ""


def test_explain_says_what_every_column_looks_like(folder, capsys):
    _, said = draft_of(folder, capsys, "--explain")
    assert "UNIT: text, 2 filled, 2 different: A, B" in said
    _, said = draft_of(folder, capsys)
    assert "UNIT: text" not in said


def test_save_writes_the_draft_once(folder, capsys):
    out, _ = draft_of(folder, capsys, "--save")
    saved = folder / "property.toml"
    assert out == f"{saved}\n"
    before = saved.read_bytes()
    tomllib.loads(before.decode())
    assert main(["start", str(folder), "--save"]) == 2
    assert "is there already" in capsys.readouterr().err
    assert saved.read_bytes() == before
