"""A raster that many properties share is read around each of them, however large it is."""

import sys

import pytest

from pipeline.runner import compute_layers, read_property
from tests.benchmarks.bench_batch import write_property
from tests.benchmarks.bench_shared_raster import YEARS, bytes_read, share, write_mosaic


@pytest.mark.skipif(sys.platform != "linux", reason="counts what proc(5) tells")
def test_what_is_read_does_not_grow_with_the_raster(tmp_path):
    """2 million pixels and 400 million, of which the same ones hold numbers."""
    path, read, means = write_property(tmp_path / "place", 0), [], []
    share(path.parent, tmp_path)
    for side in (1_500, 1_500, 20_000):
        for year, level in YEARS.items():
            write_mosaic(tmp_path / f"mosaic_{year}.tif", side, level, 1, smaller=())
        before = bytes_read()
        told, intake = read_property(path, (tmp_path,))
        frames = compute_layers(intake, told, lambda *_: None)
        read.append(bytes_read() - before)
        means.append(frames["zone_scenes"])
    # The larger one has an index of 1,600 blocks, of 16 bytes each, and is read for its checksum.
    assert read[2] < read[1] + 500_000
    assert means[2].equals(means[1])
