"""Student's t, against printed tables."""

import math

import numpy as np
import pytest
from scipy import stats

from pipeline.core.student_t import t_below, t_height, t_multiplier, t_probability

# NIST/SEMATECH e-Handbook of Statistical Methods, 0.975 quantiles (section 1.3.6.7.2
# from memory, to be checked).
PRINTED = {
    1: 12.706,
    2: 4.303,
    3: 3.182,
    4: 2.776,
    5: 2.571,
    6: 2.447,
    7: 2.365,
    10: 2.228,
    15: 2.131,
    19: 2.093,
    30: 2.042,
    60: 2.000,
    100: 1.984,
}


@pytest.mark.parametrize(("freedom", "value"), PRINTED.items())
def test_printed_quantiles(freedom, value):
    assert t_multiplier(freedom, 95) == pytest.approx(value, abs=5e-4)


@pytest.mark.parametrize(("freedom", "value"), {1: 63.657, 2: 9.925, 5: 4.032, 30: 2.750}.items())
def test_printed_quantiles_of_99_percent(freedom, value):
    assert t_multiplier(freedom, 99) == pytest.approx(value, abs=5e-4)


def test_one_degree_of_freedom_is_the_cauchy_distribution():
    assert t_multiplier(1, 95) == pytest.approx(math.tan(math.pi * 0.475), rel=1e-10)


@pytest.mark.parametrize("freedom", [1, 2, 3, 7, 50, 501])
def test_multiplier_undoes_the_probability(freedom):
    assert t_probability(t_multiplier(freedom, 90), freedom) == pytest.approx(0.9, abs=1e-10)


@pytest.mark.parametrize(("freedom", "confidence"), [(0, 95), (3, 100), (3, 0)])
def test_nonsense_is_refused(freedom, confidence):
    with pytest.raises(ValueError, match="no t for"):
        t_multiplier(freedom, confidence)


def test_probabilities_of_arrays_are_those_of_a_general_library():
    t, freedom = np.linspace(-9, 9, 61)[:, None], np.array([1, 2, 3, 4, 9, 48, 49, 300])
    assert t_below(t, freedom) == pytest.approx(stats.t.cdf(t, freedom), abs=1e-12)
    assert t_below(np.array([-np.inf, 0.0, np.inf]), 4) == pytest.approx([0.0, 0.5, 1.0])


@pytest.mark.parametrize("freedom", [1, 2, 5, 48, 300])
def test_height_of_the_density(freedom):
    assert t_height(freedom) == pytest.approx(stats.t.pdf(0, freedom), rel=1e-12)
