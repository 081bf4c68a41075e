"""The season as sheets: tasks as CSV; work, costs, plants and patches as a workbook."""

from collections.abc import Callable
from pathlib import Path

import pandas as pd

from pipeline.core.run import Run
from pipeline.core.table import Table
from pipeline.pages.words import code_words
from pipeline.pages.work_words import SERIOUSNESS_WORDS, TASK_WORDS, WHO_WORDS
from pipeline.season.phenology.sheets import PHENOLOGY_TABLE
from pipeline.season.photos.sheets import PHOTOS_TABLE, POINTS_TABLE, WINDOWS_TABLE
from pipeline.season.plants.groups import in_group_order
from pipeline.season.plants.sheets import (
    CHANGES_TABLE,
    COVER_TABLE,
    GROUPS_TABLE,
    PATCH_YEARS_TABLE,
    PATCHES_TABLE,
)
from pipeline.season.sheets import COMMUNITY_TABLE
from pipeline.work.sheets import CONFLICTS_TABLE, COSTS_TABLE, TASKS_TABLE
from pipeline.work.stock.sheets import HERD_FEED_TABLE, HERD_MOVES_TABLE
from pipeline.work.tasks.task_rows import listed_in
from pipeline.write.cell_formats import Formats
from pipeline.write.workbook import cells_of, opened_workbook, write_csv, write_sheet

Words = Callable[[pd.DataFrame], pd.DataFrame]


def write_tasks_csv(run: Run, path: Path) -> None:
    """Write ``tasks.csv``: the layer ``tasks`` without its shapes."""
    write_csv(run, "tasks", path)


def write_season_xlsx(run: Run, path: Path) -> None:
    """Write ``season.xlsx``: conflicts first, each sheet where it has rows."""
    sheets: dict[str, tuple[Table, Words]] = {
        "Conflicts": (CONFLICTS_TABLE, _conflict_words),
        "Tasks": (TASKS_TABLE, _task_words),
        "Costs": (COSTS_TABLE, _cost_words),
        "Herd moves": (HERD_MOVES_TABLE, _told_words(HERD_MOVES_TABLE)),
        "Herd feed": (HERD_FEED_TABLE, _told_words(HERD_FEED_TABLE)),
        "Plants": (COMMUNITY_TABLE, _told_words(COMMUNITY_TABLE)),
        "Plant groups": (GROUPS_TABLE, _grouped(GROUPS_TABLE)),
        "Species": (COVER_TABLE, _grouped(COVER_TABLE)),
        "Plant changes": (CHANGES_TABLE, _grouped(CHANGES_TABLE)),
        "Patches by year": (PATCH_YEARS_TABLE, _told_words(PATCH_YEARS_TABLE)),
        "Patches": (PATCHES_TABLE, _told_words(PATCHES_TABLE)),
        "Photo points": (POINTS_TABLE, _told_words(POINTS_TABLE)),
        "Photos due": (WINDOWS_TABLE, _told_words(WINDOWS_TABLE)),
        "Photos": (PHOTOS_TABLE, _told_words(PHOTOS_TABLE)),
        "First green and bloom": (PHENOLOGY_TABLE, _told_words(PHENOLOGY_TABLE)),
    }
    with opened_workbook(run, path, "Season") as book:
        formats = Formats(book)
        for name, (table, words) in sheets.items():
            frame = run.frames[table.layer.name]
            if len(frame):
                cells = cells_of(name, table, words(frame))
                page = book.add_worksheet(name)
                write_sheet(page, cells, formats, run, note=table.about, links={})


def _grouped(table: Table) -> Words:
    """The same for a table of groups of plants, in the order that these are told in."""
    told = _told_words(table)
    return lambda frame: told(in_group_order(frame))


def _told_words(table: Table) -> Words:
    """What turns the codes of a table's columns into words."""
    codes = [column.name for column in table.declared if column.choices]

    def told(frame: pd.DataFrame) -> pd.DataFrame:
        words = {name: frame[name].map(code_words, na_action="ignore") for name in codes}
        return frame.assign(**words)

    return told


def _task_words(tasks: pd.DataFrame) -> pd.DataFrame:
    """Tasks with words for their codes, and the numbers of those that they wait for."""
    number = dict(zip(tasks["task_id"], tasks["number"], strict=True))
    waits = [
        ", ".join(map(str, sorted(number[name] for name in listed_in(cell)))) or None
        for cell in tasks["waits_for"]
    ]
    return tasks.assign(
        kind=tasks["kind"].map(TASK_WORDS), who=tasks["who"].map(WHO_WORDS), waits_for=waits
    )


def _conflict_words(conflicts: pd.DataFrame) -> pd.DataFrame:
    """Conflicts with words for their codes."""
    return conflicts.assign(
        seriousness=conflicts["seriousness"].map(SERIOUSNESS_WORDS),
        who_decides=conflicts["who_decides"].map(WHO_WORDS),
    )


def _cost_words(costs: pd.DataFrame) -> pd.DataFrame:
    """Costs with words for their tasks."""
    return costs.assign(kind=costs["kind"].map(TASK_WORDS))
