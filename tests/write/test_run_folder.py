"""The run folder is whole or absent, whenever and however a run ends."""

import errno
import inspect
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import textwrap
from contextlib import closing
from pathlib import Path

import pytest

from pipeline.core.errors import OutputError
from pipeline.write import run_folder as module
from pipeline.write.run_folder import folder_lock, run_folder
from tests.made_runs import FILES, OWNER, SIZE, attempt, marks, names, run, seal, tree, write

EXCHANGE_MOMENTS = 280


@pytest.fixture
def out(tmp_path):
    with run_folder(tmp_path / "out", "place", OWNER) as folder:
        write(folder, "former")
    return tmp_path / "out"


def fail_with(error):
    def work(folder):
        write(folder, "new")
        raise error

    return work


def assert_former_stands(out):
    assert marks(out / "place") == {"former"}
    assert [p.name for p in out.iterdir()] == ["place"], "nothing is left beside it"


def test_folder_is_moved_into_place_whole(out):
    assert_former_stands(out)
    with run_folder(out, "place", OWNER) as folder:
        assert folder.parent == out
        assert marks(out / "place") == {"former"}
        write(folder, "new")
    assert marks(out / "place") == {"new"}
    assert [p.name for p in out.iterdir()] == ["place"]


def test_replaced_as_a_whole_not_mixed(out):
    with run_folder(out, "place", OWNER) as folder:
        (folder / "only.txt").write_text("new")
        seal(folder)
    assert names(out / "place") == {"only.txt", "run.json"}


def test_two_steps_where_folders_cannot_be_exchanged(out, monkeypatch):
    monkeypatch.setattr(module, "_exchanged", lambda *_: False)
    with run_folder(out, "place", OWNER) as folder:
        write(folder, "new")
    assert marks(out / "place") == {"new"}
    assert [p.name for p in out.iterdir()] == ["place"]


def test_run_set_aside_by_a_crash_comes_back(out):
    (out / "place").rename(out / ".place.1.old")
    with pytest.raises(ZeroDivisionError):
        attempt(out, fail_with(ZeroDivisionError))
    assert_former_stands(out)


@pytest.mark.parametrize("error", [ZeroDivisionError, KeyboardInterrupt, SystemExit])
def test_failing_run_leaves_the_former_one(error, out):
    with pytest.raises(error):
        attempt(out, fail_with(error))
    assert_former_stands(out)


def test_failing_first_run_leaves_nothing(tmp_path):
    with pytest.raises(ZeroDivisionError):
        attempt(tmp_path / "deep" / "out", fail_with(ZeroDivisionError))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("mark", ["-wal", "-shm", "-journal"])
def test_open_geopackage_is_not_replaced(mark, out):
    (out / "place" / f"a.gpkg{mark}").touch()
    with pytest.raises(OutputError, match=r"open in another program.*close the file in the viewer"):
        attempt(out, pytest.fail)
    assert (out / "place" / "b.csv").read_text() == "former"


def test_geopackage_opened_during_the_run_is_not_replaced(out):
    viewer = sqlite3.connect(out / "place" / "a.gpkg")

    def work(folder):
        write(folder, "new")
        viewer.execute("PRAGMA journal_mode = WAL")
        viewer.execute("INSERT INTO t VALUES ('edit', NULL)")
        viewer.commit()

    with pytest.raises(OutputError, match="open in another program"):
        attempt(out, work)
    assert viewer.execute("SELECT mark FROM t").fetchall() == [("former",), ("edit",)]
    viewer.close()


def test_database_that_was_not_written_whole_is_not_delivered(out):
    def work(folder):
        write(folder, "new")
        content = (folder / "a.gpkg").read_bytes()
        (folder / "a.gpkg").write_bytes(content[: len(content) // 2])

    with pytest.raises(OutputError, match="not written whole"):
        attempt(out, work)
    assert_former_stands(out)


def test_second_run_of_the_same_place_waits_its_turn(out):
    with run_folder(out, "place", OWNER) as folder:
        with (
            pytest.raises(OutputError, match="another run is writing it"),
            run_folder(out, "place", OWNER),
        ):
            pytest.fail("the run must not start")
        with run_folder(out, "other_place", OWNER) as other:
            (other / "x").touch()
        write(folder, "new")
    assert marks(out / "place") == {"new"}


def test_lock_is_free_again_and_leaves_no_file(tmp_path):
    for _ in range(2):
        with folder_lock(tmp_path / "lock") as free:
            assert free
            with folder_lock(tmp_path / "lock") as again:
                assert not again
        assert not list(tmp_path.iterdir())


MADE_RUN = f"""
import sqlite3
from pipeline.write.former_run import manifest_rows, record_text
SIZE = {SIZE}
{inspect.getsource(write)}
{inspect.getsource(seal)}"""

RUN = textwrap.dedent("""
    import os, signal, sqlite3, sys
    from pathlib import Path

    from pipeline.write.run_folder import run_folder
    from tests.made_runs import OWNER

    # Count every line that is run and every call into C; at the chosen one the process is killed.
    left = int(sys.argv[2])
    exchange = None

    def count(frame, event, argument):
        global left, exchange
        left -= 1
        if exchange is None and frame.f_code.co_name == "_put_in_place":
            exchange = left
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return count

    sys.settrace(count)
    sys.setprofile(lambda frame, event, argument: count(frame, event, argument) and None)
    with run_folder(Path(sys.argv[1]), "place", OWNER) as folder:
        write(folder, "new")
    sys.settrace(None)
    sys.setprofile(None)
    print(int(sys.argv[2]) - exchange, int(sys.argv[2]) - left)
""")


def run_killed_at(out, moment):
    command = [sys.executable, "-c", MADE_RUN + RUN, str(out), str(moment)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill -9")
def test_killed_at_any_moment_the_former_or_the_new_run_stands_whole(out):
    whole = run_killed_at(out, 10**9)
    assert whole.returncode == 0, whole.stderr
    exchange, moments = map(int, whole.stdout.split())
    assert marks(out / "place") == {"new"}
    seen = set()
    # Most of the time goes into writing; what could do harm are the moments of the exchange.
    spread = {1 + exchange * n // 15 for n in range(15)}
    exchanging = range(exchange, exchange + EXCHANGE_MOMENTS, 10)
    retiring = range(exchange + EXCHANGE_MOMENTS, moments, 400)
    for moment in sorted({*spread, *exchanging, *retiring}):
        shutil.rmtree(out)
        with run_folder(out, "place", OWNER) as folder:
            write(folder, "former")
        (out / "place" / "notes.txt").write_text("mine")
        ended = run_killed_at(out, moment)
        assert ended.returncode == -signal.SIGKILL, ended.stderr
        found = marks(out / "place")
        assert found in ({"former"}, {"new"}), moment
        seen |= found
        with run_folder(out, "place", OWNER) as folder:
            write(folder, "after")
        assert marks(out / "place") == {"after"}
        assert [p.name for p in out.iterdir()] == ["place"], "remains of the dead are cleared"
        assert names(out / "place") == {*FILES, "run.json", "notes.txt"}, moment
    assert seen == {"former", "new"}


FULL = textwrap.dedent("""
    import resource, signal, sqlite3, sys
    from pathlib import Path

    from pipeline.core.errors import OutputError
    from pipeline.write.run_folder import run_folder
    from tests.made_runs import OWNER

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), resource.RLIM_INFINITY))
    try:
        with run_folder(Path(sys.argv[1]), "place", OWNER) as folder:
            write(folder, "new")
    except OutputError as error:
        sys.exit(str(error))
""")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no limits of this kind")
@pytest.mark.parametrize("limit", [1, 2, 4096, 8192, 50_000, SIZE])
def test_disk_full_is_one_line_and_the_former_run_stands(limit, out):
    command = [sys.executable, "-c", MADE_RUN + FULL, str(out), str(limit)]
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == 1
    assert "cannot be written" in ended.stderr, ended.stderr
    assert len(ended.stderr.splitlines()) == 1
    assert_former_stands(out)


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EDQUOT])
def test_what_the_disk_says_is_told(code, out):
    with pytest.raises(OutputError, match=os.strerror(code)):
        attempt(out, fail_with(OSError(code, os.strerror(code))))
    assert_former_stands(out)


@pytest.mark.parametrize(
    "said", ["Failed to commit transaction", "database or disk is full", "disk I/O error"]
)
def test_what_libraries_say_of_a_full_disk_is_told(said, out):
    with pytest.raises(OutputError, match="no room left on the disk"):
        attempt(out, fail_with(RuntimeError(said)))
    assert_former_stands(out)


def test_fault_of_a_library_on_a_full_disk_is_told_as_what_it_is(out, monkeypatch):
    """GDAL goes on where a table found no room, and says later that there is no such table."""
    error = RuntimeError("no such table: closed_days")
    with pytest.raises(RuntimeError, match="no such table"):
        attempt(out, fail_with(error))

    def no_room(**_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(module.tempfile, "TemporaryFile", no_room)
    with pytest.raises(OutputError, match=os.strerror(errno.ENOSPC)):
        attempt(out, fail_with(error))
    assert_former_stands(out)


def test_faults_of_the_program_are_not_blamed_on_the_disk(out):
    for error in (KeyError("full_rates"), ValueError("a diskette"), FileNotFoundError(2, "x")):
        with pytest.raises(type(error)):
            attempt(out, fail_with(error))


@pytest.mark.skipif(os.name == "nt" or os.geteuid() != 0, reason="only root can become nobody")
def test_folder_that_may_not_be_written_is_one_line(tmp_path):
    script = (
        "import os, sys; from pathlib import Path\nfrom pipeline.write.former_run import Owner\n"
        "from pipeline.write.run_folder import run_folder\n"
        "from pipeline.core.errors import OutputError\n"
        "os.chdir('/'); os.setuid(65534)\n"
        "try:\n    with run_folder(Path('/nobody_writes_here'), 'place', Owner('Place')): pass\n"
        "except OutputError as error: sys.exit(str(error))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "cannot be written (Permission denied)" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_file_in_the_way_is_told(tmp_path):
    (tmp_path / "out").write_text("a file")
    with pytest.raises(OutputError, match="in the way"):
        attempt(tmp_path / "out", pytest.fail)
    (tmp_path / "place").write_text("a file")
    with pytest.raises(OutputError, match="in the way"):
        attempt(tmp_path, pytest.fail)


@pytest.mark.parametrize("target", ["nowhere", "link"])
def test_link_that_leads_nowhere_is_one_line(target, tmp_path):
    (tmp_path / "link").symlink_to(tmp_path / target)
    with pytest.raises(OutputError, match=r"link: cannot be made there; expected .*--out"):
        attempt(tmp_path / "link", pytest.fail)
    assert [path.name for path in tmp_path.iterdir()] == ["link"]


def test_former_folder_comes_back_where_the_new_one_cannot_take_its_name(out, monkeypatch):
    monkeypatch.setattr(module, "_exchanged", lambda *_: False)
    rename = Path.rename

    def held(self, target):
        if self.suffix == ".part" and target.name == "place":
            raise PermissionError(errno.EACCES, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", held)
    with pytest.raises(OutputError, match="cannot be written"):
        run(out)
    assert_former_stands(out)


def test_only_remains_of_a_run_are_cleared(out):
    for name in (".place.notes.part", ".place.4.old", ".place.4.new", ".place.1.partly"):
        (out / name).mkdir()
        (out / name / "x").write_text("mine")
    (out / ".place.2.part").symlink_to(out / ".place.notes.part")
    (out / ".place.3.part").write_text("mine")
    before = {k: v for k, v in tree(out).items() if not k.startswith("place")}
    run(out)
    assert {k: v for k, v in tree(out).items() if not k.startswith("place")} == before


def test_interruption_after_the_exchange_loses_nothing(out, monkeypatch):
    (out / "place" / "notes.txt").write_text("mine")

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(module, "retire", stop)
    with pytest.raises(KeyboardInterrupt):
        run(out)
    monkeypatch.undo()
    run(out, "after")
    assert names(out) == {"place"}
    assert names(out / "place") == {*FILES, "run.json", "notes.txt"}
    assert marks(out / "place") == {"after"}


def test_relative_folder_is_written_like_any_other(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for mark in ("first", "second"):
        run(Path("results"), mark)
        assert marks(tmp_path / "results" / "place") == {mark}


def test_a_path_too_long_for_a_geopackage_is_told_as_such(tmp_path):
    deep = tmp_path.joinpath(*["a" * 150] * 4)
    with (
        pytest.raises(OutputError, match=r"its path has \d+ letters, too many for a GeoPackage"),
        run_folder(deep, "place_2027", OWNER) as folder,
        closing(sqlite3.connect(folder / "some.gpkg")) as database,
    ):
        database.execute("CREATE TABLE a (b)")
    assert list(deep.glob("*_2027")) == []
