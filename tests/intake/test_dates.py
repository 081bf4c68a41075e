"""Dates of a column: read where the column shows how they are written, else complained of.

The calendar of the standard library says which day a text names; the formats are its own.
"""

from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.core.layer import Column
from pipeline.intake.cells.complaints import Complaint
from pipeline.intake.cells.dates import date_in, order_shown
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.log.layers import TREATMENTS as LOG

DAYS = st.dates(date(1990, 1, 1), date(2060, 12, 31))
ORDERS = {"month_first": "%m/%d/%Y", "day_first": "%d/%m/%Y"}


@given(st.lists(DAYS, min_size=1, max_size=8), st.sampled_from(sorted(ORDERS)))
def test_a_column_with_a_day_above_twelve_is_read_as_it_was_written(days, order):
    texts = [day.strftime(ORDERS[order]) for day in days]
    assume(any(day.day > 12 for day in days))
    assert order_shown(texts) == order
    assert [date_in(text, order) for text in texts] == days


@given(DAYS)
def test_a_day_with_its_month_as_a_word_has_one_reading(day):
    for form in ("%B %d, %Y", "%d %B %Y", "%d-%b-%Y", "%b %d %Y"):
        assert date_in(day.strftime(form)) == day


def test_a_column_that_shows_both_orders_or_none_is_not_read():
    assert order_shown(["6/25/2025", "25/6/2025"]) is None
    assert order_shown(["6/5/2025", "7/8/2025"]) is None
    assert isinstance(date_in("6/5/2025"), Complaint)
    assert "date_order" in date_in("6/5/2025").do


@pytest.mark.parametrize(
    ("text", "order"), [("13/40/2025", "month_first"), ("2/30/2025", "month_first")]
)
def test_what_is_no_day_in_the_order_of_its_column_is_complained_of(text, order):
    assert "no day of the calendar" in date_in(text, order).found


def read(tmp_path, text, **told):
    (tmp_path / "log.csv").write_text(text)
    return read_table(TableSource(path="log.csv", **told), LOG, tmp_path)


HEAD = "unit_id,start,kind\n"


def test_a_table_as_a_spreadsheet_writes_it_is_read(tmp_path):
    read_in = read(tmp_path, HEAD + "A,6/25/2025,graze\nB,7/4/2025,graze\n")
    assert not read_in.faults
    assert [d.date() for d in read_in.frame["start"]] == [date(2025, 6, 25), date(2025, 7, 4)]


def test_a_table_without_a_sign_of_its_order_asks_once_and_then_is_told(tmp_path):
    rows = "".join(f"A{n},6/{n}/2025,graze\n" for n in range(1, 11))
    (fault,) = read(tmp_path, HEAD + rows).faults
    assert "cells B2, B3, B4, B5, B6, B7 and 4 more (start)" in fault.where
    assert "10 cells such as" in fault.found
    told = read(tmp_path, HEAD + rows, date_order="day_first")
    assert not told.faults
    assert told.frame["start"].dt.day.tolist() == [6] * 10


def test_few_faults_of_a_column_keep_a_line_each(tmp_path):
    rows = "A,6/1/2025,graze\nB,soon,graze\nC,2025-06-03,graze\n"
    told = [fault.where for fault in read(tmp_path, HEAD + rows).faults]
    assert told == ["log.csv: cell B2 (start)", "log.csv: cell B3 (start)"]


@pytest.mark.parametrize(
    ("header", "column"),
    [
        ("Acres", "acres_treated_ac"),
        ("acres treated (acres)", "acres_treated_ac"),
        ("Weight (lbs)", "weight_lb"),
        ("weight pounds", "weight_lb"),
        ("Residual height, inches", "residual_height_in"),
    ],
)
def test_a_unit_in_a_header_is_understood_and_told(tmp_path, header, column):
    assert isinstance(LOG.column(column), Column)
    text = f'unit_id,start,kind,"{header}"\nA,2025-06-25,graze,12\n'
    read_in = read(tmp_path, text)
    assert not read_in.faults
    assert read_in.frame[column].tolist() == [12]
    assert any(f'column "{header}" is read as {column}' in f["message"] for f in read_in.findings)


def test_a_header_in_another_unit_is_still_refused(tmp_path):
    (fault,) = read(tmp_path, "unit_id,start,kind,weight (kg)\nA,2025-06-25,graze,12\n").faults
    assert "in another unit" in fault.found
