"""From a cell to words.

Outside figures: rounding half up is that of Python's decimal module; the worked half cases are
those that binary fractions and rounding half to even get wrong. A compass rose of eight points
has one each 45 degrees.
"""

from decimal import ROUND_HALF_UP, Decimal

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.layer import Column
from pipeline.pages.words import (
    NOTHING,
    bare_heading,
    cell_words,
    figure_words,
    heading_words,
    number_words,
    plain,
    wind_words,
)

ACRES = Column("gross_ac", "number", "", heading="Gross", places=1)
CHANGE = Column("change", "number", "", heading="Change", places=3, signed=True, dimensionless=True)
WIND = Column("wind_from_deg", "number", "", heading="Wind from", places=0)


@pytest.mark.parametrize(
    ("value", "places", "words"),
    [
        (0.125, 2, "0.13"),
        (0.175, 2, "0.18"),  # 0.17 by the binary fraction
        (2.5, 0, "3"),  # 2 by rounding half to even
        (12345.5, 0, "12,346"),
        (-0.04, 1, "0.0"),
        (-1234.5, 0, "−1,235"),
        (1e6, 2, "1,000,000.00"),
        (float("nan"), 1, NOTHING),
    ],
)
def test_numbers_are_rounded_half_up_once(value, places, words):
    assert number_words(value, places) == words


@given(st.decimals(-(10**9), 10**9, places=4), st.integers(0, 3))
def test_rounding_is_that_of_the_decimal_module(value, places):
    expected = value.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    words = number_words(float(value), places).replace(",", "").replace("−", "-")
    assert Decimal(words) == expected
    assert words != "-0"


@pytest.mark.parametrize(
    ("value", "words"),
    [(0.07, "+0.070"), (-0.0694, "−0.069"), (0.0004, "0.000"), (-0.0004, "0.000")],
)
def test_a_change_shows_its_sign(value, words):
    assert cell_words(value, CHANGE) == words


@pytest.mark.parametrize(
    ("value", "column", "words"),
    [
        (2026, Column("year", "integer", ""), "2026"),
        (2026, Column("pixels", "integer", "", places=0), "2,026"),
        (pd.Timestamp(2027, 4, 5), Column("day", "date", ""), "2027-04-05"),
        (True, Column("narrow", "flag", ""), "yes"),
        (False, Column("narrow", "flag", ""), "no"),
        ("warm_season", Column("kind", "text", "", choices=("warm_season",)), "warm season"),
        ("below valid_pct", Column("kind", "text", "", choices=("warm",)), "below valid_pct"),
        ("field_7", Column("name", "text", ""), "field_7"),
        ("\u202eevil\u0007 שלום", Column("name", "text", ""), "evil  שלום"),
        (None, Column("name", "text", ""), NOTHING),
        (pd.NaT, Column("day", "date", ""), NOTHING),
        (pd.NA, Column("pixels", "integer", "", places=0), NOTHING),
        (pd.NA, Column("narrow", "flag", ""), NOTHING),
    ],
)
def test_each_kind_of_cell_has_its_words(value, column, words):
    assert cell_words(value, column) == words


@pytest.mark.parametrize(
    ("degrees", "words"),
    [
        (0.0, "0 (N)"),
        (22.4, "22 (N)"),
        (22.6, "23 (NE)"),
        (90.0, "90 (E)"),
        (225.0, "225 (SW)"),
        (337.6, "338 (N)"),
        (359.7, "0 (N)"),
    ],
)
def test_a_direction_has_its_compass_point_and_north_is_zero(degrees, words):
    assert cell_words(degrees, WIND) == words


def test_a_figure_carries_its_unit_and_a_dash_carries_none():
    assert figure_words(12.25, ACRES) == "12.3 ac"
    assert figure_words(None, ACRES) == NOTHING
    assert figure_words(0.07, CHANGE) == "+0.070"
    assert figure_words(225.0, WIND) == "SW (225°)"
    assert wind_words(359.6) == "N (0°)"
    assert wind_words(float("nan")) == "no wind planned"


def test_a_heading_has_its_unit_in_brackets_and_a_column_without_one_its_name():
    assert heading_words(ACRES) == "Gross (ac)"
    assert bare_heading(ACRES) == "Gross"
    assert heading_words(CHANGE) == "Change"
    nameless = Column("burned_share_pct", "number", "")
    assert heading_words(nameless) == bare_heading(nameless) == "Burned share pct"


@given(st.text())
def test_plain_text_holds_nothing_that_cannot_be_seen(text):
    seen = plain(text)
    assert all(
        character.isprintable() or character == " " or ord(character) > 127 for character in seen
    )
    assert not set(seen) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
    assert plain(seen) == seen
