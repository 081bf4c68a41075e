"""Quality masks: integers decoded with the published bit tables of the products."""

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pipeline.pictures.quality_masks import MaskRule, kept, mask_rule

CONFIG = Path(__file__).parents[2] / "config" / "mask_presets.csv"


@pytest.fixture(scope="module")
def presets():
    return pd.read_csv(CONFIG, true_values=["yes"], false_values=["no"])


def keeps(presets, preset, *values, for_burned=False):
    rule = mask_rule({"mask_preset": preset}, presets, for_burned=for_burned)
    return kept(np.array(values), rule).tolist()


def test_landsat_collection_2_values(presets):
    # USGS LSDS-1619 (Landsat 8-9) and LSDS-1618 (Landsat 4-7): QA_PIXEL bit tables.
    good = [21824, 21888, 21952, 22080, 5440, 5504, 5696]
    bad = [1, 21826, 22280, 23888, 30048, 54596, 54852, 55052, 5442, 5896, 7440, 13600, 13664]
    assert all(keeps(presets, "landsat_c2", *good))
    assert not any(keeps(presets, "landsat_c2", *bad))


def test_bit_of_clear_ground_alone_would_let_cloud_and_snow_through():
    for value in (21826, 23888, 30048, 54596):
        assert value & (1 << 6), "bit 6 says clear"


def test_hls_fmask_values(presets):
    # NASA HLS v2.0 Fmask: bits 1 to 4, 255 fill; clear ground is 64 or 128, hardly ever 0.
    assert keeps(presets, "hls_fmask", 64, 128, 192, 96, 0) == [True] * 5
    assert keeps(presets, "hls_fmask", 194, 132, 130, 196, 136, 200, 68, 255) == [False] * 8


def test_sentinel_2_scene_classes(presets):
    classes = list(range(12))
    kept_classes = [c for c in classes if keeps(presets, "sentinel2_scl", c)[0]]
    assert kept_classes == [4, 5, 6, 7]
    burn = [c for c in classes if keeps(presets, "sentinel2_scl", c, for_burned=True)[0]]
    assert burn == [2, 3, 4, 5, 6, 7], "char is taken for shadow and water"


def test_burned_ground_taken_for_shadow_is_kept_where_the_burned_share_is_read(presets):
    # The same bit tables: 23888 and 7440 are cloud shadow, 136 and 200 too (bit 3), 22280 cloud.
    assert keeps(presets, "landsat_c2", 23888, 7440, for_burned=True) == [True] * 2
    assert keeps(presets, "landsat_c2", 1, 21826, 22280, 30048, for_burned=True) == [False] * 4
    assert keeps(presets, "hls_fmask", 136, 200, for_burned=True) == [True] * 2
    assert keeps(presets, "hls_fmask", 194, 132, 80, 255, for_burned=True) == [False] * 4
    assert keeps(presets, "modis_vi_quality", 34961, for_burned=True) == [True]
    unknown = presets.assign(taken_for_burned=None)
    assert keeps(unknown, "hls_fmask", 136, for_burned=True) == [False]


def test_modis_vi_quality_values(presets):
    # MOD13Q1 v6.1 VI Quality bit table.
    assert keeps(presets, "modis_vi_quality", 2112, 2116, 2181, 2185) == [True] * 4
    assert keeps(presets, "modis_vi_quality", 3149, 4163, 18573, 34961, 65535) == [False] * 5


def test_every_row_names_its_published_table():
    with CONFIG.open(newline="") as file:
        assert all(row["source"] and row["meaning"] for row in csv.DictReader(file))


def test_rules_add_up():
    values = np.array([0, 1, 2, 4, 9], dtype="uint8")
    assert kept(values, MaskRule(drop_bits=(1,), drop_values=(9,))).tolist() == [1, 1, 0, 1, 0]
    assert kept(values, MaskRule(keep_values=(4, 9))).tolist() == [0, 0, 0, 1, 1]
