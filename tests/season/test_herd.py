"""Animals and forage, against worked examples of stocking-rate lessons."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import half_up
from pipeline.season import herd
from pipeline.season.settings import HerdSettings, SeasonSettings
from tests.made_season import log, square_units, standing_row


def grazing_of(units, treatments, settings=None):
    rates = herd.rate_grazing(units, treatments, settings or HerdSettings())
    return herd.count_grazing(rates, SeasonSettings())


@pytest.mark.parametrize(
    ("weight_lb", "equivalent"), [(700, 0.765), (1200, 1.147), (1400, 1.287), (1500, 1.355)]
)
def test_metabolic_equivalent(weight_lb, equivalent):
    # Manske, NDSU Dickinson Research Extension Center, 1998: (weight ÷ 1,000)^0.75.
    assert herd.equivalent_of_weight(weight_lb, "metabolic") == pytest.approx(equivalent, abs=5e-4)


def test_linear_equivalent():
    # 0.1 for each 100 lb (Agproud); 26 × 1.2 and × 1.4 are 31.2 and 36.4 lb/day (Basarab and
    # Gould, Alberta).
    assert 26 * herd.equivalent_of_weight(1200, "linear") == pytest.approx(31.2)
    assert 26 * herd.equivalent_of_weight(1400, "linear") == pytest.approx(36.4)


@pytest.mark.parametrize(
    ("herds", "aum"),
    [
        # North Dakota stocking-rate lesson; May 1 to October 1 are 5.0 months, to July 15 2.5.
        ([(200, 1.2, 5), (10, 1.6, 2.5)], 1240),
        # farms.com: 400 pairs of 1,300 lb, 14 bulls of 2,000 lb, 10 horses of 1,500 lb, 6 months.
        ([(400, 1.3, 6)], 3120),
        ([(14, 2.0, 6)], 168),
        ([(10, 1.5, 6)], 90),
        ([(100, 0.2, 1)], 20),
    ],
)
def test_animal_unit_months(herds, aum):
    assert sum(herd.animal_unit_months(*one) for one in herds) == pytest.approx(aum)


@pytest.mark.parametrize(
    ("weight_lb", "intake_pct", "eaten", "au"),
    [
        # Texas Parks and Wildlife and AgriLife, animal-unit chart: pounds a year, printed half up.
        (1000, 2.6, 9490, "1.00"), (1100, 3, 12045, "1.27"), (130, 3.5, 1661, "0.18"),
        (100, 3.5, 1278, "0.13"), (800, 3, 8760, "0.92"), (1000, 2.5, 9125, "0.96"),
    ],
)  # fmt: skip
def test_yearly_intake_of_the_texas_chart(weight_lb, intake_pct, eaten, au):
    a_day = weight_lb * intake_pct / 100
    assert half_up(herd.eaten_lb(365.0, a_day), 0) == eaten
    assert str(half_up(round(a_day / 26, 6), 2)) == au


def test_take_half_leave_half():
    # Launchbaugh, University of Idaho: 800 lb/ac × 550 ac × 45 % = 198,000 lb; at 750, 780 and
    # 915 lb an AUM these are 264, 253.8 and 216.4 AUM.
    supply_lb = 800 * 550 * 0.45
    assert supply_lb == pytest.approx(198_000)
    for month_lb, aum in ((750, 264), (780, 253.8), (915, 216.4)):
        units, standing = square_units(A=550), standing_row("A", 800)
        settings = HerdSettings(harvest_efficiency_pct=45, month_lb_aum=month_lb, head=1,
                                animal_unit_equivalent=1)  # fmt: skip
        forage = balance(units, standing, settings)
        assert forage["supply_lb"].iloc[0] == pytest.approx(198_000)
        assert forage["supply_aum"].iloc[0] == pytest.approx(aum, abs=0.05)


def test_aum_an_acre_of_the_extension_column():
    # Cattle Network extension column: 2,000 lb/ac × 25 % ÷ 912 lb = 0.548 AUM/ac; 160 ac, 87.7.
    settings = HerdSettings(month_lb_aum=912)
    forage = balance(square_units(A=160), standing_row("A", 2000), settings)
    assert forage["supply_aum"].iloc[0] == pytest.approx(87.7, abs=0.05)


def balance(units, standing, settings, burned=()):
    grazing = grazing_of(units, log())
    burns = pd.DataFrame({"unit_id": list(burned)})
    season = pd.DataFrame({"name": ["x"], "season": [2027]})
    return herd.balance_forage(units, standing, grazing, burns, season, settings)


def test_stay_is_supply_over_daily_demand():
    settings = HerdSettings(head=20, animal_unit_equivalent=1.0)
    forage = balance(square_units(A=100), standing_row("A", 2080), settings)
    assert forage["stay_days"].iloc[0] == pytest.approx(2080 * 100 * 0.25 / (20 * 26))


def test_without_a_herd_or_a_load_it_says_what_it_needs():
    forage = balance(square_units(A=100, B=50), standing_row("A", 2000), HerdSettings())
    by_unit = forage.set_index("unit_id")["reason"]
    assert "needs head" in by_unit["A"]
    assert "clip plot" in by_unit["B"]
    assert forage["stay_days"].isna().all()


def test_more_than_a_tenth_apart_is_told():
    # North Dakota stocking-rate lesson: change stocking beyond 10 % of supply.
    assert "within 10 %" in herd.balance_verdict(-10.0, 0, 10.0)
    assert herd.balance_verdict(-10.6, 0, 10.0) == "demand is above supply by 11 % of supply"
    assert herd.balance_verdict(20.0, 0, 10.0).startswith("supply is above")
    assert herd.balance_verdict(np.nan, 0, 10.0).startswith("unknown: needs head")


def test_fuel_balance_of_twenty_animal_units():
    # Constructed: 20 AU × 26 lb × 30 days on 80 ac: 195 lb/ac eaten, at 49 % 398 disappeared.
    units = square_units(A=80)
    treatments = log({"unit_id": "A", "start": "2026-05-01", "end": "2026-05-30", "kind": "graze",
                      "head": 20, "animal_unit_equivalent": 1})  # fmt: skip
    grazing = grazing_of(units, treatments)
    assert grazing["days"].sum() == 30
    assert grazing["eaten_lb_ac"].sum() == pytest.approx(195)
    assert grazing["disappeared_lb_ac"].sum() == pytest.approx(398, abs=0.5)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 364), st.integers(0, 400))
def test_days_by_window_add_up(first, length):
    start = pd.Timestamp("2025-01-01") + pd.Timedelta(days=first)
    end = start + pd.Timedelta(days=length)
    treatments = log({"unit_id": "A", "start": start, "end": end, "kind": "graze", "head": 10,
                      "animal_unit_equivalent": 1})  # fmt: skip
    grazing = grazing_of(square_units(A=80), treatments)
    assert grazing["days"].sum() == length + 1
    assert grazing["au_days"].sum() == pytest.approx(10 * (length + 1))


def test_grazing_without_head_is_not_zero():
    treatments = log({"unit_id": "A", "start": "2026-05-01", "end": "2026-05-30", "kind": "graze"})
    grazing = grazing_of(square_units(A=80), treatments)
    assert grazing["days"].sum() == 30
    assert grazing["au_days"].isna().all()
