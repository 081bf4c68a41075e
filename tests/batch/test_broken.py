"""Ten ways to break a property, each told by its own reason; the makers are the benchmark's."""

import shutil

import pytest

from pipeline.batch.job import Job, do_job
from tests.benchmarks.bench_batch import BREAKS, write_property


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    return write_property(tmp_path_factory.mktemp("whole") / "p", 0).parent


@pytest.mark.parametrize("way", BREAKS)
def test_broken_property_fails_for_its_own_reason(way, whole, tmp_path):
    shutil.copytree(whole, tmp_path / "p")
    change, word = BREAKS[way]
    change(tmp_path / "p")
    outcome = do_job(Job(1, tmp_path / "p" / "property.toml", tmp_path / "out"))
    assert outcome.state == "failed"
    assert word in " ".join(outcome.reasons)
    assert "internal error" not in " ".join(outcome.reasons)
    assert not (tmp_path / "out").exists()
