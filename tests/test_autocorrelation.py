"""Effective sample size: published and computed values."""

import numpy as np
import pytest

from pipeline.compute.autocorrelation import effective_pixels, effective_pixels_of_block


def test_line_of_ten_with_correlation_026():
    # Cressie, Statistics for Spatial Data (1993), section 1.3 (from memory): ten worth 6.2.
    range_m = -3 / np.log(0.26)
    assert effective_pixels_of_block(1, 10, 1.0, range_m) == pytest.approx(6.2199, abs=5e-5)


@pytest.mark.parametrize(
    ("side", "pixel_m", "worth"),
    [(14, 10, 2.7), (20, 10, 3.8), (28, 10, 5.7), (40, 10, 9.45), (57, 10, 16.7), (80, 10, 29.9),
     (5, 30, 2.8), (7, 30, 3.9), (13, 30, 9.0), (27, 30, 30.4)],
)  # fmt: skip
def test_squares_of_pixels_at_a_range_of_195_m(side, pixel_m, worth):
    told = effective_pixels_of_block(side, side, pixel_m, 195)
    assert told == pytest.approx(worth, abs=0.051)


def test_nugget_makes_pixels_more_independent():
    assert effective_pixels_of_block(40, 40, 10, 195, 0.3) == pytest.approx(13.5, abs=0.05)


def test_finer_pixels_add_nothing():
    coarse, fine = effective_pixels(400, 20, 200), effective_pixels(160_000, 1, 200)
    assert fine == pytest.approx(coarse, rel=0.02)


def test_independent_pixels_are_worth_themselves():
    assert effective_pixels_of_block(12, 9, 10, 1e-6) == pytest.approx(108)
    assert effective_pixels(0.4, 10, 200) == 0.4
