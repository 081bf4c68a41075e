"""Burned share by near-infrared, and why NDVI cannot tell it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.greenness.burned_share import (
    Unburned,
    burned_fractions,
    burned_share,
    char_value,
    ratio_loss,
    unburned_change,
)
from pipeline.pictures.vegetation_index import mirbi, ndvi

# Typical reflectance (red, near-infrared, 1.6 µm, 2.2 µm) of a dormant sward and of fresh char.
SWARD, CHAR = np.array([0.13, 0.22, 0.30, 0.22]), np.array([0.04, 0.06, 0.12, 0.12])


def test_worked_example():
    before = np.array([0.22, 0.24, 0.21, 0.23])
    after = np.array([0.06, 0.15, 0.20, 0.07])
    fractions = burned_fractions(before, after, Unburned(-0.01, 0.0), 0.06)
    assert fractions == pytest.approx([1, 0.470588, 0, 0.9375], abs=5e-7)
    share = burned_share(fractions, np.array([1, 1, 0.5, 0.25]), 2.75)
    assert share.burned_pct == pytest.approx(61.9987, abs=5e-5)


def test_near_infrared_tells_the_burned_share_of_a_mixed_pixel_and_ndvi_does_not():
    part = np.array([0, 0.25, 0.5, 0.75, 1])
    red, nir, swir1, swir2 = np.outer(SWARD, 1 - part) + np.outer(CHAR, part)
    told = burned_fractions(np.full(5, SWARD[1]), nir, Unburned(0.0, 0.0), CHAR[1])
    assert told == pytest.approx(part)
    green = ndvi(red, nir)
    assert green == pytest.approx([0.2571, 0.2522, 0.2444, 0.2308, 0.2000], abs=5e-5)
    read_back = (green[0] - green) / (green[0] - green[-1])
    assert read_back == pytest.approx([0, 0.087, 0.222, 0.462, 1], abs=6e-4)
    assert mirbi(swir1, swir2)[2] == pytest.approx(1.642, abs=5e-4), "linear as well"


def test_weather_and_noise_come_from_unburned_pixels():
    told = unburned_change(np.array([-0.02, -0.01, -0.01, 0.0, -0.01, 0.01, -0.4]))
    assert told.change == pytest.approx(-0.01)
    assert told.noise_drop == pytest.approx(3 * 1.4826 * 0.01)
    drops = burned_fractions(np.array([0.2, 0.2]), np.array([0.17, 0.10]), told, 0.06)
    assert drops[0] == 0
    assert drops[1] > 0.5


def test_char_stays_within_reason():
    assert char_value(np.full(50, 0.30), 0.30) == 0.10
    assert char_value(np.full(50, 0.01), 0.22) == 0.04
    assert char_value(np.full(50, -5.0), -1.2, "mirbi") == -2.10
    assert char_value(np.full(50, -1.2), -1.2, "mirbi") == -1.80


def test_noise_does_not_make_burned_ground_look_partly_burned():
    noise = 0.01 * np.random.default_rng(4).standard_normal(4000)
    after = np.where(np.arange(4000) < 2000, CHAR[1], SWARD[1]) + noise
    assert char_value(after, SWARD[1]) == pytest.approx(CHAR[1], abs=0.001)


def test_loss_of_the_burn_ratio_is_taken_beyond_that_of_unburned_ground():
    # Ratios of the worked example in test_vegetation_index.py, once burned and once left alone.
    before, after = np.array([0.2, 0.2]), np.array([-0.2857142857, 0.2])
    loss = ratio_loss(np.array([1.0, 1.0]), before, after, 30.0)
    assert loss.dnbr == pytest.approx(485.714 / 2 - 30, abs=5e-4)
    assert loss.rbr == pytest.approx(((485.714 - 30) - 30) / 2 / 1.201, abs=5e-4)
    plain = ratio_loss(np.array([0.5, 0.0]), before, after, 0.0)
    assert (plain.dnbr, plain.rbr) == pytest.approx((485.714, 404.425), abs=5e-4)


def test_loss_of_the_burn_ratio_needs_pixels_and_unburned_ground():
    ratio = np.array([0.2])
    assert np.isnan(ratio_loss(np.array([1.0]), ratio, ratio, np.nan).dnbr)
    assert np.isnan(ratio_loss(np.empty(0), ratio[:0], ratio[:0], 0.0).rbr)


def test_pixels_without_data_widen_the_bounds():
    share = burned_share(np.array([1.0, 0.0]), np.array([3.0, 3.0]), 10.0)
    assert share.burned_pct == pytest.approx(50)
    assert (share.low_pct, share.high_pct) == pytest.approx((30, 70))
    assert share.valid_pct == pytest.approx(60)


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0.01, 1)), min_size=1, max_size=30))
def test_share_lies_between_its_bounds(pixels):
    fractions, shares = np.array(pixels).T
    share = burned_share(fractions, shares, shares.sum() * 1.3)
    assert 0 <= share.low_pct <= share.burned_pct + 1e-9 <= share.high_pct + 2e-9 <= 100 + 3e-9


def test_ground_burned_clean_reads_as_all_of_it():
    # Near-infrared of a sward and of char with the noise of a sensor; the true share is 1.
    chance = np.random.default_rng(4)
    noise = 0.01 * chance.standard_normal((4, 4000))
    still = np.full(4000, SWARD[1])
    unburned = unburned_change(still + noise[1] - (still + noise[0]))
    before, after = still + noise[2], CHAR[1] + noise[3]
    char = char_value(after, float(np.median(before)) + unburned.change)
    told = burned_share(burned_fractions(before, after, unburned, char), np.ones(4000), 4000)
    assert told.burned_pct == pytest.approx(100, abs=0.5)
    half = np.where(np.arange(4000) < 2000, after, before + noise[0])
    told = burned_share(burned_fractions(before, half, unburned, char), np.ones(4000), 4000)
    assert told.burned_pct == pytest.approx(50, abs=0.5)
    assert told.burned_pct <= 100


def test_pixels_that_could_not_tell_are_unknown_and_none_counts_for_much_more_than_one():
    # A sward of 0.06 could drop by no more than the noise; char darker than its range is capped.
    unburned = Unburned(0.0, 0.045)
    told = burned_fractions(
        np.array([0.06, 0.22, 0.22]), np.array([0.04, 0.02, 0.21]), unburned, 0.04
    )
    assert np.isnan(told[0])
    assert told[1] == pytest.approx(1.1)
    assert told[2] == 0
    share = burned_share(told, np.ones(3), 3)
    assert (share.low_pct, share.high_pct) == pytest.approx((110 / 3, 210 / 3))
    assert share.valid_pct == pytest.approx(200 / 3)
