"""Overlays, also where the library gives up on free coordinates."""

import numpy as np
import pytest
import shapely

from pipeline.ground import overlays

WEST, EAST = shapely.box(0, 0, 60, 10), shapely.box(40, 0, 100, 10)


def giving_up(monkeypatch, name):
    """Let the library fail as it does on some valid polygons, but not on a grid."""
    whole = getattr(shapely, name)

    def failing(*given, grid_size=None):
        if grid_size is None:
            raise shapely.GEOSException("TopologyException: side location conflict")
        return whole(*given, grid_size=grid_size)

    monkeypatch.setattr(shapely, name, failing)


@pytest.mark.parametrize("failing", [False, True])
def test_overlays_have_the_ground_of_the_boxes(monkeypatch, failing):
    if failing:
        for name in ("union_all", "intersection", "difference"):
            giving_up(monkeypatch, name)
    assert overlays.united([WEST, EAST]).area == pytest.approx(1000)
    assert overlays.common(WEST, EAST).area == pytest.approx(200)
    assert overlays.less(WEST, EAST).area == pytest.approx(400)
    pairs = overlays.common(np.array([WEST, EAST]), shapely.box(50, 0, 70, 5))
    assert shapely.area(pairs) == pytest.approx([50, 100])
