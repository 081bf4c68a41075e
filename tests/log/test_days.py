"""Days of the year and the days that two spans have in common, against the calendar."""

import datetime

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.log.days import BURN_TIME_BY_MONTH, day_of, days_within, is_month_day

DAYS = st.dates(datetime.date(2019, 1, 1), datetime.date(2028, 12, 31))


@settings(deadline=None)
@given(DAYS)
def test_every_day_is_read_back(day):
    text = f"{day:%m-%d}"
    assert is_month_day(text)
    assert day_of(day.year, text).date() == day


def test_leap_day_of_a_common_year_is_the_first_of_march():
    assert day_of(2027, "02-29") == pd.Timestamp("2027-03-01")
    assert day_of(2028, "02-29") == pd.Timestamp("2028-02-29")


@pytest.mark.parametrize("text", ["4-10", "04/10", "04-31", "13-01", "00-10", "04-00", "april"])
def test_what_is_no_day_of_the_year_is_refused(text):
    assert not is_month_day(text)


@settings(deadline=None)
@given(DAYS, st.integers(0, 400), DAYS, st.integers(0, 400))
def test_days_within_a_span_are_those_of_the_calendar(first, length, start, span):
    """Counted one by one with the standard library's calendar."""
    one = datetime.timedelta(days=1)
    stretch = {first + n * one for n in range(length + 1)}
    inside = {start + n * one for n in range(span)}
    ends = pd.Series([pd.Timestamp(first)]), pd.Series([pd.Timestamp(first + length * one)])
    days = days_within(*ends, pd.Timestamp(start), pd.Timestamp(start + span * one))
    assert list(days) == [len(stretch & inside)]


def test_every_month_has_its_time_of_burning():
    # Common practice, no source: the dormant season runs from November to March.
    assert sorted(BURN_TIME_BY_MONTH) == list(range(1, 13))
    dormant = {month for month, time in BURN_TIME_BY_MONTH.items() if time == "dormant"}
    assert dormant == {11, 12, 1, 2, 3}
