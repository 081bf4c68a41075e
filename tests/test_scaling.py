"""Stored numbers and values: the products' published scales, and sums against sums of values."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.compute.scaling import Scaling

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
def test_sums_of_stored_numbers_become_sums_of_values(numbers, scale, offset):
    stored, scaling = np.array(numbers, dtype=np.int64), Scaling(scale, offset)
    value = scaling.value(stored)
    count, total, squares = len(stored), stored.sum(), (stored**2).sum()
    assert scaling.total(count, total) == pytest.approx(value.sum(), rel=1e-9, abs=1e-6)
    assert scaling.squares(count, total, squares) == pytest.approx(
        (value**2).sum(), rel=1e-9, abs=1e-3
    )
