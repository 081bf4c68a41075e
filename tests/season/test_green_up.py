"""Green-up: degree-days of an extension column, dates of a region, monotone close days."""

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.season import green_up
from pipeline.season.settings import FuelSettings
from tests.literal_layers import literal_layer
from tests.made_season import property_row

CENTRAL = {
    "region": "central plains",
    "cured_from": "03-01",
    "green_from": "04-10",
    "green_full": "06-10",
    "source": "common practice",
}
load_lb_ac = st.floats(0, 6000)


def spring(temperatures=None):
    """Spring of 2027, of the region's dates unless temperatures are given."""
    given_days = empty(LAYERS["daily_temperatures"]) if temperatures is None else temperatures
    dates = literal_layer("green_up", [CENTRAL])
    return green_up.spring_of(2027, given_days, dates, FuelSettings())


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
    # A hot spell of three days in March, then frost to the end of the month. 1,000 lb/ac green are
    # allowed beside 1,500 dead: 1,366.7 degree-days, 59 full days of 23 from April 1.
    days = pd.date_range("2026-03-01", "2026-07-31")
    mean = {
        d: 90 if d.month == 3 and 16 <= d.day <= 18 else 20 if d.month == 3 else 55 for d in days
    }
    rows = [{"date": d, "tmax_f": mean[d] + 5.0, "tmin_f": mean[d] - 5.0} for d in days]
    course = spring(literal_layer("daily_temperatures", rows))
    last = green_up.close_day(course, 1500, FuelSettings())
    assert last == pd.Timestamp("2027-05-29"), "as without the hot spell"


def test_share_of_the_flush_is_straight_between_the_dates_of_the_region():
    # April 10 to June 10 are 61 days.
    share = pd.Series(spring().green_share, index=spring().days)
    assert share["2027-04-10"] == 0
    assert share["2027-05-01"] == pytest.approx(21 / 61)
    assert share["2027-06-10"] == share["2027-07-31"] == 1


@pytest.mark.parametrize("region", [None, "central plains", "Central Plains"])
def test_region_of_the_property_picks_the_dates(region):
    table = literal_layer("green_up", [CENTRAL | {"region": "other"}, CENTRAL])
    dates = green_up.dates_of_region(table, property_row(region=region))
    assert list(dates["region"]) == ["central plains"]


def test_region_that_the_table_does_not_have_has_no_dates():
    table = literal_layer("green_up", [CENTRAL])
    assert green_up.dates_of_region(table, property_row(region="Ohio")).empty


@settings(deadline=None)
@given(load_lb_ac, load_lb_ac)
def test_heavier_load_never_closes_earlier(load, more):
    first, second = (
        green_up.close_day(spring(), dead, FuelSettings()) for dead in (load, load + more)
    )
    assert first <= second


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
