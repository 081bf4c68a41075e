"""The benchmarks of the greenness steps at a tiny size: what is counted, not how long it takes."""

import importlib.util
from pathlib import Path

import numpy as np
import pytest

from pipeline.pictures import mosaics, scene_rasters

BENCHMARKS = Path(__file__).parents[1] / "benchmarks"

# rasterio multiplies transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


def loaded(name):
    spec = importlib.util.spec_from_file_location(name, BENCHMARKS / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


bench, interval = loaded("bench_greenness"), loaded("bench_interval")


@pytest.fixture
def counted(monkeypatch):
    """Windows read, as (file, left, top, right, bottom), and files opened."""
    windows, opened = [], []
    read, opener = scene_rasters.SceneRaster._read, mosaics.open_raster

    def reading(tile, bands, rows, spans):
        windows.extend((tile.scene["path"], a, rows[0], b, rows[1]) for a, b in spans)
        return read(tile, bands, rows, spans)

    def opening(path, *more):
        opened.append(path)
        return opener(path, *more)

    monkeypatch.setattr(scene_rasters.SceneRaster, "_read", reading)
    monkeypatch.setattr(mosaics, "open_raster", opening)
    return windows, opened


def pixels_of(windows):
    return sum((right - left) * (bottom - top) for _, left, top, right, bottom in windows)


def case_of(folder, size, layout, count):
    zones = bench.chosen(bench.fields(640, 5), layout, count, 640, 5)
    return bench.Case(bench.write_pair(folder, size, 5), zones)


@pytest.mark.parametrize(("layout", "count"), [("compact", 12), ("scattered", 12), ("all", 0)])
def test_each_file_is_opened_once_and_no_pixel_read_twice(tmp_path, counted, layout, count):
    case = case_of(tmp_path, 640, layout, count)
    windows, opened = counted
    bench.ours(case)
    assert sorted(opened) == sorted(case.paths)
    for path in case.paths:
        seen = np.zeros((640, 640), dtype=int)
        for name, left, top, right, bottom in windows:
            if name == str(path):
                seen[top:bottom, left:right] += 1
        assert seen.max() == 1
    assert pixels_of(windows) <= bench.decode(case), "only blocks that zones touch"


def test_cost_grows_with_the_zones_and_not_with_the_raster(tmp_path, counted):
    windows, _ = counted
    numbers = []
    for size in (640, 1280):
        windows.clear()
        bench.ours(case_of(tmp_path, size, "compact", 12))
        numbers.append((len(windows), pixels_of(windows)))
    assert numbers[1][1] <= numbers[0][1]
    assert numbers[1][0] <= 2 * numbers[0][0]


@pytest.mark.parametrize("layout", ["compact", "scattered"])
def test_pixels_agree_with_exactextract(tmp_path, layout):
    case = case_of(tmp_path, 640, layout, 12)
    theirs = bench.plain_exactextract(case)
    assert bench.ours(case) == pytest.approx(theirs, abs=1e-3), "float32 shares over there"


@pytest.mark.parametrize("references", interval.REFERENCES)
def test_interval_holds_as_often_as_it_says(references):
    told = interval.coverage(references, 0.02, 1500, 17)
    assert told["spread_of_references"] == pytest.approx(0.95, abs=0.017), "3 standard errors"
    assert told["effective_pixels"] < 0.85
    assert told["all_pixels"] < 0.25
