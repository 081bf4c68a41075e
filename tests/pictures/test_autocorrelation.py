"""Effective sample size and fitted range: published and computed values, fields of known range."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.pictures.autocorrelation import (
    Range,
    correlation,
    effective_pixels,
    effective_pixels_of,
    effective_pixels_of_block,
    fitted_range,
    pixel_pairs,
)

TEN = (10.0, 10.0)


def test_line_of_ten_with_correlation_026():
    # Cressie, Statistics for Spatial Data (1993), section 1.3 (from memory): ten worth 6.2.
    line = Range(-3 / np.log(0.26))
    assert effective_pixels_of_block(1, 10, 1.0, line) == pytest.approx(6.2199, abs=5e-5)
    pairs = pixel_pairs(np.zeros((1, 10)), np.ones((1, 10)), (1.0, 1.0))
    assert effective_pixels_of(pairs, line) == pytest.approx(6.2199, abs=5e-5)


@pytest.mark.parametrize(
    ("side", "pixel_m", "worth"),
    [
        (14, 10, 2.7),
        (20, 10, 3.8),
        (28, 10, 5.7),
        (40, 10, 9.45),
        (57, 10, 16.7),
        (80, 10, 29.9),
        (5, 30, 2.8),
        (7, 30, 3.9),
        (13, 30, 9.0),
        (27, 30, 30.4),
    ],
)
def test_squares_of_pixels_at_a_range_of_195_m(side, pixel_m, worth):
    told = effective_pixels_of_block(side, side, pixel_m, Range(195))
    assert told == pytest.approx(worth, abs=0.051)
    pairs = pixel_pairs(np.zeros((side, side)), np.ones((side, side)), (pixel_m, pixel_m))
    assert effective_pixels_of(pairs, Range(195)) == pytest.approx(told, rel=0.01)


def test_nugget_makes_pixels_more_independent():
    assert effective_pixels_of_block(40, 40, 10, Range(195, 0.3)) == pytest.approx(13.5, abs=0.05)


def test_finer_pixels_add_nothing():
    coarse, fine = (effective_pixels(*told, Range(200)) for told in ((400, 20), (160_000, 1)))
    assert fine == pytest.approx(coarse, rel=0.02)


def test_independent_pixels_are_worth_themselves():
    assert effective_pixels_of_block(12, 9, 10, Range(1e-6)) == pytest.approx(108)
    assert effective_pixels(0.4, 10, Range(200)) == 0.4


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 7), st.integers(1, 7), st.integers(0, 9), st.floats(5, 400))
def test_pairs_are_those_of_a_double_loop_over_all_pixels(rows, columns, seed, range_m):
    chance = np.random.default_rng(seed)
    values, weights = chance.normal(size=(2, rows, columns))
    weights = np.abs(weights)
    pairs = pixel_pairs(values, weights, (10.0, 13.0))
    at = np.argwhere(np.ones_like(values)) * [13.0, 10.0]
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    w = weights.ravel()
    departures = w * (values.ravel() - (w * values.ravel()).sum() / w.sum())
    assert pairs.weight.sum() == pytest.approx(w.sum() ** 2)
    assert pairs.weight[0] == pytest.approx((w**2).sum())
    assert pairs.product[0] == pytest.approx((departures**2).sum())
    assert pairs.product.sum() == pytest.approx(0, abs=1e-9)
    exact = w.sum() ** 2 / (np.outer(w, w) * correlation(apart, Range(range_m))).sum()
    assert effective_pixels_of(pairs, Range(range_m)) == pytest.approx(exact, rel=0.03)


def test_a_strip_is_worth_more_than_a_square_of_its_area():
    strip, square = (
        pixel_pairs(np.zeros(shape), np.ones(shape), TEN) for shape in ((4, 100), (20, 20))
    )
    assert effective_pixels_of(strip, Range(195)) > 1.5 * effective_pixels_of(square, Range(195))


def fields(side, range_m, nugget, count, seed):
    """Gaussian fields of 10 m pixels with exponential correlation, by the factor of its matrix."""
    at = 10.0 * np.argwhere(np.ones((side, side)))
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1))
    factor = np.linalg.cholesky(correlation(apart, Range(range_m, nugget)))
    draws = factor @ np.random.default_rng(seed).standard_normal((side * side, count))
    return 0.05 * draws.T.reshape(count, side, side)


def fitted(units):
    return fitted_range([pixel_pairs(unit, np.ones(unit.shape), TEN) for unit in units])


@pytest.mark.parametrize(("range_m", "nugget"), [(60, 0.0), (195, 0.0), (195, 0.3)])
def test_range_of_fields_made_with_it(range_m, nugget):
    told = fitted(fields(36, range_m, nugget, 40, 5))
    assert told.range_m == pytest.approx(range_m, rel=0.2)
    assert told.nugget == pytest.approx(nugget, abs=0.1)


def test_range_does_not_depend_on_the_level_of_each_unit_or_on_the_size_of_the_changes():
    units = fields(30, 100, 0.0, 8, 3)
    lifted = 7.0 * units + np.arange(8)[:, None, None]
    assert fitted(lifted).range_m == pytest.approx(fitted(units).range_m)


def test_white_noise_has_no_range_to_speak_of():
    units = np.random.default_rng(2).normal(size=(6, 40, 40))
    told = fitted(units)
    pairs = pixel_pairs(units[0], np.ones((40, 40)), TEN)
    assert effective_pixels_of(pairs, told) > 800


def test_no_range_from_small_units_or_from_no_change():
    assert fitted(fields(18, 195, 0.0, 8, 1)) is None, "fewer than ten distances"
    assert fitted(np.zeros((3, 40, 40))) is None
    assert fitted_range([]) is None
    assert fitted_range([pixel_pairs(np.full((30, 30), np.nan), np.ones((30, 30)), TEN)]) is None


def test_pixels_without_data_and_pixels_outside_do_not_count():
    unit = fields(36, 195, 0.0, 1, 8)[0]
    holed = np.where(np.arange(36)[:, None] < 12, np.nan, unit)
    cut = pixel_pairs(unit[12:], np.ones((24, 36)), TEN)
    told = pixel_pairs(holed, np.ones((36, 36)), TEN)
    assert told.side_m == cut.side_m
    assert effective_pixels_of(told, Range(195)) == pytest.approx(
        effective_pixels_of(cut, Range(195))
    )


def test_thinned_units_are_pooled_by_distance():
    # Half of the units read at every second pixel: their classes are twice as wide.
    units = fields(40, 80, 0.0, 40, 6)
    fine = [pixel_pairs(unit, np.ones(unit.shape), TEN) for unit in units[:20]]
    thin = [pixel_pairs(unit[::2, ::2], np.ones((20, 20)), (20.0, 20.0)) for unit in units[20:]]
    assert fitted_range([*fine, *thin]).range_m == pytest.approx(80, rel=0.2)


def test_a_slope_over_all_units_has_no_range():
    slope = np.tile(np.linspace(0, 1, 40), (40, 1))
    assert fitted([slope, slope]) is None
