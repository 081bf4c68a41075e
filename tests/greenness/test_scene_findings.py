"""Findings on how rasters were read: given twice, scaled too far."""

from datetime import date

import pytest
import rasterio

from pipeline.greenness.scene_findings import scene_findings
from tests.made_scenes import (
    greenness_raster,
    inspected,
    told,
    write_raster,
)

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


@pytest.fixture
def greenness_file(tmp_path):
    return greenness_raster(tmp_path)


def messages(scenes):
    return [finding["message"] for finding in scene_findings(scenes)]


def test_one_raster_for_two_dates_is_told(tmp_path, greenness_file):
    scenes = inspected(
        tmp_path,
        told(greenness_file),
        told(greenness_file, date(2026, 7, 20)),
    )
    assert any("stands for 2025-07-20, 2026-07-20" in words for words in messages(scenes))
    once = inspected(tmp_path, told(greenness_file))
    assert not any("stands for" in words for words in messages(once))


def test_index_scaled_too_far_is_told(tmp_path, greenness_file):
    stored = rasterio.open(greenness_file).read()
    write_raster(tmp_path / "far.tif", stored, scale=0.00001, nodata=-3000)
    scenes = inspected(tmp_path, told(tmp_path / "far.tif"))
    assert any("is its scale of 1e-05 right?" in words for words in messages(scenes))
    assert not any("right?" in w for w in messages(inspected(tmp_path, told(greenness_file))))
