"""Tasks as CSV and the workbook of the season, read back by csv and openpyxl."""

import csv
import dataclasses

import pandas as pd
import pytest
from openpyxl import load_workbook

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.pages.work_words import SERIOUSNESS_WORDS, TASK_WORDS
from pipeline.season.plants.groups import in_group_order
from pipeline.write.season_sheets import write_season_xlsx, write_tasks_csv


def test_csv_has_every_task_and_column(sample_run, tmp_path):
    path = tmp_path / "tasks.csv"
    write_tasks_csv(sample_run, path)
    content = path.read_bytes()
    assert content.startswith(b"\xef\xbb\xbf")
    rows = list(csv.DictReader(content.decode("utf-8-sig").splitlines()))
    tasks = sample_run.frames["tasks"]
    assert list(rows[0]) == LAYERS["tasks"].column_names
    assert [row["task_id"] for row in rows] == list(tasks["task_id"])
    day = tasks["due"].dt.strftime("%Y-%m-%d").fillna("")
    assert [row["due"] for row in rows] == list(day)


def sheet_rows(path, name):
    page = load_workbook(path, data_only=True)[name]
    cells = [list(row) for row in page.iter_rows(min_row=4, values_only=True)]
    return cells[0], cells[1:]


PLAN_SHEETS = ["Options", "Herd moves", "Herd feed"]
PLANT_SHEETS = ["Plants", "Plant groups", "Species", "Plant changes", "Patches by year", "Patches"]
PLANT_SHEETS += ["Photo points", "Photos due", "Photos", "First green and bloom"]


def test_workbook_has_a_sheet_each_in_words(sample_run, tmp_path):
    path = tmp_path / "season.xlsx"
    write_season_xlsx(sample_run, path)
    frames = sample_run.frames
    assert load_workbook(path).sheetnames == [
        *("Conflicts", "Tasks", "Costs"),
        *PLAN_SHEETS,
        *PLANT_SHEETS,
    ]
    heads, rows = sheet_rows(path, "Tasks")
    tasks = frames["tasks"]
    assert [row[heads.index("To do")] for row in rows[:-1]] == [
        TASK_WORDS[kind] for kind in tasks["kind"]
    ]
    hours = rows[-1][heads.index("Time (h)")]
    assert hours == pytest.approx(tasks["work_hours"].sum())
    opens = tasks[tasks["kind"] == "window_opens"].iloc[0]
    numbers = tasks.loc[tasks["task_id"].isin(opens["waits_for"].split(", ")), "number"]
    waiting = rows[opens["number"] - 1][heads.index("Waits for")]
    assert waiting == ", ".join(map(str, numbers))
    heads, rows = sheet_rows(path, "Conflicts")
    words = [SERIOUSNESS_WORDS[s] for s in frames["conflicts"]["seriousness"]]
    assert [row[heads.index("Weight")] for row in rows] == words
    heads, rows = sheet_rows(path, "Costs")
    assert rows[-1][0] == "Total of what is known"
    total = rows[-1][heads.index("Cost ($)")]
    assert total == pytest.approx(frames["season_costs"]["cost_usd"].sum())


def test_plants_and_patches_stand_in_the_workbook_row_by_row(sample_run, tmp_path):
    path, frames = tmp_path / "season.xlsx", sample_run.frames
    write_season_xlsx(sample_run, path)
    heads, rows = sheet_rows(path, "Species")
    cover = in_group_order(frames["plant_cover"])
    assert [row[heads.index("Species")] for row in rows] == list(cover["species"])
    assert sorted(cover["species"]) == sorted(frames["plant_cover"]["species"])
    assert "native warm grass" in {row[heads.index("Group")] for row in rows}
    heads, rows = sheet_rows(path, "Patches")
    areas = [row[heads.index("Area (ac)")] for row in rows]
    assert areas == pytest.approx(list(frames["patch_ground"]["area_ac"]))


def test_same_layers_give_the_same_bytes(sample_run, tmp_path):
    for name in ("one", "two"):
        write_season_xlsx(sample_run, tmp_path / f"{name}.xlsx")
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


def test_sum_of_the_moves_is_what_the_herd_needs_and_lacks(sample_run, tmp_path):
    path = tmp_path / "season.xlsx"
    write_season_xlsx(sample_run, path)
    heads, rows = sheet_rows(path, "Herd moves")
    feed = sample_run.frames["herd_feed"].iloc[0]
    total = rows[-1]
    assert total[heads.index("Of the demand (AUM)")] == pytest.approx(feed["demand_aum"])
    assert total[heads.index("Not fed (AUM)")] == pytest.approx(feed["short_aum"])
    assert {row[heads.index("Unit")] for row in rows[:-1]} >= {"P3", "P5"}, "as the log plans"


def test_sheet_without_rows_is_left_out(sample_run, tmp_path):
    nothing = empty(LAYERS["conflicts"], sample_run.crs)
    frames = sample_run.frames | {"conflicts": nothing}
    run = dataclasses.replace(sample_run, frames=frames)
    write_season_xlsx(run, tmp_path / "season.xlsx")
    names = load_workbook(tmp_path / "season.xlsx").sheetnames
    assert names == ["Tasks", "Costs", *PLAN_SHEETS, *PLANT_SHEETS]
    assert pd.notna(run.stamp)
