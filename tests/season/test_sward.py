"""What grows: share of exotics by survey and by own pictures, and the green it adds."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.fuel.sward import green_load_lb_ac, share_of_picture_pct, sward_of
from pipeline.season.fuel.window import close_day
from tests.literal_layers import literal_layer
from tests.made_season import property_row, square_units, standing_row, unit_rows
from tests.season.test_fuel import judged
from tests.season.test_green_up import spring

PICTURED = {
    "early_date": "2026-05-06",
    "midsummer_date": "2026-07-20",
    "pictures": "2026-05-06, 2026-07-20",
    "dormant": 0.2,
    "midsummer": 0.7,
    "dormant_from": "setting",
    "limits": "made",
}


SURVEYED = {
    "transects": 3,
    "interval": "rests_on_three_or_more",
    "interval_cut": False,
    "native_may_be_more": False,
    "species": 9,
}


def surveyed(units, share_pct, day="2026-06-20"):
    """Layer ``community`` of one survey of each unit."""
    return unit_rows("community", units, date=day, cool_exotic_share_pct=share_pct, **SURVEYED)


def pictured(early, **more):
    """Table ``cool_season`` of the unit A, 0.2 dormant and 0.7 in midsummer."""
    row = {"unit_id": "A", "year": 2026, "early": early, **PICTURED, **more}
    return literal_layer("cool_season", [row])


def fuel_of(**tables):
    """Row of the layer fuel of 4,500 lb/ac at 44 N, by the shipped dates."""
    return judged(
        square_units(44.0, A=80),
        standing_row("A", 4500),
        region="shipped",
        place=property_row(region="northern plains"),
        **tables,
    ).loc["A"]


def test_brome_in_place_of_natives_moves_the_window():
    # Brome is green weeks before warm-season natives are (NDSU R1061: tame ready at 443 degree-
    # days, most natives above 1,000).
    units = square_units(44.0, A=80)
    brome = fuel_of(community=surveyed(units, 90.0))
    natives = fuel_of(community=surveyed(units, 20.0))
    assert brome["burn_until"] < natives["burn_until"] - pd.Timedelta(days=10)
    assert (brome["cool_exotic_share_pct"], brome["sward_from"]) == (90, "survey")


def test_newest_survey_tells_the_sward():
    units = square_units(44.0, A=80)
    both = pd.concat([surveyed(units, 90.0, "2025-06-20"), surveyed(units, 40.0)])
    assert fuel_of(community=both)["cool_exotic_share_pct"] == 40


def test_own_spring_greenness_moves_the_window():
    # Hand: 0.6 in May is 80 % of the green-up of midsummer, 0.3 is 20 %.
    green, brown = fuel_of(cool_season=pictured(0.6)), fuel_of(cool_season=pictured(0.3))
    assert green["burn_until"] < brown["burn_until"] - pd.Timedelta(days=7)
    assert green["sward_from"] == brown["sward_from"] == "pictures"
    assert green["pictures_share_pct"] > 90 > 60 > brown["pictures_share_pct"]


def test_window_by_dates_is_told_with_the_days_that_springs_lie_apart():
    # North Dakota State University, 2011, and K-State eUpdate 446, 2014: up to 10 days either way.
    row = fuel_of()
    days = pd.Timedelta(days=10)
    told = (row["burn_until_early"], row["burn_until_late"])
    assert told == (row["burn_until"] - days, row["burn_until"] + days)


def test_survey_and_pictures_are_the_two_ends_of_the_window():
    row = fuel_of(community=surveyed(square_units(44.0, A=80), 20.0), cool_season=pictured(0.6))
    assert row["survey_share_pct"] == 20
    mean = (row["survey_share_pct"] + row["pictures_share_pct"]) / 2
    assert row["cool_exotic_share_pct"] == pytest.approx(mean)
    assert row["sward_from"] == "survey_and_pictures"
    assert row["burn_until_low"] < row["burn_until"] < row["burn_until_high"]


@pytest.mark.parametrize(
    "odd",
    [
        # Burned between the pictures, four springs ago, no green-up in midsummer.
        {"reason": "burned"},
        {"year": 2023},
        {"midsummer": 0.2},
    ],
)
def test_picture_that_tells_nothing_is_left_out(odd):
    row = fuel_of(cool_season=pictured(0.6, **odd))
    assert pd.isna(row["pictures_share_pct"])
    assert row["sward_from"] == "ordinary_for_the_place"


def test_setting_goes_before_what_is_ordinary_but_not_before_a_survey():
    own = FuelSettings(cool_exotic_share_pct=55)
    assert fuel_of(settings=own)["sward_from"] == "setting"
    assert fuel_of(settings=own)["cool_exotic_share_pct"] == 55
    survey = surveyed(square_units(44.0, A=80), 20.0)
    assert fuel_of(settings=own, community=survey)["cool_exotic_share_pct"] == 20


def test_nothing_known_is_reckoned_as_exotic():
    nothing = literal_layer("community"), literal_layer("cool_season")
    sward = sward_of(*nothing, None, 2027, FuelSettings())
    assert (sward.likely_pct, sward.rests_on) == (90, "nothing")


@pytest.mark.parametrize(
    ("greenness", "degree_days", "share_pct"),
    [
        # Hand: at 575 degree-days a cool stand is half as green as in midsummer, a warm one brown.
        (0.5, 575, 100),
        (0.25, 575, 50),
        (0.0, 575, 0),
        # At 800 cool (800 - 150) / 850 = 0.765, warm 200 / 1,300 = 0.154.
        (0.4595, 800, 50),
        (1.2, 800, 100),
        # Both brown, both green.
        (0.1, 200, math.nan),
        (0.9, 1800, math.nan),
    ],
)
def test_share_by_how_green_a_picture_is(greenness, degree_days, share_pct):
    share = share_of_picture_pct(greenness, degree_days)
    assert share == pytest.approx(share_pct, abs=0.1, nan_ok=True)


def test_green_of_exotics_natives_and_half_of_each():
    # Hand: halfway from 150 to 1,900 exotics have half of 2,300 lb/ac; natives at 1,025 have
    # (1,025 - 600) / 1,300 of 650.
    sums, of = np.array([1025.0]), FuelSettings()
    exotic, native = 1150, 212.5
    assert green_load_lb_ac(sums, 100, of)[0] == pytest.approx(exotic)
    assert green_load_lb_ac(sums, 0, of)[0] == pytest.approx(native)
    assert green_load_lb_ac(sums, 50, of)[0] == pytest.approx((exotic + native) / 2)


def closes(dead_lb_ac, share_pct, **told):
    """Last day of a window at a load that stays the same, by the spring of the tests."""
    course = spring()
    dead = np.full(len(course.days), float(dead_lb_ac))
    return close_day(course, course.degree_days, dead, share_pct, FuelSettings(**told))


def test_what_green_leaves_of_the_dead_must_still_carry():
    # Hand, exotics alone: beside 2,700 dead 1,700 green leave 1,000: 150 + 1,750 × 1,700 ÷ 2,300 =
    # 1,443.5 degree-days, root 37.99, of 17.32 to 43.59 that is 78.7 % of the 61 days from April
    # 10: the 48th, May 28. Beside 2,400 dead 1,400: 1,215.2, root 34.86, 66.8 %: the 40th, May 20.
    assert closes(2700, 100) == pd.Timestamp("2027-05-28")
    assert closes(2400, 100) == pd.Timestamp("2027-05-20")


def test_green_is_never_more_than_its_largest_share_of_all_fuel():
    # Hand: 20 % green beside 2,400 dead are 600: 606.5 degree-days, root 24.63, 27.8 %: the 16th.
    assert closes(2400, 100, most_green_pct=20) == pd.Timestamp("2027-04-26")


def test_no_window_is_open_past_the_last_degree_days():
    # Hand: root of 1,700 is 41.23, 91 % of 61 days: the 55th from April 10, June 4.
    assert closes(6000, 0) == pd.Timestamp("2027-06-04")


@given(st.floats(0, 6000), st.floats(0, 3000), st.floats(0, 100))
def test_heavier_load_never_closes_earlier(load, more, share):
    first, second = closes(load, share), closes(load + more, share)
    assert first is None or first <= second


@given(st.floats(1000, 6000), st.floats(0, 100), st.floats(0, 100))
def test_more_exotics_never_close_later(load, share, other):
    few, many = sorted((share, other))
    assert closes(load, many) <= closes(load, few)
