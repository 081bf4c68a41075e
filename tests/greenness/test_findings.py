"""Findings of the greenness steps on what the pictures show."""

import pytest

from pipeline.greenness.findings import zone_scene_findings
from pipeline.greenness.settings import GreennessSettings
from tests.made_scenes import (
    LEFT,
    NO_TREATMENTS,
    inspected,
    measured,
    round_units,
    smooth_greenness,
    told,
    write_raster,
)

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


def test_picture_of_another_place_is_told(tmp_path):
    away = write_raster(tmp_path / "away.tif", smooth_greenness(), left=LEFT + 90000, scale=0.0001)
    scenes = inspected(tmp_path, told(away))
    rows = measured(round_units(), scenes).reset_index()
    (words,) = [
        f["message"]
        for f in zone_scene_findings(rows, NO_TREATMENTS, GreennessSettings())
        if "no unit" in f["message"]
    ]
    assert words.startswith("2025-07-20: no unit has a usable pixel: is it the right file")
