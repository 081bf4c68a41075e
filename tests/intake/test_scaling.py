"""Stored numbers and values: the products' published scales, and sums against sums of values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.intake.scene_names import LANDSAT_8_LINE, Moments, Scaling

# Landsat Collection 2 Level 2 surface reflectance: scale 2.75e-05, offset -0.2, as the products'
# own metadata files have them (REFLECTANCE_MULT_BAND_n, REFLECTANCE_ADD_BAND_n).
LANDSAT = Scaling(2.75e-05, -0.2)


def test_landsat_numbers_near_both_ends_of_reflectance():
    assert LANDSAT.value(np.array([7273, 43636])) == pytest.approx([0.0000075, 0.99999])
    assert LANDSAT.value(np.array([1, 65535], dtype="uint16")) == pytest.approx(
        [-0.1999725, 1.6022125]
    )
    assert LANDSAT.stored(0.0000075) == pytest.approx(7273)


@given(
    st.lists(st.integers(-32768, 32767), min_size=1, max_size=40),
    st.floats(1e-5, 1.0), st.floats(-1.0, 1.0),
)  # fmt: skip
def test_moments_of_stored_numbers_are_those_of_the_values(numbers, scale, offset):
    stored, scaling = np.array(numbers, dtype=np.int64), Scaling(scale, offset)
    told = scaling.moments(*(np.array([float(s)]) for s in (
        len(stored), stored.sum(), (stored**2).sum())))  # fmt: skip
    value = scaling.value(stored)
    assert told.mean == pytest.approx(value.mean(), rel=1e-9, abs=1e-9)
    assert told.sd == pytest.approx(value.std(), rel=1e-6, abs=2e-3 * scale)


def moments(values):
    values = np.asarray(values, dtype=float)
    return Moments(*(np.array([x]) for x in (
        float(len(values)), values.sum(), ((values - values.mean()) ** 2).sum())))  # fmt: skip


@given(st.lists(st.floats(-1, 1), min_size=1, max_size=9),
       st.lists(st.floats(-1, 1), min_size=1, max_size=9), st.integers(1, 4))  # fmt: skip
def test_moments_of_two_lots_together(first, second, weight):
    told = moments(first).with_others(moments(second), weight)
    together = np.array(first + weight * second)
    assert told.mean == pytest.approx(together.mean(), abs=1e-12)
    assert told.sd == pytest.approx(together.std(), abs=1e-7)


def test_no_value_has_no_mean():
    none = Moments(*np.zeros((3, 1)))
    assert np.isnan(none.mean).all()
    assert none.with_others(moments([0.25]), 2).mean == pytest.approx(0.25)
    assert moments([0.25]).with_others(none, 2).sd == pytest.approx(0)


def test_line_from_landsat_7_to_landsat_8():
    # D. P. Roy et al., Remote Sensing of Environment 185 (2016) 57-70, surface NDVI, least squares:
    # 0.0235 + 0.9723 · NDVI, so that 0.2, 0.5 and 0.8 become 0.21796, 0.50965 and 0.80134.
    told = LANDSAT_8_LINE.value(np.array([0.2, 0.5, 0.8]))
    assert told == pytest.approx([0.21796, 0.50965, 0.80134])
    stored = Scaling(0.0001).then(LANDSAT_8_LINE)
    assert stored.value(np.array([2000, 5000, 8000])) == pytest.approx(told)
