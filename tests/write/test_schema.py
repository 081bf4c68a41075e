"""GeoPackages of older schemas, one of them stored as version 0.1.0 wrote it.

The stored file is a small made property run with the code of 25 November 2026, 13:33 UTC
(abe471b), before files told their schema.
"""

import zipfile
from pathlib import Path

import pandas as pd
import pyogrio
import pytest

from pipeline.catalog import LAYERS
from pipeline.cli import main
from pipeline.write.geopackage import read_any_schema, read_geopackage

VERSIONS = Path(__file__).parent.parent / "data" / "versions"


@pytest.fixture(scope="module")
def oldest(tmp_path_factory):
    """The stored GeoPackage of the first schema, in a run folder."""
    folder = tmp_path_factory.mktemp("runs") / "small_place_2026"
    with zipfile.ZipFile(VERSIONS / "small_place_0.1.0.zip") as stored:
        stored.extractall(folder)
    return folder / "small_place.gpkg"


def test_layers_are_as_declared_today_with_the_figures_of_the_file(oldest):
    stored = read_any_schema(oldest)
    assert set(stored.frames) == set(LAYERS)
    there = {name for name, _ in pyogrio.list_layers(oldest)} & set(LAYERS)
    for name in there - set(stored.unread):
        assert len(stored.frames[name]) == len(pyogrio.read_dataframe(oldest, layer=name)), name
    raw = pyogrio.read_dataframe(oldest, layer="units")
    assert stored.frames["units"]["gross_ac"].tolist() == raw["gross_ac"].tolist()
    read = {"units", "fuel", "history", "greenness", "zone_scenes", "season_plan", "community"}
    assert read & there == read - set(stored.unread)


def test_what_was_words_is_a_code(oldest):
    frames = read_any_schema(oldest).frames
    assert frames["greenness"]["verdict"].tolist() == ["no_interval", "cannot_judge"]
    assert frames["history"]["record"].tolist() == ["on_record"] * 2
    assert frames["history"]["last_burn_window"].tolist() == ["early_spring", None]
    assert frames["season_plan"]["outcome"].tolist() == ["option", "option"]
    assert frames["community"]["interval"].tolist() == ["rests_on_two_transects"]
    assert frames["property"]["as_of"].tolist() == [pd.Timestamp(2025, 11, 15)]


def test_plan_is_that_of_blocks_and_areas(oldest):
    planned = read_any_schema(oldest, only=["planned_work"]).frames["planned_work"]
    blocks = pyogrio.read_dataframe(oldest, layer="burn_blocks")
    areas = pyogrio.read_dataframe(oldest, layer="seed_areas")
    assert planned["work_id"].tolist() == ["burn:West", "seed:East"]
    assert planned["unit_id"].tolist() == ["A", "B"]
    assert planned["work_ac"].tolist() == pytest.approx(
        [blocks["gross_ac"][0] - blocks["excluded_ac"][0], areas["net_ac"][0]]
    )
    assert planned["first_day"].tolist()[1] == areas["planting"][0]


def test_layers_that_cannot_be_told_today_are_named_and_empty(oldest):
    stored = read_any_schema(oldest)
    assert {"firebreaks", "findings"} <= set(stored.unread)
    assert all(stored.frames[name].empty for name in stored.unread)


def test_render_says_in_one_line_what_it_cannot_make_of_it(oldest, capsys):
    assert main(["render", str(oldest)]) == 2
    told = [line for line in capsys.readouterr().err.splitlines() if line.startswith("error: ")]
    assert len(told) == 1
    for words in ("of an older schema", "firebreaks", "swardline run", "swardline years"):
        assert words in told[0]
    assert [path.name for path in oldest.parent.parent.iterdir()] == [oldest.parent.name]


def test_layers_that_can_be_told_are_read_as_those_of_today(oldest):
    wanted = ["units", "fuel", "history"]
    assert set(read_geopackage(oldest, only=wanted).frames) == set(wanted)
