"""Fuel balance and burn window: published thresholds, the trade's own rules, monotone behavior."""

import math

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.season import fuel, green_up, herd
from pipeline.season.settings import FuelSettings, HerdSettings
from tests.literal_layers import literal_layer
from tests.made_season import log, square_units, standing_row

REGION = [{"region": "central plains", "cured_from": "03-01", "green_from": "04-10",
           "green_full": "06-10", "source": "common practice"}]  # fmt: skip
load_lb_ac = st.floats(0, 6000)
share_pct = st.floats(0, 100)


def judged(units, standing, treatments=None, told=None, region=REGION, temperatures=None, **tables):
    treatments = log() if treatments is None else treatments
    return fuel.judge_fuel(
        units,
        standing,
        treatments,
        herd.rate_grazing(units, treatments, HerdSettings()),
        tables.get("winter_losses", empty(LAYERS["winter_losses"])),
        empty(LAYERS["daily_temperatures"]) if temperatures is None else temperatures,
        literal_layer("green_up", region) if region else empty(LAYERS["green_up"]),
        tables.get("nesting", empty(LAYERS["nesting_seasons"])),
        tables.get("limits", empty(LAYERS["unit_limits"])),
        pd.DataFrame({"name": ["x"], "season": [2027]}),
        told or FuelSettings(),
    ).set_index("unit_id")


@pytest.mark.parametrize(("loss_pct", "left"), [(24, 2280), (43, 1710), (56, 1320), (50, 1500)])
def test_three_thousand_pounds_after_winter(loss_pct, left):
    # Willms, Adams and Dormaar, J. Range Manage. (24, 43, 56 %); South Dakota State University
    # Extension, 2021 (half).
    assert fuel.spring_load_lb_ac(3000, 0, loss_pct) == pytest.approx(left)


def test_constructed_balance():
    # 2,800 lb/ac less 398 are 2,402 in fall; 27 % and 50 % loss leave 1,753 and 1,201.
    assert fuel.spring_load_lb_ac(2800, 398, 0) == 2402
    assert fuel.spring_load_lb_ac(2800, 398, 27) == pytest.approx(1753, abs=0.6)
    assert fuel.spring_load_lb_ac(2800, 398, 50) == 1201


@pytest.mark.parametrize(
    ("load", "carries"), [(999, "no"), (1000, "patchy"), (1499, "patchy"), (1500, "yes"),
                          (4000, "yes"), (math.nan, "unknown")],
)  # fmt: skip
def test_thresholds(load, carries):
    # Noble 2012: from 1,000, the low end patchy; Stevens 2005: 1,500 usually the least.
    assert fuel.carries_of_load(load, FuelSettings()) == carries


def test_heavy_load_points_back_to_the_breaks():
    assert "widths" in fuel.load_class(3000, FuelSettings())
    assert fuel.load_class(math.nan, FuelSettings()) is None


def test_degrees_of_the_extension_column():
    # NDSU column, 2012: (70 + 40) ÷ 2 − 32 = 23.
    assert green_up.degree_days(pd.Series([70.0]), pd.Series([40.0]))[0] == 23


def test_degree_days_of_four_days():
    # Hand: base 32 °F on (40, 60) (38, 58) (45, 71) (30, 50): 68.
    high, low = pd.Series([60, 58, 71, 50.0]), pd.Series([40, 38, 45, 30.0])
    assert green_up.degree_days(high, low).sum() == 68


def test_counting_waits_for_five_mild_days():
    means = pd.Series([40, 40, 40, 40, 30, 33, 33, 33, 33, 33, 20.0]).to_numpy()
    assert green_up.counting_start(means) == 5
    assert green_up.counting_start(means[:8]) is None


# The trade's own rules: common practice, no source.


def test_badly_degraded_pasture_does_not_carry():
    # Common practice: it yields about 1,000 lb/ac.
    row = judged(square_units(A=80), standing_row("A", 1000)).loc["A"]
    assert row["carries"] == "no"
    assert pd.isna(row["burn_until"])


@pytest.mark.parametrize("fall_lb_ac", [3300, 3600, 4200])
def test_rested_unit_burns_to_the_end_of_may(fall_lb_ac):
    # Common practice: as late as the end of May into early June.
    until = judged(square_units(A=80), standing_row("A", fall_lb_ac)).loc["A", "burn_until"]
    assert pd.Timestamp("2027-05-22") <= until <= pd.Timestamp("2027-06-10")


def test_unit_grazed_in_the_spring_before_burns_in_april_or_early_may():
    # Common practice. 3,400 lb/ac grown; 45 pairs of 1.3 AU took 80 ac from mid-April to June 25.
    grown = standing_row("A", 3400).assign(measure="production")
    grazed = log({"unit_id": "A", "start": "2026-04-15", "end": "2026-06-25", "kind": "graze",
                  "head": 22, "animal_unit_equivalent": 1.3})  # fmt: skip
    units = square_units(A=80)
    row, rested = judged(units, grown, grazed).loc["A"], judged(units, grown).loc["A"]
    assert row["carries"] == "patchy"
    assert pd.Timestamp("2027-04-15") <= row["burn_until"] <= pd.Timestamp("2027-05-10")
    assert rested["burn_until"] > row["burn_until"] + pd.Timedelta(days=14)


def test_unit_without_a_measurement_is_unknown():
    row = judged(square_units(A=80), empty(LAYERS["standing"])).loc["A"]
    assert row["carries"] == "unknown"
    assert row["reason"].startswith("unknown: needs a clip plot")
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
    assert f"after the {kind} of 2026-11-10" in row["reason"]


def test_late_grazing_without_head_makes_it_unknown():
    taken = log({"unit_id": "A", "start": "2026-11-01", "end": "2026-12-01", "kind": "graze"})
    row = judged(square_units(A=80), standing_row("A", 4000), taken).loc["A"]
    assert "needs head" in row["reason"]


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
    row = judged(square_units(A=80), standing_row("A", 4000), region=None).loc["A"]
    assert row["carries"] == "yes"
    assert pd.isna(row["burn_until"])
    assert "needs daily_temperatures" in row["reason"]


def test_own_temperatures_go_before_dates():
    days = pd.date_range("2026-01-01", "2026-12-31")
    temperatures = literal_layer("daily_temperatures", [
        {"date": d, "tmax_f": 60.0 if d.month > 3 else 20, "tmin_f": 50.0 if d.month > 3 else 10}
        for d in days
    ])  # fmt: skip
    standing = standing_row("A", 3000)
    row = judged(square_units(A=80), standing, temperatures=temperatures).loc["A"]
    # 23 degree-days each day from April 1; 1,500 × 0.4 ÷ 0.6 = 1,000 lb/ac green are two thirds of
    # 1,500: 300 + 2/3 × 1,600 = 1,366.7 degree-days, that is 59 full days: to May 29.
    assert row["burn_until"] == pd.Timestamp("2027-05-29")
    assert "2026" in row["reason"]


def test_warm_days_before_the_counting_start_do_not_count():
    # A hot spell of three days in March, then frost to the end of the month.
    days = pd.date_range("2026-03-01", "2026-07-31")
    mean = {
        d: 90 if d.month == 3 and 16 <= d.day <= 18 else 20 if d.month == 3 else 55 for d in days
    }
    rows = [{"date": d, "tmax_f": mean[d] + 5.0, "tmin_f": mean[d] - 5.0} for d in days]
    row = judged(square_units(A=80), standing_row("A", 3000),
                 temperatures=literal_layer("daily_temperatures", rows)).loc["A"]  # fmt: skip
    assert row["burn_until"] == pd.Timestamp("2027-05-29"), "as without the hot spell"


def test_broken_date_in_the_table_is_a_fault():
    broken = [REGION[0] | {"green_from": "4/10"}]
    (fault,) = green_up.green_up_faults(literal_layer("green_up", broken))
    assert "04-10" in fault.expected


def test_nesting_season_and_contract_are_shown():
    # North Dakota, primary nesting season April 15 to August 1 (NDSU release, 2008).
    season = {"state": "North Dakota", "first_day": "04-15", "last_day": "08-01",
              "source": "NDSU 2008"}  # fmt: skip
    nesting = literal_layer("nesting_seasons", [season])
    limits = literal_layer(
        "unit_limits", [{"unit_id": "A", "kind": "contract", "note": "ask the office"}]
    )
    row = judged(square_units(A=80), standing_row("A", 4000), nesting=nesting, limits=limits,
                 told=FuelSettings(state="North Dakota")).loc["A"]  # fmt: skip
    assert "nesting season 04-15 to 08-01" in row["conflicts"]
    assert "contract (no approval on record): ask the office" in row["conflicts"]
    assert not pd.isna(row["burn_until"]), "shown, not resolved"


def test_every_answer_says_it_is_no_permission():
    row = judged(square_units(A=80), standing_row("A", 4000)).loc["A"]
    assert "no permission to light anything" in row["reason"]


@given(load_lb_ac, load_lb_ac, share_pct, share_pct)
def test_more_loss_or_more_grazing_never_raises_the_load(fall, gone, loss, more):
    base = fuel.spring_load_lb_ac(fall, gone, loss)
    assert fuel.spring_load_lb_ac(fall, gone, min(100, loss + more)) <= base
    assert fuel.spring_load_lb_ac(fall, gone + more, loss) <= base
    assert 0 <= base <= fall


@settings(deadline=None, max_examples=30)
@given(st.floats(0, 60), st.floats(0, 60))
def test_more_grazing_never_lengthens_the_window(head, more):
    units = square_units(A=80)
    lasts = []
    for animals in (head, head + more):
        grazed = log({"unit_id": "A", "start": "2026-10-10", "end": "2026-11-20", "kind": "graze",
                      "head": animals, "animal_unit_equivalent": 1})  # fmt: skip
        lasts.append(judged(units, standing_row("A", 4000), grazed).loc["A", "burn_until"])
    assert pd.isna(lasts[1]) or lasts[1] <= lasts[0]


@given(load_lb_ac, load_lb_ac)
def test_heavier_load_never_closes_earlier(load, more):
    spring = green_up.spring_of(2027, empty(LAYERS["daily_temperatures"]),
                                literal_layer("green_up", REGION), FuelSettings())  # fmt: skip
    first, second = (green_up.close_day(spring, x, FuelSettings()) for x in (load, load + more))
    assert first <= second
