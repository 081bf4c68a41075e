"""Fuel balance and burn window: published thresholds, the trade's own rules, monotone behavior."""

import math

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.season import herd
from pipeline.season.fuel import balance, unit_fuel
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.settings import HerdSettings
from tests.literal_layers import literal_layer
from tests.made_season import (
    SEASON,
    log,
    property_row,
    shipped_green_up,
    square_units,
    standing_row,
)

CENTRAL = {
    "region": "central plains",
    "cool_exotic_share_pct": 30,
    "cured_from": "03-01",
    "green_from": "04-10",
    "green_full": "06-10",
    "source": "common practice",
}
NORTHERN = {
    "region": "northern plains",
    "cool_exotic_share_pct": 30,
    "cured_from": "03-25",
    "green_from": "04-25",
    "green_full": "06-20",
    "source": "NDSU R1061",
}
load_lb_ac = st.floats(0, 6000)
share_pct = st.floats(0, 100)


def judged(units, standing, treatments=None, region=(CENTRAL,), place=SEASON, **tables):
    treatments = log() if treatments is None else treatments

    def given(name):
        return tables.get(name, empty(LAYERS[name]))

    return unit_fuel.judge_fuel(
        units,
        standing,
        treatments,
        given("planned_log"),
        given("burns"),
        given("burned_areas"),
        herd.rate_grazing(units, treatments, HerdSettings()),
        given("community"),
        given("cool_season"),
        given("winter_losses"),
        given("daily_temperatures"),
        shipped_green_up() if region == "shipped" else literal_layer("green_up", region),
        place,
        tables.get("settings", FuelSettings()),
        HerdSettings(),
    ).set_index("unit_id")


def grazed(start, end, head=None, each=None):
    """Log of one grazing of the unit A."""
    days = {"start": start, "end": end, "kind": "graze"}
    return log({"unit_id": "A", "head": head, "animal_unit_equivalent": each, **days})


@pytest.mark.parametrize(("loss_pct", "left"), [(24, 2280), (43, 1710), (56, 1320), (50, 1500)])
def test_three_thousand_pounds_after_winter(loss_pct, left):
    # Willms, Adams and Dormaar, J. Range Manage. (24, 43, 56 %); South Dakota State University
    # Extension, 2021 (half).
    assert balance.spring_load_lb_ac(3000, 0, loss_pct) == pytest.approx(left)


def test_constructed_balance():
    # 2,800 lb/ac less 398 are 2,402 in fall; 27 % and 50 % loss leave 1,753 and 1,201.
    assert balance.spring_load_lb_ac(2800, 398, 0) == 2402
    assert balance.spring_load_lb_ac(2800, 398, 27) == pytest.approx(1753, abs=0.6)
    assert balance.spring_load_lb_ac(2800, 398, 50) == 1201


@pytest.mark.parametrize(
    ("load", "carries", "load_class"),
    [
        (999, "no", "will_not_carry"),
        (1000, "patchy", "patchy"),
        (1499, "patchy", "patchy"),
        (1500, "yes", "carries"),
        (1999, "yes", "carries"),
        (2000, "yes", "reaches_brush"),
        (3000, "yes", "heavy"),
        (math.nan, "unknown", None),
    ],
)
def test_thresholds(load, carries, load_class):
    # Noble 2012: from 1,000, the low end patchy, brush from 2,000; Stevens 2005: 1,500 usually the
    # least; Texas Ranching Conservancy, burn standards: optimum from 3,000.
    assert unit_fuel.carries_of_load(load, FuelSettings()) == carries
    assert unit_fuel.load_class(load, FuelSettings()) == load_class


# The trade's own rules: common practice, no source.


def test_badly_degraded_pasture_does_not_carry():
    # Common practice: it yields about 1,000 lb/ac.
    row = judged(square_units(A=80), standing_row("A", 1000)).loc["A"]
    assert row["carries"] == "no"
    assert pd.isna(row["burn_until"])


@pytest.mark.parametrize("fall_lb_ac", [3300, 3600, 4200])
def test_rested_unit_burns_to_the_end_of_may(fall_lb_ac):
    # Common practice: as late as the end of May into early June; natives at 40 N.
    units, standing = square_units(40.0, A=80), standing_row("A", fall_lb_ac)
    until = judged(units, standing, region="shipped").loc["A", "burn_until"]
    assert pd.Timestamp("2027-05-22") <= until <= pd.Timestamp("2027-06-10")


def test_unit_grazed_in_the_spring_before_burns_in_april_or_early_may():
    # Common practice. 3,400 lb/ac grown, of which 18 pairs of 1.3 AU on 80 ac from mid-April to
    # June 25 left about 1,150 in spring; natives at 40 N.
    grown = standing_row("A", 3400).assign(measure="production")
    taken = grazed("2026-04-15", "2026-06-25", 18, 1.3)
    units = square_units(40.0, A=80)
    row, rested = (
        judged(units, grown, log_rows, region="shipped").loc["A"] for log_rows in (taken, None)
    )
    assert row["carries"] == "patchy"
    assert pd.Timestamp("2027-04-15") <= row["burn_until"] <= pd.Timestamp("2027-05-10")
    assert rested["burn_until"] > row["burn_until"] + pd.Timedelta(days=14)


def test_unit_without_a_measurement_is_unknown():
    row = judged(square_units(A=80), empty(LAYERS["standing"])).loc["A"]
    assert row["carries"] == "unknown"
    assert row["reason"] == "needs_measurement"
    assert pd.isna(row["spring_load_lb_ac"])


@pytest.mark.parametrize("day", ["2025-10-01", "2026-06-20"])
def test_old_and_early_measurements_do_not_tell_spring_fuel(day):
    early = standing_row("A", 3000).assign(date=pd.Timestamp(day))
    assert judged(square_units(A=80), early).loc["A", "carries"] == "unknown"


@pytest.mark.parametrize("kind", ["burn", "hay", "mow"])
def test_fuel_taken_after_the_measurement_makes_it_unknown(kind):
    taken = log({"unit_id": "A", "start": "2026-11-10", "kind": kind})
    row = judged(square_units(A=80), standing_row("A", 4000), taken).loc["A"]
    assert row["carries"] == "unknown"
    assert row["reason"] == "needs_new_measurement"
    assert (row["removed_by"], row["removed_on"]) == (kind, pd.Timestamp("2026-11-10"))


def test_standing_load_already_lacks_what_was_eaten_before_it_was_measured():
    # Hand: 20 AU × 26 lb × 30 days on 80 ac are 195 lb/ac eaten, at 49 % 398 disappeared: taken off
    # what grew in the year, but not off what still stood in October.
    units, taken = square_units(A=80), grazed("2026-05-01", "2026-05-30", 20, 1)
    standing = judged(units, standing_row("A", 3000), taken).loc["A"]
    assert standing["disappeared_lb_ac"] == 0
    grown = judged(units, standing_row("A", 3000, measure="production"), taken).loc["A"]
    assert grown["disappeared_lb_ac"] == pytest.approx(398, abs=0.5)


def test_late_grazing_without_head_makes_it_unknown():
    taken = grazed("2026-11-01", "2026-12-01")
    row = judged(square_units(A=80), standing_row("A", 4000), taken).loc["A"]
    assert row["reason"] == "needs_animals"


def test_spring_measurement_loses_no_winter():
    spring = standing_row("A", 1600).assign(date=pd.Timestamp("2027-03-25"))
    assert judged(square_units(A=80), spring).loc["A", "spring_load_lb_ac"] == 1600


def test_loss_of_the_kind_of_ground_goes_before_the_setting():
    units = square_units(A=80).assign(cover="bluegrass and sedge")
    row = {"cover": "bluegrass and sedge", "low_pct": 43, "likely_pct": 56, "high_pct": 58}
    losses = literal_layer("winter_losses", [row | {"source": "Willms"}])
    row = judged(units, standing_row("A", 3000), winter_losses=losses).loc["A"]
    assert row["spring_load_lb_ac"] == pytest.approx(1320)


def test_no_dates_means_no_window_and_says_so():
    row = judged(square_units(A=80), standing_row("A", 4000), region=()).loc["A"]
    assert row["carries"] == "yes"
    assert pd.isna(row["burn_until"])
    assert row["reason"] == "needs_dates"


def test_temperatures_go_before_dates():
    days = pd.date_range("2026-01-01", "2026-12-31")
    rows = [
        {"date": d, "tmax_f": 60.0 if d.month > 3 else 20, "tmin_f": 50.0 if d.month > 3 else 10}
        for d in days
    ]
    temperatures = literal_layer("daily_temperatures", rows)
    standing = standing_row("A", 3000)
    row = judged(square_units(A=80), standing, daily_temperatures=temperatures).loc["A"]
    # 23 degree-days each day from April 1, 1,500 lb/ac dead: green may reach 500. With 30 % exotics
    # 0.3 × 2,300 × (D − 150) ÷ 1,750 + 0.7 × 650 × (D − 600) ÷ 1,300 = 500 at D = 1,033.4, that is
    # 44 full days: to May 14.
    assert row["burn_until"] == pd.Timestamp("2027-05-14")
    assert (row["reason"], row["temperature_years"]) == ("own_temperatures", "2026")


def test_temperatures_of_the_season_itself_go_before_those_of_other_years():
    # As above: at 23 degree-days a day from April 1 the window ends on May 14; a season that is
    # warm from March 15 on ends it 17 days before, whatever a cold year before it did.
    def spring(year, warm_from):
        days = pd.date_range(f"{year}-01-01", f"{year}-07-31")
        mild = {d: d >= pd.Timestamp(f"{year}-{warm_from}") for d in days}
        rows = [
            {"date": d, "tmax_f": 60 if m else 20, "tmin_f": 50 if m else 10}
            for d, m in mild.items()
        ]
        return literal_layer("daily_temperatures", rows)

    both = pd.concat([spring(2026, "05-01"), spring(2027, "03-15")])
    row = judged(square_units(A=80), standing_row("A", 3000), daily_temperatures=both).loc["A"]
    assert row["burn_until"] == pd.Timestamp("2027-04-27")
    assert row["temperature_years"] == "2027"


def test_last_day_by_the_dates_of_the_region():
    # Hand: 3,000 lb/ac in fall leave 1,500: green may reach 500 lb/ac, at 1,033.4 degree-days as
    # above. Roots of 300, 1,033.4 and 1,900 are 17.32, 32.15 and 43.59: 56.4 % of the way. Of the
    # 61 days from April 10 to June 10 that is the 34th, May 14; of the 56 days from April 25 to
    # June 20 the 31st, May 26.
    units, standing = square_units(A=80), standing_row("A", 3000)
    both = (CENTRAL, NORTHERN)
    central = judged(units, standing, region=both).loc["A"]
    assert central["burn_until"] == pd.Timestamp("2027-05-14")
    assert central["burn_from"] == pd.Timestamp("2027-03-01")
    assert central["reason"] == "dates_of_the_region"
    named = judged(units, standing, region=both, place=property_row(region="Northern Plains"))
    assert named.loc["A", "burn_until"] == pd.Timestamp("2027-05-26")
    assert named.loc["A", "burn_from"] == pd.Timestamp("2027-03-25")


def test_low_and_high_load_have_their_own_answers():
    # Hand: 3,000 lb/ac (2,000 to 4,000) less 56, 50 and 24 % leave 880, 1,500 and 3,040.
    wide = standing_row("A", 3000, low_lb_ac=2000.0, high_lb_ac=4000.0)
    row = judged(square_units(A=80), wide).loc["A"]
    assert row["spring_load_low_lb_ac"] == pytest.approx(880)
    assert row["spring_load_high_lb_ac"] == pytest.approx(3040)
    assert (row["carries_low"], row["carries"], row["carries_high"]) == ("no", "yes", "yes")
    assert pd.isna(row["burn_until_low"])
    assert row["burn_until_high"] > row["burn_until"]


def test_grass_left_of_earlier_years_is_fuel_beside_what_grew():
    carried = standing_row("A", 2000, carryover_lb_ac=1000.0)
    assert judged(square_units(A=80), carried).loc["A", "spring_load_lb_ac"] == 1500


@given(load_lb_ac, load_lb_ac, share_pct, share_pct)
def test_more_loss_or_more_grazing_never_raises_the_load(fall, gone, loss, more):
    left = balance.spring_load_lb_ac(fall, gone, loss)
    assert balance.spring_load_lb_ac(fall, gone, min(100, loss + more)) <= left
    assert balance.spring_load_lb_ac(fall, gone + more, loss) <= left
    assert 0 <= left <= fall


@settings(deadline=None, max_examples=30)
@given(st.floats(0, 60), st.floats(0, 60))
def test_more_grazing_never_lengthens_the_window(head, more):
    units = square_units(A=80)
    lasts = []
    for animals in (head, head + more):
        taken = grazed("2026-10-10", "2026-11-20", animals, 1)
        lasts.append(judged(units, standing_row("A", 4000), taken).loc["A", "burn_until"])
    assert pd.isna(lasts[1]) or lasts[1] <= lasts[0]
