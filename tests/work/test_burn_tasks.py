"""Tasks of planned burns: days by dateutil, feet and acres against known squares.

Outside figures: the length of the sides of a square of 40 acres (1,320 ft: a quarter of a quarter
section of the Public Land Survey), and days by python-dateutil.
"""

from datetime import date

import pandas as pd
import pytest
import shapely
from dateutil.relativedelta import relativedelta
from shapely import affinity

from pipeline.work.settings import TaskSettings
from tests.literal_layers import literal_layer
from tests.made_fire import fire_layers
from tests.made_properties import burns_frame, grid, units_frame
from tests.made_season import fuel_rows, square_units, unit_rows
from tests.made_work import MADE, assert_whole, planned, row_of, season_work, waits

SIDE_FT = 1320.0
LEADS = TaskSettings()
FIRST, LAST = "2027-03-20", "2027-04-25"


def burned(block_of, columns=2, rows=1, turn=0.0, first=FIRST, last=LAST, names=None):
    """A made property of squares of 40 acres with its fire layers and planned burns."""
    shapes = [affinity.rotate(s, turn, origin=(0, 0)) for s in grid(columns, rows)]
    units = units_frame(shapes, names or list(block_of))
    layers = fire_layers(units, burns_frame(block_of))
    work = planned(
        layers["units"],
        *(
            {
                "work_id": f"burn:{block}",
                "unit_id": unit,
                "kind": "burn",
                "block": block,
                "first_day": first,
                "last_day": last,
                "days_from": "property_file",
            }
            for unit, block in block_of.items()
        ),
    )
    return season_work(layers | {"planned_work": work})


@pytest.mark.parametrize("turn", [0.0, 31.0])
def test_side_between_two_blocks_is_mown_once(turn):
    layers = burned({"W": "west", "E": "east"}, turn=turn)
    mowing = layers["tasks"][layers["tasks"]["kind"] == "mow_breaks"]
    # Two squares side by side have seven sides, the one between them once.
    assert mowing["amount"].sum() == pytest.approx(7 * SIDE_FT, rel=1e-4)
    assert set(mowing["amount_unit"]) == {"ft"}
    assert mowing["work_hours"].sum() == pytest.approx(layers["mow_strips"]["hours"].sum())
    assert mowing["work_ac"].sum() == pytest.approx(layers["mow_strips"]["area_ac"].sum())
    assert_whole(layers["tasks"])


def test_line_between_two_blocks_is_due_before_the_first_of_them():
    layers = burned({"W": "west", "E": "east"})
    (owner,) = layers["firebreaks"].dropna(subset=["neighbor_block"])["block"].unique()
    (other,) = {"west", "east"} - {owner}
    tasks = layers["tasks"]
    assert row_of(tasks, f"mow_breaks:burn:{owner}")["due"] == pd.Timestamp("2027-03-06")
    work = layers["planned_work"]
    early = pd.Timestamp("2027-02-01").as_unit("s")
    later = work.assign(first_day=work["first_day"].where(work["block"] != other, early))
    kept = {name: frame for name, frame in layers.items() if name not in MADE}
    tasks = season_work(kept | {"planned_work": later})["tasks"]
    # The line is listed under one block and is due for the other, which burns first.
    assert row_of(tasks, f"mow_breaks:burn:{owner}")["due"] == pd.Timestamp("2027-01-18")
    for window in ("window_opens:burn:east", "window_opens:burn:west"):
        assert f"mow_breaks:burn:{owner}" in waits(row_of(tasks, window)["waits_for"])


def test_block_of_two_units_that_touch_in_a_point():
    names = ["A", "B", "C", "D"]
    layers = burned({"A": "both", "D": "both"}, columns=2, rows=2, names=names)
    mowing = row_of(layers["tasks"], "mow_breaks:burn:both")
    # Two squares that meet in a corner have all eight sides.
    assert mowing["amount"] == pytest.approx(8 * SIDE_FT, rel=1e-4)
    opens = row_of(layers["tasks"], "window_opens:burn:both")
    ground = opens["geometry"]
    assert ground.is_valid
    assert ground.geom_type == "MultiPolygon"
    # 40 acres in square meters by the international foot (NIST SP 811), two of them.
    assert ground.area == pytest.approx(2 * 1742400 * 0.3048**2, rel=1e-4)
    lines = layers["tasks"][layers["tasks"]["kind"] == "prepare_line"]
    assert (lines.geometry.geom_type == "MultiLineString").all()
    assert_whole(layers["tasks"])


@pytest.mark.parametrize("work_ac", [[40.0, 40.0], [40.0, 6.0], [40.0]])
def test_acres_of_a_block_that_burned_in_part_are_no_more_than_those_left(work_ac):
    layers = burned({"W": "both", "E": "both"})
    left = layers["planned_work"].iloc[: len(work_ac)].assign(work_ac=work_ac)
    kept = {name: frame for name, frame in layers.items() if name not in MADE}
    tasks = season_work(kept | {"planned_work": left})["tasks"]
    block_ac = layers["burn_blocks"]["burnable_ac"].iloc[0]
    assert 46 < block_ac < 80, "strips and lines are mown and bare"
    opens = row_of(tasks, "window_opens:burn:both")
    assert opens["amount"] == pytest.approx(min(block_ac, sum(work_ac)), rel=1e-3)


def test_days_before_a_burn_are_those_of_the_calendar():
    tasks = burned({"W": "west"}, columns=1)["tasks"]
    first = date(2027, 3, 20)
    for task_id, days in {
        "ask_permit:burn:west": LEADS.permit_days,
        "give_notice:burn:west": LEADS.notice_days,
        "mow_breaks:burn:west": LEADS.breaks_ready_days,
    }.items():
        row = row_of(tasks, task_id)
        assert row["due"].date() == first + relativedelta(days=-days)
        assert not row["overdue"]


def test_window_of_a_block_is_what_its_units_have_in_common():
    units = square_units(A=40, B=80)
    fuel = pd.concat(
        [
            fuel_rows(units[units["unit_id"] == unit], reason="dates_of_the_region", **days)
            for unit, days in {
                "A": {
                    "burn_from": "2027-03-01",
                    "burn_until": "2027-05-10",
                    "burn_until_high": "2027-05-20",
                },
                "B": {
                    "burn_from": "2027-03-10",
                    "burn_until": "2027-05-15",
                    "burn_until_low": "2027-05-01",
                    "burn_until_high": "2027-05-18",
                },
            }.items()
        ],
        ignore_index=True,
    )
    work = planned(
        units,
        *(
            {"work_id": "burn:Hill", "unit_id": u, "kind": "burn", "block": "Hill", **days}
            for u, days in {
                "A": {"first_day": "2027-03-01", "last_day": "2027-05-10"},
                "B": {"first_day": "2027-03-10", "last_day": "2027-05-15"},
            }.items()
        ),
    )
    layers = season_work({"units": units, "fuel": fuel, "planned_work": work})
    opens = row_of(layers["tasks"], "window_opens:burn:hill")
    closes = row_of(layers["tasks"], "window_closes:burn:hill")
    assert opens["due"] == pd.Timestamp("2027-03-10")
    assert closes["due"] == pd.Timestamp("2027-05-10")
    assert closes["due_high"] == pd.Timestamp("2027-05-18")
    assert pd.isna(closes["due_low"]), "A carries at no day at the low load"
    # The block is prepared for the day on which both units are cured.
    permit = row_of(layers["tasks"], "ask_permit:burn:hill")
    assert permit["due"].date() == date(2027, 3, 10) + relativedelta(days=-LEADS.permit_days)


def test_burn_without_any_day_keeps_its_tasks_without_days():
    units = square_units(A=40)
    work = planned(
        units,
        {
            "work_id": "burn:Hill",
            "unit_id": "A",
            "kind": "burn",
            "block": "Hill",
            "days_from": "none",
        },
    )
    layers = season_work({"units": units, "fuel": fuel_rows(units), "planned_work": work})
    tasks = layers["tasks"]
    assert set(tasks["kind"]) == {"ask_permit", "give_notice", "measure_fuel", "window_opens"}
    assert tasks["due"].isna().all()
    opens = row_of(tasks, "window_opens:burn:hill")
    assert opens["names"] == "no window known for A"
    assert "measure_fuel:burn:hill:a" in waits(opens["waits_for"])


def test_look_again_is_on_the_same_day_of_a_later_year():
    units = square_units(A=40)
    burn = {
        "work_id": "burn:Hill",
        "unit_id": "A",
        "kind": "burn",
        "block": "Hill",
        "first_day": "2027-03-20",
        "last_day": "2027-04-25",
    }
    survey = unit_rows(
        "community",
        units,
        date="2026-03-30",
        transects=3,
        interval="one_transect",
        interval_cut=False,
        native_may_be_more=False,
        species=9,
    )
    work = planned(units, burn)
    tasks = season_work({"units": units, "planned_work": work, "community": survey})["tasks"]
    look = row_of(tasks, "look_again:burn:hill:plants")
    # 30 March comes before the burn is over, so it is that of the year after.
    assert look["due"].date() == date(2026, 3, 30) + relativedelta(years=2)
    assert look["first_day"].date() == date(2027, 4, 25) + relativedelta(days=1)


def test_smoke_places_within_reach_are_told_as_places():
    units = square_units(A=40)
    burn = {
        "work_id": "burn:Hill",
        "unit_id": "A",
        "kind": "burn",
        "block": "Hill",
        "first_day": "2027-03-20",
        "last_day": "2027-04-25",
    }
    points = [shapely.Point(500 * n, 900) for n in range(3)]
    rows = [
        {"place_id": 1, "kind": "house", "block": "Hill", "distance_mi": 0.5},
        {"place_id": 2, "kind": "school", "block": "Hill", "distance_mi": 0.9},
        {"place_id": 3, "kind": "barn"},
    ]
    places = literal_layer("smoke_places", rows, shapes=points, crs=units.crs)
    work = planned(units, burn)
    tasks = season_work({"units": units, "planned_work": work, "smoke_places": places})["tasks"]
    told = row_of(tasks, "give_notice:burn:hill:places")
    assert (told["amount"], told["amount_unit"]) == (2, "places")
    assert told["names"] == "house 1, school 2"
    assert [p.coords[0] for p in told["geometry"].geoms] == [p.coords[0] for p in points[:2]]
