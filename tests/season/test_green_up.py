"""Green-up: degree-days of an extension column, dates of a region."""

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.season.fuel import green_up
from tests.literal_layers import literal_layer
from tests.made_season import property_row, shipped_green_up

CENTRAL = {
    "region": "central plains",
    "cured_from": "03-01",
    "green_from": "04-10",
    "green_full": "06-10",
    "source": "common practice",
}


def spring(temperatures=None):
    """Spring of 2027, of the region's dates unless temperatures are given."""
    given_days = empty(LAYERS["daily_temperatures"]) if temperatures is None else temperatures
    dates = green_up.dates_at(literal_layer("green_up", [CENTRAL]), 2027, 44.0)
    return green_up.spring_of(2027, green_up.courses_of(2027, given_days), dates)


def test_degrees_of_the_extension_column():
    # NDSU column, 2012: (70 + 40) ÷ 2 − 32 = 23.
    assert green_up.degree_days(pd.Series([70.0]), pd.Series([40.0]))[0] == 23


def test_degree_days_of_four_days():
    # Hand: base 32 °F on (40, 60) (38, 58) (45, 71) (30, 50): 68.
    high, low = pd.Series([60, 58, 71, 50.0]), pd.Series([40, 38, 45, 30.0])
    assert green_up.degree_days(high, low).sum() == 68


def test_counting_waits_for_five_mild_days():
    means = pd.Series([40, 40, 40, 40, 30, 33, 33, 33, 33, 33, 20.0]).to_numpy()
    assert green_up.counting_start(means) == 5
    assert green_up.counting_start(means[:8]) is None


def test_warm_days_before_the_counting_start_do_not_count():
    # A hot spell of three days in March, then frost to the end of the month, 23 degree-days a day
    # from April 1 on.
    days = pd.date_range("2026-03-01", "2026-07-31")
    mean = {
        d: 90 if d.month == 3 and 16 <= d.day <= 18 else 20 if d.month == 3 else 55 for d in days
    }
    rows = [{"date": d, "tmax_f": mean[d] + 5.0, "tmin_f": mean[d] - 5.0} for d in days]
    course = spring(literal_layer("daily_temperatures", rows))
    assert course.sum_on(pd.Timestamp("2027-03-31")) == 0
    assert course.sum_on(pd.Timestamp("2027-04-10")) == 230


def test_sum_of_an_ordinary_spring_meets_its_two_dates():
    course = spring()
    assert course.sum_on(pd.Timestamp("2027-04-10")) == pytest.approx(300)
    assert course.sum_on(pd.Timestamp("2027-06-10")) == pytest.approx(1900)
    # Hand: root 17.32 + 21/61 × 26.27 = 26.36.
    assert course.sum_on(pd.Timestamp("2027-05-01")) == pytest.approx(695.0, abs=0.5)


@pytest.mark.parametrize(
    ("latitude_deg", "green_from", "green_full"),
    [
        (42.0, "04-12", "06-09"),
        # Halfway from 44 N (04-18, 06-16) to 47 N (04-26, 06-25).
        (45.5, "04-22", "06-20"),
        # Two degrees and a half south of 40 N (04-13, 06-14), two north of 47 N, at 3.1 days each.
        (37.5, "04-05", "06-06"),
        (49.0, "05-02", "07-01"),
    ],
)
def test_dates_at_a_latitude_lie_straight_between_the_rows(latitude_deg, green_from, green_full):
    rows = green_up.rows_of_place(shipped_green_up(), property_row(region="central plains"))
    dates = green_up.dates_at(rows, 2027, latitude_deg)
    assert f"{dates.green_from:%m-%d}" == green_from
    assert f"{dates.green_full:%m-%d}" == green_full
    assert dates.latitude_deg == latitude_deg


def test_region_with_a_row_without_latitude_keeps_its_dates_everywhere():
    rows = green_up.rows_of_place(shipped_green_up(), property_row(region="southern plains"))
    dates = green_up.dates_at(rows, 2027, 33.0)
    assert f"{dates.green_from:%m-%d}" == "03-15"
    assert pd.isna(dates.latitude_deg)


@pytest.mark.parametrize("region", [None, "central plains", "Central Plains"])
def test_region_of_the_property_picks_the_dates(region):
    table = literal_layer("green_up", [CENTRAL | {"region": "other"}, CENTRAL])
    dates = green_up.dates_of_region(table, property_row(region=region))
    assert list(dates["region"]) == ["central plains"]


def test_region_that_the_table_does_not_have_has_no_dates():
    table = literal_layer("green_up", [CENTRAL])
    assert green_up.dates_of_region(table, property_row(region="Ohio")).empty


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        ({"green_from": "4/10"}, 'green_from "4/10"'),
        ({"cured_from": "02-30"}, 'cured_from "02-30"'),
        ({"green_from": "06-10"}, "is not before green_full"),
    ],
)
def test_date_that_cannot_be_used_is_a_fault(broken, words):
    (fault,) = green_up.green_up_faults(literal_layer("green_up", [CENTRAL | broken]))
    assert words in fault.found
    assert "central plains" in fault.where
