"""Tables that come with the program: used unnamed, replaced or added to, installed with it."""

import tomllib
from pathlib import Path

import pandas as pd
import pytest

import pipeline
from pipeline.core.errors import PipelineError
from pipeline.intake.settings import Sources
from pipeline.intake.shipped import FILE_BY_SOURCE, shipped_folder
from tests.east_place import PROPERTY, intake, write_east_place

PROJECT = Path(pipeline.__file__).parent.parent
RULES = "rule,when,suggestion,window,reason,source\n"
MINE = RULES + "10,cover = marsh,leave it wet,,my rule,me\n7,cover = sand,leave it,,mine,me\n"


@pytest.fixture
def folder(tmp_path):
    write_east_place(tmp_path)
    (tmp_path / "mine.csv").write_text(MINE)
    return tmp_path


def told(read, name):
    sources = read.frames["sources"]
    return sources[sources["source"] == name]


def test_every_table_is_there_and_read_without_being_named(folder):
    read = intake(folder, PROPERTY)
    for name, file in FILE_BY_SOURCE.items():
        with (PROJECT / "config" / file).open(encoding="utf-8") as lines:
            rows = sum(1 for line in lines if line.strip()) - 1
        assert len(read.frames[name]) == rows, name
        row = told(read, name).iloc[0]
        assert (row["path"], row["origin"], row["rows_used"]) == (f"config/{file}", "program", rows)
    assert set(FILE_BY_SOURCE.values()) == {p.name for p in (PROJECT / "config").glob("*.csv")}
    assert set(FILE_BY_SOURCE) <= set(Sources.model_fields)


def test_named_table_takes_the_place_of_the_programs(folder):
    read = intake(folder, PROPERTY + '[sources.season_rules]\npath = "mine.csv"\n')
    assert read.frames["season_rules"]["rule"].to_list() == [7, 10]
    assert told(read, "season_rules")["path"].to_list() == ["mine.csv"]


def test_extra_rows_are_added_and_take_the_place_of_the_same_key(folder):
    plain = intake(folder, PROPERTY).frames["season_rules"]
    read = intake(folder, PROPERTY + '[sources.season_rules]\nextra = "mine.csv"\n')
    rules = read.frames["season_rules"].set_index("rule")
    assert len(rules) == len(plain) + 1
    assert rules.index.is_unique
    assert rules.loc[10, "suggestion"] == "leave it wet"
    assert rules.loc[7, "reason"] == "mine"
    kept = plain[plain["rule"] != 10].set_index("rule")
    pd.testing.assert_frame_equal(rules.loc[kept.index], kept)
    sources = told(read, "season_rules").set_index("path")
    assert sources.loc["config/season_rules.csv", "rows_used"] == len(plain) - 1
    assert sources.loc["mine.csv", "rows_used"] == 2
    assert list(sources["origin"]) == ["program", "property_file"]


def test_extra_rows_go_with_a_named_table_too(folder):
    (folder / "other.csv").write_text(RULES + "10,cover = hay,mow,,other,them\n")
    tables = '[sources.season_rules]\npath = "other.csv"\nextra = "mine.csv"\n'
    rules = intake(folder, PROPERTY + tables).frames["season_rules"]
    assert dict(zip(rules["rule"], rules["suggestion"], strict=True)) == {
        10: "leave it wet",
        7: "leave it",
    }


def test_own_row_takes_the_place_of_ours_however_its_key_is_spelled(folder):
    (folder / "seed.csv").write_text("species,seeds_per_lb\nandropogon  Gerardii,150000\n")
    read = intake(folder, PROPERTY + '[sources.species]\nextra = "seed.csv"\n')
    species = read.frames["species"]
    big = species[species["species"].str.casefold().str.startswith("andropogon g")]
    assert big["seeds_per_lb"].tolist()[-1] == 150000
    assert "Andropogon gerardii" not in set(species["species"])


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ('extra = "none.csv"', r"none\.csv"),
        ('extra = "/etc/passwd"', "outside the property file's folder"),
        ('path = "none.csv"\nextra = "none_either.csv"', r"none_either\.csv"),
        ('exta = "mine.csv"', 'unknown key "exta".*did you mean "extra"'),
    ],
)
def test_faults_of_named_tables_are_told(text, word, folder):
    with pytest.raises(PipelineError, match=word):
        intake(folder, PROPERTY + f"[sources.season_rules]\n{text}\n")


def test_tables_are_installed_with_the_program():
    """The list of packages is that of the folders, and config/ is one of them."""
    packing = tomllib.loads((PROJECT / "pyproject.toml").read_text())["tool"]["setuptools"]
    folders = {path.parent for path in (PROJECT / "pipeline").rglob("*.py")}
    names = {".".join(folder.relative_to(PROJECT).parts) for folder in folders}
    assert set(packing["packages"]) == names | {"pipeline.config"}
    assert packing["package-dir"]["pipeline.config"] == "config"
    assert shipped_folder() == PROJECT / "config"


def test_installed_tables_are_found_inside_the_package(tmp_path, monkeypatch):
    inside = tmp_path / "pipeline" / "config"
    inside.mkdir(parents=True)
    monkeypatch.setattr(pipeline, "__file__", str(tmp_path / "pipeline" / "__init__.py"))
    assert shipped_folder() == inside.resolve()
    inside.rmdir()
    (tmp_path / "config").mkdir()
    assert shipped_folder() == (tmp_path / "config").resolve()


def test_added_species_spelled_nearly_as_ours_is_told(folder):
    header = "species,seeds_per_lb\n"
    (folder / "seed.csv").write_text(header + "Andropogon gerardi,150000\nZea mays,1200\n")
    read = intake(folder, PROPERTY + '[sources.species]\nextra = "seed.csv"\n')
    told = read.frames["intake_findings"].query("code == 'row_beside_ours'")
    assert told["subject"].to_list() == ["Andropogon gerardi"]
    assert "Andropogon gerardii" in told["message"].iloc[0]
