"""A batch on a real scheduler and workers of their own, on this machine's loopback alone."""

import json
import os
import shutil
import signal
import subprocess
import sys
import threading
from contextlib import contextmanager
from pathlib import Path

import geopandas as gpd
import pytest
from distributed import Client

from pipeline.batch import batch, cluster, cluster_worker
from pipeline.batch.cluster import cluster_outcomes, shared_root
from pipeline.batch.job import Job
from pipeline.cli import main
from pipeline.core.errors import UsageError
from tests.batch import fatal
from tests.batch.conftest import run_batch, wait_for
from tests.batch.test_batch import LAYERS
from tests.made_runs import tree

PROJECT = Path(__file__).parents[2]


class Cluster:
    """A scheduler and workers, each a process; all are killed in the end."""

    def __init__(self, folder):
        self.folder, self.processes, self.workers = folder, [], []
        told = folder / "scheduler.json"
        words = ("--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(told))
        self._start("dask_scheduler", *words)
        assert wait_for(told.exists), "the scheduler has not started"
        self.address = wait_for(lambda: _address(told))

    def _start(self, program, *words):
        log = (self.folder / f"{program}.log").open("a")
        command = [sys.executable, "-m", f"distributed.cli.{program}", *words, "--no-dashboard"]
        environment = os.environ | {"PYTHONPATH": str(PROJECT)}
        self.processes.append(
            subprocess.Popen(command, env=environment, stdout=log, stderr=log, cwd=self.folder)
        )
        log.close()
        return self.processes[-1]

    def add_worker(self):
        words = ("--host", "127.0.0.1", "--nthreads", "1", "--no-nanny")
        self.workers.append(self._start("dask_worker", self.address, *words))

    def end(self):
        for process in self.processes:
            process.kill()
            process.wait()


def _address(told):
    try:
        return json.loads(told.read_text())["address"]
    except ValueError:
        return None


@pytest.fixture(scope="module")
def dask(tmp_path_factory):
    """A cluster of one worker that the tests share; none of them harms it."""
    with started(tmp_path_factory.mktemp("cluster"), workers=1) as running:
        yield running


@contextmanager
def started(folder, workers):
    """A cluster whose workers are there; it is ended with the block."""
    running = Cluster(folder)
    try:
        for _ in range(workers):
            running.add_worker()
            with Client(running.address, set_as_default=False) as client:
                client.wait_for_workers(len(running.workers), timeout=300)
        yield running
    finally:
        running.end()


def kill_writer(out, workers, killed):
    """Kill the first worker that is seen at writing a run folder."""
    parts = wait_for(lambda: list(out.glob(".*.part")))
    number = int(parts[0].name.split(".")[2])
    killed += [worker for worker in workers if worker.pid == number]
    os.kill(number, signal.SIGKILL)


def test_worker_that_is_killed_costs_nothing_and_rows_are_those_of_one_machine(
    first_batch, copied, tmp_path, capsys
):
    names = ("Good", "small", "Faulty")
    words = [copied / "places" / name for name in names]
    assert run_batch(copied, *words, "--resume")[0] == 1
    shared = tmp_path / "shared"
    shutil.copytree(copied / "places", shared / "places")
    words = [shared / "places" / name for name in names]
    killed = []
    with started(tmp_path, workers=2) as dask:
        killer = threading.Thread(target=kill_writer, args=(shared / "out", dask.workers, killed))
        killer.start()
        code, told = run_batch(shared, *words, "--scheduler", dask.address)
        killer.join()
    assert len(killed) == 1
    assert (code, {name: row["state"] for name, row in told.items()}) == (
        1,
        {"Good": "written", "small": "written", "Faulty": "failed"},
    )
    assert capsys.readouterr().err.count("is begun once more") == 1
    assert not list((shared / "out").glob(".*"))
    for folder in ("good_2027", "small_place_2027"):
        assert tree(shared / "out" / folder) == tree(first_batch[0] / "out" / folder)
    for layer in LAYERS:
        here, there = (
            gpd.read_file(root / "out" / "batch.gpkg", layer=layer).drop(
                columns="state", errors="ignore"
            )
            for root in (copied, shared)
        )
        assert here.equals(there), layer
        assert len(there), layer


def set_root(path):
    os.environ[cluster_worker.ROOT_VARIABLE] = path


def say_to_workers(dask, function, *words):
    with Client(dask.address, set_as_default=False) as client:
        return client.run(function, *words)


@pytest.fixture
def mounted_at(dask):
    """Tells the workers where the shared folder stands; they forget it when the test ends."""
    yield lambda path: say_to_workers(dask, set_root, str(path))
    say_to_workers(dask, set_root, "")


def test_each_worker_may_see_the_shared_folder_under_a_path_of_its_own(
    dask, mounted_at, copied, tmp_path
):
    (tmp_path / "mounted").symlink_to(copied)
    mounted_at(tmp_path / "mounted")
    words = (copied / "places" / "Good", "--resume", "--scheduler", dask.address)
    assert run_batch(copied, *words)[1]["Good"]["state"] == "kept"
    assert run_batch(copied, *words)[1]["Good"]["folder"] == "good_2027"


def test_worker_that_does_not_see_the_folder_is_a_line_before_any_work(
    dask, mounted_at, copied, capsys
):
    (copied / "other" / "out").mkdir(parents=True)
    mounted_at(copied / "other")
    before = tree(copied)
    words = (copied / "places" / "Good", "--scheduler", dask.address, "--root", copied)
    assert run_batch(copied, *words)[0] == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert f"does not see it at {copied / 'other'}; expected the folder that stands here as" in line
    assert tree(copied) == before


def test_each_library_of_another_version_is_a_line_before_any_work(
    dask, copied, monkeypatch, capsys
):
    words = (copied / "places" / "Good", "--scheduler", dask.address)
    own = cluster_worker.versions() | {"numpy": "0.1", "fiona": cluster_worker.ABSENT}
    monkeypatch.setattr(cluster, "versions", lambda: own)
    before = tree(copied)
    assert run_batch(copied, *words)[0] == 2
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(": ", 2)[2].split()[0] for line in lines] == ["numpy", "fiona"]
    assert "expected numpy 0.1; install the same versions" in lines[0]
    monkeypatch.setattr(cluster, "__version__", "9.9")
    assert run_batch(copied, *words)[0] == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "swardline 0.1.0; expected swardline 9.9; install" in line
    assert tree(copied) == before


def test_gdal_settings_last_as_long_as_the_batch(dask):
    names = list(cluster_worker.GDAL_SETTINGS)
    say_to_workers(dask, cluster_worker.settle)
    for values in say_to_workers(dask, fatal.environment, names).values():
        assert values == list(cluster_worker.GDAL_SETTINGS.values())
    say_to_workers(dask, cluster_worker.leave)
    for values in say_to_workers(dask, fatal.environment, names).values():
        assert values == [os.environ.get(name) for name in names]


def test_job_that_kills_its_worker_is_begun_twice_and_no_more(tmp_path, monkeypatch):
    """The one worker falls; one that comes later is taken on, and falls; the rest is told."""
    monkeypatch.setattr(cluster, "PATIENCE_SECONDS", 300.0)
    names = ["a", "deadly", "b"]
    jobs = [Job(number, tmp_path / name, tmp_path) for number, name in enumerate(names)]
    came = []
    with started(tmp_path, workers=1) as dask:
        places = (dask.address, tmp_path, tmp_path / "lock")
        for outcome in cluster_outcomes(jobs, *places, do=fatal.do):
            came.append(outcome)
            if len(came) == 1:
                dask.add_worker()
            given_up = any(told.job.number == 1 for told in came)
            monkeypatch.setattr(cluster, "PATIENCE_SECONDS", 0.0 if given_up else 300.0)
    told = {outcome.job.number: outcome for outcome in came}
    assert len(came) == len(told) == 3
    assert (told[0].state, told[1].state) == ("written", "failed")
    assert "ended the process that worked on it, twice" in told[1].reasons[0]
    # The last one is done where the later worker was there in time, else told.
    left = told[2].state == "written"
    assert left or "no worker of the cluster was left" in told[2].reasons[0]
    assert sorted((tmp_path / "log.txt").read_text().split()) == ["0", "2"][: 1 + left]


def test_cluster_without_workers_is_a_line(tmp_path):
    wanted = "it has no workers; expected one or more; start some"
    with started(tmp_path, workers=0) as dask, pytest.raises(UsageError, match=wanted):
        next(cluster_outcomes([], dask.address, tmp_path, tmp_path / "lock"))


def test_job_for_another_process_at_the_same_address_is_not_begun(monkeypatch):
    other = type("Other", (), {"id": "Worker-2"})
    monkeypatch.setattr(cluster_worker, "get_worker", other)
    assert cluster_worker.work(None, "", "Worker-1", pytest.fail) is None


def test_address_where_none_answers_is_a_line(copied, monkeypatch, capsys):
    monkeypatch.setattr(cluster, "ANSWER_SECONDS", 0.5)
    for address in ("tcp://127.0.0.1:9", "nonsense"):
        words = (copied / "places" / "Good", "--scheduler", address)
        assert run_batch(copied, *words)[0] == 2
        (line,) = capsys.readouterr().err.splitlines()
        assert f"--scheduler {address}: no scheduler answers there" in line


def test_shared_folder_is_the_deepest_or_the_one_given(tmp_path):
    jobs = [Job(n, tmp_path / "a" / name / "p.toml", tmp_path / "a") for n, name in enumerate("xy")]
    assert shared_root(jobs, None) == tmp_path / "a"
    assert shared_root(jobs, tmp_path) == tmp_path
    with pytest.raises(UsageError, match=rf"{tmp_path}/a: lies outside --root; .* below .*/a/x"):
        shared_root(jobs, tmp_path / "a" / "x")


def test_what_lacks_for_a_cluster_is_a_line(tmp_path, monkeypatch, capsys):
    assert main(["batch", str(tmp_path), "--root", str(tmp_path)]) == 2
    assert "--root: no --scheduler" in capsys.readouterr().err
    monkeypatch.setattr(batch, "find_spec", lambda _name: None)
    assert main(["batch", str(tmp_path), "--scheduler", "tcp://x:1"]) == 2
    assert "pip install 'swardline[cluster]'" in capsys.readouterr().err
