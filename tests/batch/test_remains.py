"""What killed batches left, two batches at once, and sources that do not stand still."""

import os
import time

import pytest

from pipeline.batch.summary import only_batch
from pipeline.core.errors import OutputError
from pipeline.write.run_folder import clear_all_remains, run_folder
from tests.batch.conftest import run_batch
from tests.made_runs import OWNER, marks, names, run, tree, write


def test_second_batch_into_one_folder_is_refused_and_touches_nothing(copied, capsys):
    good = copied / "places" / "Good"
    with only_batch(copied / "out"):
        before = tree(copied)
        assert run_batch(copied, good)[0] == 2
        assert tree(copied) == before
    (line,) = capsys.readouterr().err.splitlines()
    assert line == (
        f"error: {copied / 'out'}: another batch is writing there; expected one at a time; "
        "wait until it has ended"
    )
    assert run_batch(copied, good, "--resume")[0] == 0


def test_batch_clears_up_after_one_that_was_killed(copied):
    """Also where the property is kept, or no longer in the batch; what is the user's stays."""
    out = copied / "out"
    before = names(out)
    left = (".batch.7.part.json", ".batch.7.part.gpkg-journal", ".batch.lock", ".gone_2027.lock")
    for name in left:
        (out / name).touch()
    (out / ".gone_2027.7.part").mkdir()
    (out / ".gone_2027.7.part" / "report.html").write_text("half")
    mine = {".batch.7.part.txt": "mine", ".notes.lock": "mine", ".Mine.lock": ""}
    for name, text in mine.items():
        (out / name).write_text(text)
    assert run_batch(copied, copied / "places" / "Good", "--resume")[1]["Good"]["state"] == "kept"
    assert names(out) == before | set(mine)


def test_former_run_set_aside_by_a_kill_gives_back_what_is_its_users(tmp_path):
    """A kill between the exchange and the end: a run that is kept must not keep it hidden."""
    run(tmp_path, "former")
    (tmp_path / "place" / "photo.jpg").write_text("mine")
    (tmp_path / "place").rename(tmp_path / ".place.9.new")
    run(tmp_path / "second", "new")
    (tmp_path / "second" / "place").rename(tmp_path / "place")
    (tmp_path / "second").rmdir()
    clear_all_remains(tmp_path)
    assert names(tmp_path) == {"place"}
    assert marks(tmp_path / "place") == {"new"}
    assert (tmp_path / "place" / "photo.jpg").read_text() == "mine"


def test_place_that_a_run_writes_now_is_left_to_it(tmp_path):
    with run_folder(tmp_path, "place", OWNER) as folder:
        write(folder, "new")
        clear_all_remains(tmp_path)
        assert folder.exists()
    assert marks(tmp_path / "place") == {"new"}


def test_folder_made_for_a_batch_that_wrote_nothing_is_gone(tmp_path):
    with pytest.raises(OutputError), only_batch(tmp_path / "a" / "out"):
        raise OutputError.of("x", "found", "expected", "do")
    assert not list(tmp_path.iterdir())


def test_source_that_changes_while_it_is_read_costs_its_property_a_line(copied, monkeypatch):
    from pipeline import runner

    units, compute = copied / "places" / "Good" / "units.geojson", runner.compute_layers
    former = tree(copied / "out" / "good_2027")

    def meanwhile(*words):
        units.write_bytes(units.read_bytes() + b"\n")
        return compute(*words)

    monkeypatch.setattr(runner, "compute_layers", meanwhile)
    code, told = run_batch(copied, copied / "places" / "Good")
    assert (code, told["Good"]["state"]) == (3, "failed")
    (reason,) = told["Good"]["reasons"]
    assert reason.startswith(f"{units}: was changed while the run read it; expected a file that")
    assert tree(copied / "out" / "good_2027") == former


def test_clock_turned_back_keeps_nothing_that_would_come_out_otherwise(copied):
    """Files of the day after tomorrow: kept as long as they stand so, computed anew when not."""
    good, later = copied / "places" / "Good", time.time() + 172_800
    for path in (*good.iterdir(), *(copied / "out" / "good_2027").iterdir()):
        os.utime(path, (later, later))
    assert [run_batch(copied, good, "--resume")[1]["Good"]["state"] for _ in "12"] == [
        "written",
        "kept",
    ]
