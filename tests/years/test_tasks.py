"""Tasks of a season against what later runs have on record, matched by ground and not by name."""

import pandas as pd
import pytest

from pipeline.years.ground import drawn_outlines
from pipeline.years.options import tell_task_years
from pipeline.years.records import joined_log
from tests.literal_layers import literal_layer
from tests.years.test_outcomes import EARLIER, SQUARES, plan, record, season_run

LAYERS_ASKED = ("standing", "plant_cover", "photos", "zone_scenes")
RENAMED = {"North": SQUARES["A"], "B": SQUARES["B"]}


def with_layers(run, *tasks, **layers):
    rows = [
        row | {"number": n, "task_id": row["kind"], "who": "crew"} for n, row in enumerate(tasks, 1)
    ]
    own = {name: literal_layer(name, layers.get(name, ())) for name in LAYERS_ASKED}
    run.frames.update(own | {"tasks": pd.DataFrame(rows, columns=COLUMNS)})
    return run


COLUMNS = ["number", "task_id", "kind", "unit_id", "block", "area", "due"]


def task(kind, unit_id="A", due="2027-04-01"):
    return {"kind": kind, "unit_id": unit_id, "due": pd.Timestamp(due)}


def told(first, *later):
    runs = [first, *later]
    outlines = drawn_outlines(
        {r.season: r.frames["units"] for r in runs}, first.frames["units"].crs
    )
    table = tell_task_years(runs, joined_log(runs, outlines), outlines)
    return table[["kind", "outcome", "done_on"]].astype(object).values.tolist()


def load(unit_id, date):
    return {"unit_id": unit_id, "date": date, "method": "clipped", "measure": "standing"} | {
        "mean_lb_ac": 2000.0,
        "reference": "clip plots",
    }


@pytest.mark.parametrize(
    ("kind", "unit_id", "start", "outcome"),
    [
        ("mow", "North", "2027-03-20", "done"),
        ("mow", "B", "2027-03-20", "not_done"),
        ("hay", "North", "2027-03-20", "not_done"),
    ],
)
def test_task_of_the_log_is_done_by_a_record_on_its_ground(kind, unit_id, start, outcome):
    first = with_layers(season_run(2027), task("mow"))
    rows = [EARLIER, record(start, kind, unit_id)]
    later = with_layers(season_run(2028, (), rows, units=RENAMED))
    assert told(first, later)[0][:2] == ["mow", outcome]


def test_measurement_is_done_by_the_load_of_a_later_run_on_that_ground():
    first = with_layers(season_run(2027), task("measure_fuel"))
    measured, other = (
        with_layers(season_run(2028, units=RENAMED), standing=[load(unit, "2027-03-25")])
        for unit in ("North", "B")
    )
    assert told(first, measured)[0] == ["measure_fuel", "done", pd.Timestamp(2027, 3, 25)]
    assert told(first, other)[0][1] == "not_done"
    assert told(first, with_layers(season_run(2028)))[0][1] == "untold"


def test_what_stands_in_no_record_is_not_told_and_a_window_is_no_task():
    first = with_layers(season_run(2027), task("order_seed"), task("window_opens"))
    later = with_layers(season_run(2028, (), [EARLIER]))
    assert [row[:2] for row in told(first, later)] == [["order_seed", "untold"]]


def test_task_of_a_block_is_shown_by_any_of_its_units():
    first = season_run(2027, [plan("mow", unit_id="B", block="North", work_id="mow:B")])
    first = with_layers(first, {**task("mow", None), "block": "North"})
    later = with_layers(season_run(2028, (), [EARLIER, record("2027-03-20", "mow", "B")]))
    assert told(first, later)[0][:2] == ["mow", "done"]
