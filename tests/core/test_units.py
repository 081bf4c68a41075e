"""Factors against NIST SP 811; rounding against printed tables."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core import units


def test_factors_are_those_of_nist_sp_811_appendix_b():
    # NIST Special Publication 811 (2008), B.8: foot, mile, acre (international), pound.
    assert units.M_PER_FT == 0.3048
    assert pytest.approx(1609.344, abs=1e-12) == units.M_PER_MI
    assert pytest.approx(4046.8564224, abs=1e-9) == units.M2_PER_AC
    assert units.G_PER_LB == 453.59237


def test_mile_of_strip_8_25_ft_wide_is_one_acre():
    # ASABE EP496: 43,560 / 5,280 = 8.25, the divisor of field capacity in acres per hour.
    assert units.SQFT_PER_AC / units.FT_PER_MI == 8.25


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("gross_ac", "acre"),
        ("pls_lb_ac", "pound per acre"),
        ("price_usd_per_pls_lb", "U.S. dollar per pound of pure live seed"),
        ("wind_from_deg", "degree, clockwise from true north"),
        ("mean", None),
        ("place", None),
        # Compound units that are not in the list must not pass for their last part.
        ("edge_ft_ac", None),
        ("load_kg_m", None),
        ("cost_usd_ft", None),
        ("cost_per_ac", None),
        ("speed_ft_per_hours", None),
    ],
)
def test_unit_is_read_from_the_end_of_the_name(name, unit):
    assert units.unit_of(name) == unit


@pytest.mark.parametrize(
    ("value", "places", "printed"),
    [
        # Texas Parks and Wildlife / AgriLife animal-unit chart: a ewe of 0.175 prints as 0.18.
        (0.175, 2, "0.18"),
        # Iowa State University Extension PM 696: 50 ft at 6 mph and 70 % prints as 25.5 ac/h.
        (50 * 6 * 0.70 / 8.25, 1, "25.5"),
        (24.225, 2, "24.23"),
        (-0.125, 2, "-0.13"),
    ],
)
def test_ties_round_away_from_zero_as_printed_tables_do(value, places, printed):
    assert units.half_up(value, places) == Decimal(printed)


@given(st.floats(-1e9, 1e9), st.integers(0, 6))
def test_rounding_moves_a_value_by_half_a_step_at_most(value, places):
    step = Decimal(1).scaleb(-places)
    assert abs(units.half_up(value, places) - Decimal(repr(value))) <= step / 2


@pytest.mark.parametrize(
    ("name", "sign"),
    [("pls_lb_ac", "lb/ac"), ("price_usd_per_pls_lb", "$/lb PLS"), ("gross_ac", "ac"), ("x", "")],
)
def test_sign_of_a_unit_is_that_of_its_longest_suffix(name, sign):
    assert units.unit_symbol(name) == sign
