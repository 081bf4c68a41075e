"""Headers and cells: a value, or a complaint that says what to write instead."""

from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.layer import Column
from pipeline.core.section import FIRST_DAY, LAST_DAY
from pipeline.intake.cells import Complaint, cell_value, date_in

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
