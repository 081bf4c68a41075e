"""Difference of differences: worked examples, printed multipliers, coverage by simulation."""

import numpy as np
import pytest

from pipeline.greenness.differences import change_against, effect_of_years, half_width, verdict
from tests.made_panel import AFTER, BEFORE, effect_of


# Student's t at 0.975 with m − 1 degrees of freedom (printed tables) times √(1 + 1/m).
@pytest.mark.parametrize(
    ("m", "multiplier"), [(3, 4.97), (4, 3.56), (5, 3.0414), (8, 2.51), (12, 2.29)]
)
def test_multiplier_of_the_spread(m, multiplier):
    changes = np.linspace(0, 1, m)
    changes = changes / changes.std(ddof=1)
    assert half_width(changes, 95, 3) == pytest.approx(multiplier, abs=5e-3)


def test_change_below_the_noise_is_no_difference():
    assert verdict(0.015, 0.0, 0.02, greater="more", less="less") == "below_noise"
    assert verdict(0.025, 0.0, 0.02, greater="more", less="less") == "more"
    assert verdict(-0.025, 0.0, 0.02, greater="more", less="less") == "less"


def test_worked_example_with_several_earlier_years():
    told = effect_of_years([-0.012, 0.004, -0.009, 0.010, -0.003], 0.052, 95)
    assert told.effect == pytest.approx(0.0540, abs=5e-5)
    assert told.half == pytest.approx(0.0276, abs=5e-5)
    assert told.reach == pytest.approx(0.022)


def test_it_is_the_effect_of_a_burn_where_all_of_the_start_carries_over():
    changes = AFTER - BEFORE
    effect = effect_of(BEFORE[:, None], AFTER, likeness=np.array([1.0]))
    against, half = change_against(changes[0], changes[1:]), half_width(changes[1:], 95, 3)
    ends = effect.distribution.interval(95)
    assert float(effect.mean) == pytest.approx(float(against), abs=1e-12)
    assert [float(end) for end in ends] == pytest.approx([against - half, against + half])


def test_interval_covers_as_often_as_it_says():
    """Units differ by their own spread and by their pixels; the interval must hold 95 percent."""
    chance = np.random.default_rng(11)
    draws = 4000
    for m in (3, 5, 8):
        changes = chance.normal(0, np.hypot(0.02, 0.016), (draws, m + 1))
        held = [
            abs(change_against(row[0], row[1:])) <= half_width(row[1:], 95, 3) for row in changes
        ]
        assert np.mean(held) == pytest.approx(0.95, abs=0.0105), m
