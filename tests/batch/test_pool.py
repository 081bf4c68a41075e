"""Workers that are killed, and a batch that is: each costs only what it was working on."""

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.batch.job import Job
from pipeline.batch.pool import outcomes, worker_count
from pipeline.batch_terminal import duration
from tests.batch import fatal
from tests.batch.conftest import forties, run_batch, wait_for
from tests.made_runs import tree

PROJECT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("asked", "jobs", "workers"), [(None, 1, 1), (None, 5, 1), (8, 3, 3), (2, 100, 2), (1, 100, 1)]
)
def test_few_properties_are_worked_on_in_this_process(asked, jobs, workers):
    assert worker_count(asked, jobs) == workers


def test_worker_that_is_killed_costs_its_own_property_and_no_other(tmp_path):
    """Two jobs end their process whenever they are tried; all others are done."""
    names = ["a", "deadly", "b", "c", "d", "deadly", "e"]
    jobs = [Job(number, Path(name), tmp_path) for number, name in enumerate(names)]
    came = list(outcomes(jobs, 2, fatal.do))
    assert sorted(outcome.job.number for outcome in came) == list(range(7))
    states = {outcome.job.number: outcome.state for outcome in came}
    assert {number for number, state in states.items() if state == "failed"} == {1, 5}
    (reason,) = next(outcome.reasons for outcome in came if outcome.job.number == 1)
    assert "the system ended the process that worked on it, twice" in reason
    done = list(map(int, (tmp_path / "log.txt").read_text().split()))
    assert sorted(done) == [0, 2, 3, 4, 6]


# What is started beside others in the background is born deaf to the key that interrupts.
SLOW = """
import signal
import sys
from pathlib import Path
from pipeline.batch import pool
from pipeline.batch.job import Job
from tests.batch import fatal
if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.default_int_handler)
    jobs = [Job(n, Path("p"), Path(sys.argv[1])) for n in range(4)]
    pool.GRACE_SECONDS = float(sys.argv[3])
    try:
        list(pool.outcomes(jobs, 2, getattr(fatal, sys.argv[2])))
    except KeyboardInterrupt:
        sys.exit(130)
"""


@pytest.mark.parametrize(
    ("number", "code", "work", "grace", "left"),
    [
        ("SIGINT", 130, "do_slowly", "60", 0),
        ("SIGINT", 130, "do_deafly", "0.1", 2),
        ("SIGKILL", -9, "do_slowly", "60", 2),
    ],
)
def test_batch_that_is_stopped_leaves_no_process_behind(number, code, work, grace, left, tmp_path):
    """Told to stop, its workers clear up; killed or deaf, they end, and what they left is a .part.

    A job takes ten minutes, so that none ends by itself.
    """
    (tmp_path / "slow.py").write_text(SLOW)
    command = [sys.executable, str(tmp_path / "slow.py"), str(tmp_path), work, grace]
    with subprocess.Popen(
        command, env=os.environ | {"PYTHONPATH": str(PROJECT)}, stderr=subprocess.PIPE, text=True
    ) as process:
        workers = wait_for(lambda: two_workers(tmp_path))
        process.send_signal(getattr(signal, number))
        try:
            said = process.communicate(timeout=150)[1]
        finally:
            process.kill()
    assert process.returncode == code
    assert wait_for(lambda: not any(map(is_alive, workers)))
    assert len(list(tmp_path.glob("*.part"))) == left
    assert "Traceback" not in said


@pytest.mark.parametrize(
    ("workers", "names", "minutes"), [(1, ["slow"], 0.02), (2, ["a", "slow", "b", "c"], 0.5)]
)
def test_property_that_takes_too_long_is_given_up_and_the_others_are_done(
    workers, names, minutes, tmp_path
):
    """The slow one takes ten minutes; the others need no more than the start of their worker."""
    jobs = [Job(number, Path(name), tmp_path) for number, name in enumerate(names)]
    came = list(outcomes(jobs, workers, fatal.do_or_linger, limit_minutes=minutes))
    states = {names[outcome.job.number]: outcome.state for outcome in came}
    assert states == {name: "failed" if name == "slow" else "written" for name in names}
    late = next(outcome for outcome in came if outcome.state == "failed")
    (reason,) = late.reasons
    assert late.seconds >= minutes * 60
    assert reason.startswith("it took longer than --limit-minutes allows; expected ")
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--limit-minutes", "0"), "0: give a number of minutes above 0"),
        (("--limit-minutes", "nan"), "nan: give a number of minutes above 0"),
        (("--limit-minutes", "soon"), "soon: give a number of minutes above 0"),
    ],
)
def test_limit_is_a_time(words, said, copied, capsys):
    with pytest.raises(SystemExit, match="2"):
        run_batch(copied, copied / "places" / "Good", *words)
    assert said in capsys.readouterr().err


def test_limit_within_time_changes_nothing(first_batch, copied):
    words = (copied / "places" / "Good", "--limit-minutes", "60")
    shutil.rmtree(copied / "out" / "good_2027")
    assert run_batch(copied, *words)[0] == 0
    assert tree(copied / "out" / "good_2027") == tree(first_batch[0] / "out" / "good_2027")


def two_workers(folder):
    texts = [path.read_text() for path in folder.glob("*.part")]
    return list(map(int, texts)) if len(texts) == 2 and all(texts) else None


def is_alive(number):
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


def test_pool_writes_what_the_loop_writes(first_batch, copied):
    """The same bytes, whichever process they come from."""
    places = copied / "places"
    words = (places / "Good", places / "Shared", "--allow", places / "Good")
    for name in ("good_2027", "shared_2027"):
        shutil.rmtree(copied / "out" / name)
    assert run_batch(copied, *words, workers="2")[0] == 0
    for name in ("good_2027", "shared_2027"):
        assert tree(copied / "out" / name) == tree(first_batch[0] / "out" / name)


def test_interrupted_batch_says_how_to_go_on(tmp_path, monkeypatch, capsys):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("pipeline.batch.job.run_prepared", interrupt)
    forties(tmp_path / "places", "Good")
    code, told = run_batch(tmp_path, tmp_path / "places")
    assert (code, told) == (130, {})
    said = capsys.readouterr().err
    assert "0 of 1 properties stand whole" in said
    assert "--resume" in said


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "0 s"), (89.4, "89 s"), (90, "2 min"), (5399, "1 h 30 min"), (12000, "3 h 20 min")],
)
def test_time_left_is_as_coarse_as_it_is_known(seconds, words):
    assert duration(seconds) == words
