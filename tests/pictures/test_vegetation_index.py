"""Indices, against spyndex on real pixels (a Sentinel-2 chip, Landsat 8 samples)."""

import json
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
import spyndex

from pipeline.core.scene_names import Scaling
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.vegetation_index import dnbr, mirbi, nbr, ndvi, rbr


@pytest.fixture(scope="module")
def sentinel():
    """Real Sentinel-2 pixels in spyndex's own data: red, near-infrared."""
    chip = np.array(json.loads((files(spyndex) / "data" / "S2_10m.json").read_text()))
    assert chip.shape == (4, 300, 300)
    return chip[2] / 10000, chip[3] / 10000


@pytest.fixture(scope="module")
def landsat():
    samples = pd.read_json(files(spyndex) / "data" / "spectral.json")
    return samples.rename(columns=str)


def test_ndvi_of_a_real_sentinel_2_chip(sentinel):
    red, nir = sentinel
    ours = ndvi(red, nir)
    theirs = spyndex.computeIndex("NDVI", {"N": nir, "R": red})
    assert ours == pytest.approx(theirs, abs=1e-12)
    assert ours.mean() == pytest.approx(0.469985, abs=5e-7)
    assert ours.std() == pytest.approx(0.230301, abs=5e-7)


def test_indices_of_real_landsat_8_samples(landsat):
    red, nir = landsat["SR_B4"].to_numpy(), landsat["SR_B5"].to_numpy()
    swir1, swir2 = landsat["SR_B6"].to_numpy(), landsat["SR_B7"].to_numpy()
    bands = {"R": red, "N": nir, "S1": swir1, "S2": swir2}
    for ours, name in (
        (ndvi(red, nir), "NDVI"),
        (nbr(nir, swir2), "NBR"),
        (mirbi(swir1, swir2), "MIRBI"),
    ):
        assert ours == pytest.approx(spyndex.computeIndex(name, bands), abs=1e-12)
    assert ndvi(red, nir)[0] == pytest.approx(0.237548, abs=5e-7)


def test_loss_of_the_burn_ratio():
    # Near-infrared and 2.2 µm reflectance of a sward and of char; formulas of Key and Benson 2006
    # and of Parks, Dillon and Miller 2014.
    before, after = (nbr(np.array([n]), np.array([s])) for n, s in ((0.30, 0.20), (0.10, 0.18)))
    assert (*before, *after) == pytest.approx((0.2, -0.285714), abs=5e-7)
    theirs = spyndex.computeIndex("NBR", {"N": 0.10, "S2": 0.18})
    assert after == pytest.approx([theirs], abs=1e-12)
    assert dnbr(before, after) == pytest.approx([485.714], abs=5e-4)
    assert rbr(dnbr(before, after), before) == pytest.approx([404.425], abs=5e-4)


def test_relative_loss_stays_within_reason_where_the_ratio_before_is_near_zero():
    before = np.array([0.5, 0.2, 0.05, 0.02, 0.001])
    told = rbr(np.full(5, 100.0), before)
    assert told == pytest.approx([66.6, 83.3, 95.1, 97.9, 99.8], abs=0.06)
    assert 100.0 / np.sqrt(before[-1]) == pytest.approx(3162, abs=0.5), "by the square root"


def test_whole_numbers_do_not_wrap_around():
    # As unsigned 16-bit numbers, (2000 − 3000) / (2000 + 3000) would be 12.9.
    assert ndvi(np.array([3000], "uint16"), np.array([2000], "uint16")) == pytest.approx([-0.2])
    assert ndvi(np.array([100], "uint8"), np.array([250], "uint8")) == pytest.approx([3 / 7])


def test_black_pixel_has_no_index():
    assert np.isnan(ndvi(np.array([0.0]), np.array([0.0]))).all()


def test_mean_of_ndvi_is_not_ndvi_of_means():
    red, nir = np.array([0.05, 0.12]), np.array([0.40, 0.22])
    assert ndvi(red, nir).mean() == pytest.approx(0.535948, abs=5e-7)
    assert ndvi(red.mean(), nir.mean()) == pytest.approx(0.569620, abs=5e-7)


def test_indices_of_landsat_numbers():
    # Landsat Collection 2 Level 2 numbers of red, near-infrared and 2.2 µm, by the products' own
    # scale and offset; NDVI of the unscaled numbers would be 0.333333.
    red, nir, swir2 = Scaling(2.75e-05, -0.2).value(np.array([[9000], [18000], [13000]]))
    assert ndvi(red, nir) == pytest.approx([0.722628], abs=5e-7)
    assert nbr(nir, swir2) == pytest.approx([0.303867], abs=5e-7)


def test_default_noise_floor_is_what_errors_of_reflectance_make_of_ndvi():
    # First-order propagation of an error of 0.005 in each band, for a green and a dormant sward.
    red, nir = np.array([0.05, 0.13]), np.array([0.40, 0.22])
    step = 1e-7
    slopes = [
        (ndvi(red + step, nir) - ndvi(red - step, nir)) / (2 * step),
        (ndvi(red, nir + step) - ndvi(red, nir - step)) / (2 * step),
    ]
    noise = 0.005 * np.hypot(*slopes)
    assert noise == pytest.approx([0.0199, 0.0209], abs=5e-5)
    assert GreennessSettings().noise_floor == pytest.approx(noise.mean(), abs=1e-3)
