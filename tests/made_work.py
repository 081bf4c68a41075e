"""The season's work of made properties: planned work, tasks and costs out of literal layers."""

from functools import cache
from graphlib import TopologicalSorter

import pandas as pd

from pipeline.catalog import LAYERS, settings_sections
from pipeline.core.layer import empty
from pipeline.runner import step_layer
from pipeline.steps import STEPS
from pipeline.work.settings import CostSettings, TaskSettings
from tests.literal_layers import literal_layer
from tests.made_season import property_row, square_units

MADE = (
    "planned_work",
    "burn_tasks",
    "seed_tasks",
    "ground_tasks",
    "asking_tasks",
    "tasks",
    "season_costs",
)
"""Layers that the steps of the season's work make here."""


READ = {name for step in STEPS if step.writes in MADE for name in step.reads}


@cache
def nothing(name, crs):
    """The layer of a name without a row; no step changes what it is given."""
    return empty(LAYERS[name], crs if LAYERS[name].geometry else None)


def season_work(layers=None, *, tasks=None, costs=None, as_of="2026-11-15"):
    """Every layer by name: those given, those of the season's work made of them, the rest empty.

    ``tasks`` and ``costs`` are settings of ``[tasks]`` and ``[costs]``.
    """
    given = {"units": square_units(A=40)} | (layers or {})
    crs = given["units"].crs
    frames = {name: nothing(name, crs) for name in READ}
    frames |= {"property": property_row(as_of=as_of)} | given
    settings = {section: section() for section in settings_sections().values()}
    settings |= {TaskSettings: TaskSettings(**(tasks or {}))}
    settings |= {CostSettings: CostSettings(**(costs or {}))}
    for step in STEPS:
        if step.writes in MADE and step.writes not in given:
            frames[step.writes] = step_layer(step, frames, settings, crs)
    return frames


def planned(units, *rows):
    """Layer ``planned_work`` of rows, each on the ground of its unit."""
    ground = units.set_index("unit_id").geometry
    whole = units.set_index("unit_id")["gross_ac"]
    told = [{"days_from": "log", "work_ac": whole[row["unit_id"]]} | row for row in rows]
    shapes = [ground[row["unit_id"]] for row in rows]
    return literal_layer("planned_work", told, shapes=shapes, crs=units.crs)


def row_of(tasks, task_id):
    """The task of a name, as a dictionary."""
    found = tasks[tasks["task_id"] == task_id].to_dict("records")
    assert len(found) == 1, (task_id, list(tasks["task_id"]))
    return found[0]


def waits(cell):
    """Names of the tasks that a cell lists."""
    return [] if pd.isna(cell) else cell.split(", ")


def assert_whole(tasks):
    """What holds for every list: names once, each thing waited for is there, days in order."""
    assert tasks["task_id"].is_unique
    known = set(tasks["task_id"])
    graph = {row["task_id"]: waits(row["waits_for"]) for row in tasks.to_dict("records")}
    assert {name for names in graph.values() for name in names} <= known
    tuple(TopologicalSorter(graph).static_order())  # raises CycleError on a circle
    both = tasks.dropna(subset=["first_day", "due"])
    assert (both["first_day"] <= both["due"]).all()
    assert list(tasks["number"]) == list(range(1, len(tasks) + 1))
