"""What else than the fire may have made a change: start, size, year and place, each by hand."""

import numpy as np
import pytest

from pipeline.greenness.effect.other_causes import (
    place_differs,
    plain_verdicts,
    size_differs,
    start_differs,
    year_differs,
)
from tests.made_panel import AFTER, BEFORE, effect_of

CLEAR = effect_of(BEFORE[:, None], AFTER)


def verdict(effect, floor=0.02):
    return str(plain_verdicts(effect, 95, np.asarray(floor), greater="greener", less="less"))


def test_change_by_its_figures_alone():
    assert verdict(CLEAR) == "greener"
    assert verdict(effect_of(BEFORE[:, None], [0.41, *AFTER[1:]])) == "less"
    assert verdict(effect_of(BEFORE[:, None], [0.49, *AFTER[1:]])) == "within"
    assert verdict(CLEAR, floor=0.07) == "below_noise"
    # Pixels alone: 1.96·√(.0015 + .0001/5) = .076 is more than the effect of .070.
    coarse = np.array([0.0015, *[1e-4] * 5])
    noisy = effect_of(np.full((6, 1), 0.42), 0.42 + AFTER - BEFORE, variance=coarse)
    assert float(noisy.noise) == pytest.approx(0.0764, abs=5e-5)
    assert noisy.p_value > 0.05 or verdict(noisy) == "below_noise"


def test_start_off_its_usual_place():
    off = np.array([0.30, *BEFORE[1:]])[:, None]
    assert start_differs(effect_of(off, AFTER), 95, 0.05)
    assert not start_differs(effect_of(off, [0.58, *AFTER[1:]]), 95, 0.05), "whatever carries over"
    assert not start_differs(CLEAR, 95, 0.05)


def test_two_unburned_units_of_a_third_to_three_times_the_size():
    sizes = np.array([10.0, 31.0, 32.0, 120.0, 120.0])
    for burned, differs in ((30.0, False), (10.0, True), (10.4, False), (97.0, False), (361, True)):
        assert size_differs(CLEAR, np.array([burned]), sizes) == differs, burned
    both = effect_of(np.full((7, 1), 0.4), np.full(7, 0.4), burned=2)
    assert size_differs(both, np.array([30.0, 10.0]), sizes), "any of the burned ones"


def test_ground_that_responds_more_to_the_year():
    # References gained .07, a share of .3 of which is .021: the interval begins at .035.
    assert float(CLEAR.drift) == pytest.approx(0.07)
    assert not year_differs(CLEAR, 95)
    wet = effect_of(BEFORE[:, None], AFTER + 0.1)
    assert year_differs(wet, 95), ".3 of .17 is .051"
    dry = effect_of(-BEFORE[:, None], -AFTER - 0.1)
    assert year_differs(dry, 95)
    assert not year_differs(effect_of(BEFORE[:, None], AFTER - 0.14), 95), (
        "a year that differs less"
    )
    # The effect and the drift are both of fully burned ground.
    assert float(effect_of(BEFORE[:, None], AFTER, dose=[0.5]).drift) == pytest.approx(0.14)


def test_year_is_asked_of_the_end_of_the_interval_that_is_nearest_to_zero():
    chance = np.random.default_rng(9)
    after = chance.normal(0.55, 0.03, (300, 6))
    effect = effect_of(BEFORE[:, None], after[0])
    for row in after:
        effect = effect_of(BEFORE[:, None], row)
        low, high = effect.distribution.interval(95)
        if effect.p_value < 0.05:
            nearest = min(abs(low), abs(high))
            assert year_differs(effect, 95) == (nearest < 0.3 * abs(effect.drift))


def test_references_that_lie_together_apart_from_the_burned_ground():
    square = np.array([[0, 0], [1, 0], [0, 1], [1, 1], [0.5, 0.5]]) * 1000.0
    # By hand: four sides of 1, two diagonals of √2 and four half ones of √2/2 among ten pairs.
    mean = (4 + 2 * 2**0.5 + 4 * 2**-0.5) / 10 * 1000
    assert not place_differs(CLEAR, np.array([[500.0, 500.0 + 1.8 * mean]]), square)
    assert place_differs(CLEAR, np.array([[500.0, 500.0 + 2.05 * mean]]), square)
    assert not place_differs(CLEAR, np.array([[0.0, 0.0]]), square * 0.0), "all in one place"
