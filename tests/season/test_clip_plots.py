"""Clip plots, against the figures printed in range and pasture handbooks."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.season.fuel.clip_plots import (
    clipped_lb_ac,
    dry_matter_of_moisture_pct,
    mean_interval,
    measure_standing,
    plot_dry_g,
)
from pipeline.season.fuel.settings import FuelSettings
from tests.literal_layers import literal_layer

SQFT_PER_SQYD = 9
SQFT_PER_M2 = 1 / 0.3048**2


def clipped(frame_sqft, **weights):
    """A clip plot of the unit A."""
    return {"unit_id": "A", "date": "2026-10-01", "frame_sqft": frame_sqft, **weights}


def measured(plots):
    """Table ``standing`` of clip plots alone."""
    nothing = empty(LAYERS["obstruction"]), empty(LAYERS["loads"])
    frame = measure_standing(literal_layer("clips", plots), *nothing, FuelSettings())
    return conform(frame, LAYERS["standing"])


@pytest.mark.parametrize(
    ("frame_sqft", "factor"), [(0.96, 100), (1.92, 50), (2.4, 40), (4.8, 20), (9.6, 10), (96, 1)]
)
def test_factors_of_the_usual_frames(frame_sqft, factor):
    # NRCS range handbook frames (from memory); recomputed they are off by at most 0.04 %.
    assert clipped_lb_ac(1.0, frame_sqft) == pytest.approx(factor, rel=5e-4)


def test_quarter_square_meter_of_the_texas_handbook():
    # Texas Prescribed Burn Handbook, Estimating fuel quantity: grams × 40 are kg/ha; Utah State
    # University NR/RM/05 (2001): × 0.892 is lb/ac (it prints 0.891 beside it: 0.3 %).
    assert clipped_lb_ac(1.0, 0.25 * SQFT_PER_M2) == pytest.approx(40 * 0.892, rel=3e-3)


def test_one_pound_per_acre_on_a_hundred_square_feet():
    # Utah State University NR/RM/05 (2001): 1.04 g.
    assert 1 / clipped_lb_ac(1.0, 100) == pytest.approx(1.04, abs=0.005)


def test_square_yard_of_the_maine_course():
    # University of Maine pasture course, appendix E: 2.07 lb from a square yard at 25 % dry matter
    # are 2,505 lb/ac.
    plot = clipped(SQFT_PER_SQYD, green_g=2.07 * 453.59237, dry_matter_pct=25)
    plots = literal_layer("clips", [plot])
    load = clipped_lb_ac(plot_dry_g(plots), plots["frame_sqft"])
    assert load.iloc[0] == pytest.approx(2505, abs=0.5)


def test_the_two_moistures_are_two_numbers():
    # By definition: 50 % moisture of the fire convention is 66.7 % dry matter.
    assert dry_matter_of_moisture_pct(50) == pytest.approx(66.667, abs=1e-3)


@settings(deadline=None)
@given(st.floats(1, 500), st.floats(1, 500))
def test_either_moisture_leads_to_the_same_dry_weight(dry_g, water_g):
    green = clipped(1.0, green_g=dry_g + water_g)
    forage = green | {"dry_matter_pct": 100 * dry_g / (dry_g + water_g)}
    fire = green | {"fuel_moisture_pct": 100 * water_g / dry_g}
    plots = pd.DataFrame([forage, fire]).reindex(columns=LAYERS["clips"].column_names)
    assert plot_dry_g(plots).to_numpy() == pytest.approx([dry_g, dry_g])


def test_bag_comes_off_before_drying_is_reckoned_with():
    dry = clipped(1, dry_g=60, bag_g=10)
    green = clipped(1, green_g=110, bag_g=10, dry_matter_pct=50)
    plots = literal_layer("clips", [dry, green])
    assert list(plot_dry_g(plots)) == [50, 50]


def test_interval_of_eight_transects():
    # Hand calculation: mean 25.75, s 5.800, t(7) 2.365, half width 4.849.
    low, high = mean_interval(np.array([22, 31, 18, 27, 35, 24, 29, 20.0]), 95)
    assert (low + high) / 2 == pytest.approx(25.75)
    assert (high - low) / 2 == pytest.approx(4.849, abs=1e-3)


def test_one_plot_has_no_interval():
    row = measured([clipped(1.92, dry_g=40)]).iloc[0]
    assert row["plots"] == 1
    assert math.isnan(row["low_lb_ac"])
    assert math.isnan(row["sd_lb_ac"])


def test_pole_needs_the_users_regression():
    readings = literal_layer(
        "obstruction", [{"unit_id": "A", "date": "2026-10-01", "reading_in": 10}]
    )
    clips, loads = empty(LAYERS["clips"]), empty(LAYERS["loads"])
    assert measure_standing(clips, readings, loads, FuelSettings()).empty
    # SDSU grazing stick, its own example: 10 in × 100 lb per acre-inch = 1,000 lb/ac.
    own = FuelSettings(pole_slope_lb_in=100, pole_intercept_lb_ac=0, pole_citation="own")
    row = measure_standing(clips, readings, loads, own).iloc[0]
    assert (row["mean_lb_ac"], row["reference"]) == (1000, "own")


def test_plot_without_a_weight_is_no_zero():
    row = measured([clipped(1, green_g=80), clipped(1, dry_g=40)]).iloc[0]
    assert row["plots"] == 1
    assert row["mean_lb_ac"] == pytest.approx(clipped_lb_ac(40, 1))


def test_plots_of_one_fall_are_one_sample_and_caged_ones_another():
    # Hand: 10, 20 and 30 g on 0.96 square feet are 1,000, 2,000 and 3,000 lb/ac: mean 2,000,
    # sample standard deviation 1,000; the interval, 2,000 ± 4.303 × 577.35, ends at nothing.
    plots = [clipped(0.96, dry_g=g) | {"date": f"2026-10-0{g // 10}"} for g in (10, 20, 30)]
    rows = measured([*plots, clipped(0.96, dry_g=50, caged=True)]).set_index("measure")
    standing = rows.loc["standing"]
    assert (standing["plots"], standing["date"]) == (3, pd.Timestamp("2026-10-03"))
    assert standing["mean_lb_ac"] == pytest.approx(2000, rel=5e-4)
    assert standing["sd_lb_ac"] == pytest.approx(1000, rel=5e-4)
    assert standing["low_lb_ac"] == 0
    assert standing["high_lb_ac"] == pytest.approx(2000 + 4.303 * 577.35, rel=1e-3)
    assert rows.loc["production", "mean_lb_ac"] == pytest.approx(5000, rel=5e-4)
