"""Burned share by near-infrared, and why NDVI cannot tell it."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.compute.burned_share import (
    Unburned,
    burned_fractions,
    burned_share,
    char_value,
    pictures_around,
    unburned_change,
)
from pipeline.compute.vegetation_index import mirbi, ndvi
from pipeline.settings.greenness import GreennessSettings

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
    before = np.full(7, 0.20)
    after = before + np.array([-0.02, -0.01, -0.01, 0.0, -0.01, 0.01, -0.4])
    told = unburned_change(before, after)
    assert told.change == pytest.approx(-0.01)
    assert told.noise_drop == pytest.approx(3 * 1.4826 * 0.01)
    drops = burned_fractions(np.array([0.2, 0.2]), np.array([0.17, 0.10]), told, 0.06)
    assert drops[0] == 0
    assert drops[1] > 0.5


def test_char_stays_within_reason():
    assert char_value(np.full(50, 0.30), 0.30) == 0.10
    assert char_value(np.full(50, 0.01), 0.22) == 0.04
    assert char_value(np.full(50, -5.0), -1.2, "MIRBI") == -2.10
    assert char_value(np.full(50, -1.2), -1.2, "MIRBI") == -1.80


def test_noise_does_not_make_burned_ground_look_partly_burned():
    noise = 0.01 * np.random.default_rng(4).standard_normal(4000)
    after = np.where(np.arange(4000) < 2000, CHAR[1], SWARD[1]) + noise
    assert char_value(after, SWARD[1]) == pytest.approx(CHAR[1], abs=0.001)


DAYS = [pd.Timestamp(day) for day in ("2026-03-10", "2026-04-02", "2026-04-18", "2026-05-20")]
BURN = pd.Timestamp("2026-04-14")


def test_the_nearest_pictures_around_the_burn_are_taken():
    assert pictures_around(BURN, BURN, DAYS, GreennessSettings()) == (DAYS[1], DAYS[2], None)


def test_each_side_of_the_burn_has_its_own_limit():
    old = pictures_around(BURN, BURN, [DAYS[0], DAYS[2]], GreennessSettings())
    assert "at most 30 days before the burn (the nearest is 35 days before)" in old
    assert "after the burn" not in old
    late = pictures_around(BURN, BURN, [DAYS[1], DAYS[3]], GreennessSettings())
    assert "at most 30 days after the burn (the nearest is 36 days after)" in late
    assert "before the burn" not in late
    none = pictures_around(BURN, BURN, [], GreennessSettings())
    assert none.count("there is none") == 2
    assert none.endswith("NDVI alone does not show what burned")


def test_picture_of_the_day_of_the_burn_shows_neither_side():
    told = pictures_around(BURN, BURN, [DAYS[1], BURN, DAYS[2]], GreennessSettings())
    assert told[:2] == (DAYS[1], DAYS[2])


def test_picture_later_than_ten_days_is_used_with_a_caution():
    told = pictures_around(BURN, BURN, [DAYS[1], BURN + pd.Timedelta(days=11)], GreennessSettings())
    assert "11 days later" in told[2]
    fresh = pictures_around(BURN, BURN, [DAYS[1], BURN + pd.Timedelta(days=10)],
                            GreennessSettings())  # fmt: skip
    assert fresh[2] is None


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
