"""Animals and forage, against worked examples of stocking-rate lessons."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.core.units import half_up
from pipeline.season import herd
from pipeline.season.settings import HerdSettings, SeasonSettings
from tests.literal_layers import literal_layer
from tests.made_season import SEASON, log, square_units, standing_row


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
        (1000, 2.6, 9490, "1.00"),
        (1100, 3, 12045, "1.27"),
        (130, 3.5, 1661, "0.18"),
        (100, 3.5, 1278, "0.13"),
        (800, 3, 8760, "0.92"),
        (1000, 2.5, 9125, "0.96"),
    ],
)
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
        settings = HerdSettings(harvest_efficiency_pct=45, month_lb_aum=month_lb)
        forage = balance(units, standing, settings)
        assert forage["supply_lb"].iloc[0] == pytest.approx(198_000)
        assert forage["supply_aum"].iloc[0] == pytest.approx(aum, abs=0.05)


def test_aum_an_acre_of_the_extension_column():
    # Cattle Network extension column: 2,000 lb/ac × 25 % ÷ 912 lb = 0.548 AUM/ac; 160 ac, 87.7.
    settings = HerdSettings(month_lb_aum=912)
    forage = balance(square_units(A=160), standing_row("A", 2000), settings)
    assert forage["supply_aum"].iloc[0] == pytest.approx(87.7, abs=0.05)


def balance(units, standing, settings, treatments=None, burned=(), planned=None, limits=()):
    done = log() if treatments is None else treatments
    return herd.balance_forage(
        units,
        standing,
        herd.rate_grazing(units, done, settings),
        grazing_of(units, done),
        done,
        log() if planned is None else planned,
        pd.DataFrame({"unit_id": list(burned)}),
        literal_layer("unit_limits", limits),
        SEASON,
        settings,
        SeasonSettings(),
    )


def graze(start, end, head=None, each=None):
    """A grazing of the unit A."""
    days = {"start": start, "end": end}
    return {"unit_id": "A", "kind": "graze", "head": head, "animal_unit_equivalent": each, **days}


def test_stay_is_supply_over_daily_demand():
    settings = HerdSettings(head=20, animal_unit_equivalent=1.0)
    forage = balance(square_units(A=100), standing_row("A", 2080), settings)
    assert forage["stay_days"].iloc[0] == pytest.approx(2080 * 100 * 0.25 / (20 * 26))


def test_without_a_herd_or_a_load_it_says_what_it_needs():
    units, standing = square_units(A=100, B=50), standing_row("A", 2000)
    forage = balance(units, standing, HerdSettings())
    assert list(forage["reason"]) == ["needs_herd", "needs_load_and_herd"]
    assert forage["stay_days"].isna().all()
    known = balance(units, standing, HerdSettings(head=40, weight_lb=1250))
    assert list(known["reason"]) == ["measured", "needs_load"]
    assert list(known["stay_days"].isna()) == [False, True]


def test_forage_of_a_caged_plot_goes_before_what_animals_left():
    # Clipping caged plots tells what grew, clipping beside them what is left (common practice, no
    # source): the figure of forage is the first, even where the second is newer.
    grown = standing_row("A", 2400, measure="production", date="2026-08-01")
    left = standing_row("A", 900, date="2026-10-01")
    forage = balance(square_units(A=100), pd.concat([grown, left]), HerdSettings())
    assert forage["production_lb_ac"].iloc[0] == 2400


def test_unit_in_a_burn_block_supplies_nothing_to_the_herd():
    units = square_units(A=100, B=100)
    standing = pd.concat([standing_row(unit_id, 2000) for unit_id in "AB"])
    settings = HerdSettings(head=10, animal_unit_equivalent=1)
    forage = balance(units, standing, settings, burned=["A"])
    # Hand: 2,000 lb/ac × 100 ac × 25 % ÷ 780 lb = 64.1 AUM; 10 AU for 5 months need 50.
    row = herd.balance_herd(SEASON, forage, settings).iloc[0]
    assert row["supply_aum"] == pytest.approx(64.10, abs=0.01)
    assert row["demand_aum"] == 50
    assert row["verdict"] == "supply_above_demand"
    assert row["difference_pct"] == pytest.approx(22.0, abs=0.01)


def test_herd_without_any_open_feed_needs_more_than_there_is():
    settings = HerdSettings(head=10, animal_unit_equivalent=1)
    forage = balance(square_units(A=100), standing_row("A", 2000), settings, burned=["A"])
    row = herd.balance_herd(SEASON, forage, settings).iloc[0]
    assert (row["supply_aum"], row["demand_aum"]) == (0, 50)
    assert row["verdict"] == "demand_above_supply"
    assert np.isnan(row["difference_pct"]), "50 AUM are no percentage of nothing"


def test_use_of_the_year_before_stands_beside_the_supply():
    # Hand: 30 AU from May 1 to May 30 of 2026 are 30 × 30 days × 26 lb ÷ 780 lb = 30 AUM.
    treatments = log(
        graze("2026-05-01", "2026-05-30", 25, 1.2), graze("2025-05-01", "2025-05-30", 99, 1)
    )
    forage = balance(square_units(A=100), standing_row("A", 2000), HerdSettings(), treatments)
    assert forage["used_aum"].iloc[0] == pytest.approx(30)


@pytest.mark.parametrize(
    ("difference_pct", "verdict"),
    [
        # North Dakota stocking-rate lesson: change stocking beyond 10 % of supply.
        (-10.0, "supply_and_demand_match"),
        (-10.6, "demand_above_supply"),
        (20.0, "supply_above_demand"),
        (np.nan, "needs_herd"),
    ],
)
def test_more_than_a_tenth_apart_is_told(difference_pct, verdict):
    assert herd.balance_verdict(difference_pct, 10.0) == verdict


def test_fuel_balance_of_twenty_animal_units():
    # Constructed: 20 AU × 26 lb × 30 days on 80 ac: 195 lb/ac eaten, at 49 % 398 disappeared.
    units = square_units(A=80)
    treatments = log(graze("2026-05-01", "2026-05-30", 20, 1))
    grazing = grazing_of(units, treatments)
    assert grazing["days"].sum() == 30
    assert grazing["eaten_lb_ac"].sum() == pytest.approx(195)
    assert grazing["disappeared_lb_ac"].sum() == pytest.approx(398, abs=0.5)
    assert grazing["head_days"].sum() == 600
    # North Dakota stocking-rate lesson: a month is 30 days of 26 lb, 780 lb.
    assert grazing["aum"].sum() == pytest.approx(20)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 364), st.integers(0, 400))
def test_days_by_window_add_up(first, length):
    start = pd.Timestamp("2025-01-01") + pd.Timedelta(days=first)
    end = start + pd.Timedelta(days=length)
    treatments = log(graze(start, end, 10, 1))
    grazing = grazing_of(square_units(A=80), treatments)
    assert grazing["days"].sum() == length + 1
    assert grazing["au_days"].sum() == pytest.approx(10 * (length + 1))


def test_grazing_without_head_is_not_zero():
    treatments = log(graze("2026-05-01", "2026-05-30"))
    grazing = grazing_of(square_units(A=80), treatments)
    assert grazing["days"].sum() == 30
    assert grazing["au_days"].isna().all()


def test_what_animals_took_before_the_clipping_grew_as_well():
    # Constructed above: 20 AU × 30 days on 80 ac make 398 lb/ac disappear; what grew is what was
    # left and that (Smart et al. 2010: eaten ÷ 49 %).
    treatments = log(graze("2026-05-01", "2026-05-30", 20, 1))
    left = standing_row("A", 1000, date="2026-10-01")
    row = balance(square_units(A=80), left, HerdSettings(), treatments).iloc[0]
    assert row["disappeared_lb_ac"] == pytest.approx(398, abs=0.5)
    assert row["production_lb_ac"] == pytest.approx(1398, abs=0.5)
    assert row["growth"] == "left_and_grazed"


@pytest.mark.parametrize(
    ("events", "measure", "production", "growth"),
    [
        ([], "standing", 1000, "stood"),
        ([graze("2026-05-01", "2026-05-30", 20, 1)], "production", 1000, "grown"),
        ([graze("2026-10-02", "2026-10-30", 20, 1)], "standing", 1000, "stood"),
        ([graze("2026-01-05", "2026-02-05", 20, 1)], "standing", 1000, "stood"),  # of dead grass
        ([graze("2026-05-01", "2026-05-30")], "standing", 1000, "left_over"),
        ([{"unit_id": "A", "kind": "hay", "start": "2026-07-20"}], "standing", 1000, "left_over"),
    ],
)
def test_growth_tells_what_it_rests_on(events, measure, production, growth):
    standing = standing_row("A", 1000, measure=measure, date="2026-10-01")
    row = balance(square_units(A=80), standing, HerdSettings(), log(*events)).iloc[0]
    assert (row["production_lb_ac"], row["growth"]) == (production, growth)


def test_only_open_units_feed_the_herd_and_the_total_of_the_table_is_the_supply_told():
    units = square_units(A=100, B=100, C=100, D=100, E=100)
    standing = pd.concat([standing_row(unit_id, 2000) for unit_id in "ABCDE"])
    rest = {"unit_id": "B", "kind": "rest", "start": "2027-01-01", "end": "2027-12-31"}
    limits = [
        {"unit_id": "C", "kind": "contract", "note": "x"},
        {"unit_id": "D", "kind": "contract", "approval": "letter", "note": "x"},
    ]
    settings = HerdSettings(head=10, animal_unit_equivalent=1)
    forage = balance(
        units, standing, settings, burned=["A"], planned=log(rest), limits=limits
    ).set_index("unit_id")
    assert list(forage.index[forage["open"]]) == ["D", "E"]
    row = herd.balance_herd(SEASON, forage, settings).iloc[0]
    assert row["supply_aum"] == pytest.approx(2 * 64.10, abs=0.02)
    assert forage["open_aum"].sum() == pytest.approx(row["supply_aum"])


def test_a_day_with_two_herds_is_one_day_grazed_and_both_eat():
    treatments = log(
        graze("2026-05-01", "2026-05-20", 10, 1), graze("2026-05-11", "2026-05-30", 5, 1)
    )
    row = grazing_of(square_units(A=80), treatments).iloc[0]
    assert row["days"] == 30
    assert row["au_days"] == 20 * 10 + 20 * 5
