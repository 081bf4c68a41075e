"""Names as people type them."""

from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.names import clean_name, nearest_name


@given(st.text())
def test_cleaning_a_name_twice_is_cleaning_it_once(text):
    assert clean_name(clean_name(text)) == clean_name(text)


def test_near_names():
    assert nearest_name("n-5", ["N5", "S5"]) == "N5"
    assert nearest_name("creek", ["N5", "S5"]) is None
