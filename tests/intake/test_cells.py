"""Headers and cells: a value, or a complaint that says what to write instead."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.layer import Column
from pipeline.core.section import FIRST_DAY, LAST_DAY
from pipeline.intake.cells.complaints import Complaint
from pipeline.intake.cells.dates import date_in
from pipeline.intake.cells.values import cell_value

NUMBER = Column("load_lb", "number", "Load.", nullable=True)


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e12, max_value=1e12))
def test_number_comes_back_exact(number):
    assert cell_value(repr(number), NUMBER) == number


@given(st.dates(FIRST_DAY, LAST_DAY))
def test_iso_date_comes_back(day):
    assert date_in(day.isoformat()) == day


@given(st.text())
def test_no_text_breaks_a_cell(text):
    for kind in ("text", "integer", "number", "date", "flag"):
        value = cell_value(text, Column("load_lb", kind, "Load.", nullable=True))
        assert value is None or isinstance(value, Complaint) or value == value
        if isinstance(value, float | int):
            assert abs(value) < float("inf")


TESTED = Column("tested", "date", "Month of the test.", nullable=True, month_counts=True)
WEED = Column("weed_pct", "number", "Weed seed.", nullable=True, highest=100, small_part=True)


@pytest.mark.parametrize(
    ("text", "month"),
    [
        # Seed laws ask for month and year: 7 CFR 201.20 and the states after it.
        *((text, date(2025, 3, 1)) for text in ("03/25", "3-2025", "Mar 25", "March 2025")),
        *(
            (text, date(2025, 3, 1))
            for text in ("2025-03", "Tested: 3/2025", "2025 Mar", "Mar. '25")
        ),
        ("Aug-26", date(2026, 8, 1)),
        ("08/2026", date(2026, 8, 1)),
        ("Sept 2025", date(2025, 9, 1)),
        ("March 14, 2025", date(2025, 3, 1)),
        ("Tested: 2025-03-14", date(2025, 3, 1)),
        ("2025-03-14", date(2025, 3, 14)),
    ],
)
def test_a_tag_may_tell_the_month_of_its_test(text, month):
    assert cell_value(text, TESTED) == month


@pytest.mark.parametrize("text", ["10-11", "03/04/25", "13/2025", "Mai 25", "25"])
def test_a_month_that_could_be_another_is_asked_about(text):
    assert isinstance(cell_value(text, TESTED), Complaint)


def test_only_a_column_that_counts_by_month_takes_a_month():
    assert isinstance(cell_value("08/2026", Column("planting", "date", "Day.")), Complaint)


@pytest.mark.parametrize(
    ("text", "percent"),
    # A trace is less than 0.05 percent: ISTA Rules, from memory.
    [("0.02", 0.02), ("<0.01", 0.01), ("< 0.01 %", 0.01), ("trace", 0.05), ("TR", 0.05), ("1", 1)],
)
def test_small_parts_of_a_tag_are_percents(text, percent):
    assert cell_value(text, WEED) == percent


def test_a_large_part_below_one_is_still_asked_about():
    purity = Column("purity_pct", "number", "Pure seed.", nullable=True, highest=100)
    for text in ("0.98", "<0.98", "trace"):
        assert isinstance(cell_value(text, purity), Complaint)


def test_a_point_by_threes_beside_decimal_commas_is_asked_about():
    for text in ("1.200", "12.345.678"):
        complaint = cell_value(text, NUMBER, decimal_comma=True)
        assert isinstance(complaint, Complaint)
        assert text.replace(".", "") in complaint.do
    assert cell_value("1,2", NUMBER, decimal_comma=True) == 1.2
    assert cell_value("0.125", NUMBER, decimal_comma=True) == 0.125
    assert cell_value("1.200", NUMBER) == 1.2


def test_none_is_an_answer_only_in_a_column_that_says_so():
    plain = Column("noxious", "text", "Weeds.", nullable=True)
    said = Column("noxious", "text", "Weeds.", nullable=True, none_is_said=True)
    assert cell_value("None", plain) is None
    assert cell_value("None", said) == "None"
    assert [cell_value(text, said) for text in ("", "-", "n/a")] == [None] * 3
