"""Names as people type them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.names import clean_name, natural_key, nearest_name, parted


@given(st.text())
def test_cleaning_a_name_twice_is_cleaning_it_once(text):
    assert clean_name(clean_name(text)) == clean_name(text)


def test_near_names():
    assert nearest_name("n-5", ["N5", "S5"]) == "N5"
    assert nearest_name("creek", ["N5", "S5"]) is None


def test_names_are_sorted_as_people_count():
    names = ["10", "2", "1", "A10", "a2", "North", "U1b", "U1", "007", "9" * 5000]
    assert sorted(names, key=natural_key) == [
        "1",
        "2",
        "007",
        "10",
        "9" * 5000,
        "a2",
        "A10",
        "North",
        "U1",
        "U1b",
    ]


@given(st.lists(st.integers(0, 10**6), min_size=1))
def test_names_with_numbers_stand_in_the_order_of_their_numbers(numbers):
    names = sorted((f"North-{number}" for number in numbers), key=natural_key)
    assert names == [f"North-{number}" for number in sorted(numbers)]


@given(st.lists(st.text()))
def test_any_names_can_be_put_in_order(names):
    assert sorted(sorted(names, key=natural_key)) == sorted(names)
    assert all(natural_key(name) == natural_key(name.casefold()) for name in names)


@pytest.mark.parametrize(
    ("cell", "known", "names"),
    [
        ("A", ["A"], ["A"]),
        ("A, B", ["A", "B"], ["A", "B"]),
        ("A, North, upper, Z", ["A", "North, upper", "Z"], ["A", "North, upper", "Z"]),
        ("a, b", ["a, b", "b"], ["a, b"]),
        ("A, gone", ["A"], ["A", "gone"]),  # a unit that is on no map any more
    ],
)
def test_names_in_one_cell_are_parted_where_a_known_name_ends(cell, known, names):
    assert parted(cell, known) == names
