"""A run takes the place of its own former run only, and the user's files come along."""

import errno
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.core.errors import OutputError
from pipeline.write.former_run import Owner
from pipeline.write.run_folder import check_place, run_folder
from tests.made_runs import FILES, OWNER, attempt, marks, names, run, seal, tree, write


@pytest.fixture
def out(tmp_path):
    run(tmp_path / "out", "former")
    return tmp_path / "out"


def test_files_of_the_user_are_carried_over_and_told(out, caplog):
    place = out / "place"
    victim = out.parent / "victim"
    victim.mkdir()
    (victim / "kept.txt").write_text("not to be touched")
    (place / "photos" / "north").mkdir(parents=True)
    (place / "photos" / "north" / "burn.jpg").write_bytes(b"jpg")
    (place / "photos" / "link").symlink_to(victim)
    (place / "link").symlink_to(victim)
    (place / "broken").symlink_to("nowhere")
    (place / ".hidden").write_text("mine")
    (place / "notes\n.txt").write_text("mine")
    before = {k: v for k, v in tree(place).items() if k not in (*FILES, "run.json")}
    with caplog.at_level("INFO", "swardline"):
        run(out)
    assert marks(place) == {"new"}
    after = {k: v for k, v in tree(place).items() if k not in (*FILES, "run.json")}
    assert after == before
    assert (victim / "kept.txt").read_text() == "not to be touched"
    assert names(out) == {"place"}
    (told,) = [line for line in caplog.messages if "carried over" in line]
    assert "6 files" in told
    assert "\n" not in told
    run(out)
    assert {k: v for k, v in tree(place).items() if k not in (*FILES, "run.json")} == before


def test_output_edited_by_the_user_is_kept_under_a_telling_name(out, caplog):
    place = out / "place"
    (place / "b.csv").write_text("prices typed in")
    with caplog.at_level("INFO", "swardline"):
        run(out)
    assert marks(place) == {"new"}
    assert (place / "b_kept.csv").read_text() == "prices typed in"
    assert any("b.csv" in line and "b_kept.csv" in line for line in caplog.messages)
    (place / "b.csv").write_text("typed in again")
    run(out, "third")
    assert marks(place) == {"third"}
    assert (place / "b_kept.csv").read_text() == "prices typed in"
    assert (place / "b_kept_2.csv").read_text() == "typed in again"


def test_edited_output_that_is_no_longer_made_does_not_pass_for_a_new_one(out):
    (out / "place" / "b.csv").write_text("prices typed in")
    with run_folder(out, "place", OWNER) as folder:
        (folder / "only.txt").write_text("new")
        seal(folder)
    assert names(out / "place") == {"only.txt", "run.json", "b_kept.csv"}


def test_geopackage_that_was_looked_at_counts_as_unchanged(out):
    package = out / "place" / "a.gpkg"
    before = package.read_bytes()
    for mode in ("wal", "delete"):  # as a viewer does on opening and on closing
        viewer = sqlite3.connect(package)
        viewer.execute(f"PRAGMA journal_mode = {mode}")
        viewer.close()
    assert package.read_bytes() != before
    run(out)
    assert names(out / "place") == {*FILES, "run.json"}


def test_geopackage_that_was_edited_is_kept(out):
    with sqlite3.connect(out / "place" / "a.gpkg") as database:
        database.execute("UPDATE t SET mark = 'edited'")
    database.close()
    run(out)
    with sqlite3.connect(out / "place" / "a_kept.gpkg") as database:
        assert database.execute("SELECT mark FROM t").fetchone() == ("edited",)
    database.close()


def test_record_edited_by_the_user_is_kept(out):
    path = out / "place" / "run.json"
    path.write_text(path.read_text().replace("{", '{"note": "mine",', 1))
    run(out)
    assert "mine" in (out / "place" / "run_kept.json").read_text()
    assert marks(out / "place") == {"new"}


def test_name_that_differs_in_case_only_is_not_overwritten(out):
    (out / "place" / "b.csv").unlink()
    (out / "place" / "B.CSV").write_text("mine")
    run(out)
    assert (out / "place" / "B_kept.CSV").read_text() == "mine"
    assert marks(out / "place") == {"new"}


def test_folder_where_an_output_stood_is_kept(out):
    (out / "place" / "b.csv").unlink()
    (out / "place" / "b.csv").mkdir()
    (out / "place" / "b.csv" / "x").write_text("mine")
    run(out)
    assert (out / "place" / "b_kept.csv" / "x").read_text() == "mine"


def test_link_where_an_output_stood_is_kept_as_a_link(out, tmp_path):
    (tmp_path / "b.csv").write_text("former")
    (out / "place" / "b.csv").unlink()
    (out / "place" / "b.csv").symlink_to(tmp_path / "b.csv")
    run(out)
    assert (tmp_path / "b.csv").read_text() == "former"
    assert (out / "place" / "b_kept.csv").is_symlink()


def foreign(text):
    def put(place):
        (place / "a.gpkg").unlink()
        (place / "b.csv").write_text("mine")
        (place / "run.json").write_text(text)

    return put


FOREIGN = {
    "no record": lambda place: (place / "run.json").unlink(),
    "empty record": foreign(""),
    "not JSON": foreign("{"),
    "a list": foreign("[]"),
    "nested without end": foreign("[" * 200_000),
    "of another program": foreign('{"outputs": []}'),
    "outputs are no list": foreign(
        '{"program": {"swardline": "0"}, "property": {"name": "Place"}, "outputs": 1}'
    ),
    "path in place of a name": foreign(
        '{"program": {"swardline": "0"}, "property": {"name": "Place"}, '
        '"outputs": [{"file": "../victim.txt", "sha256": "0"}]}'
    ),
    "not text": lambda place: (place / "run.json").write_bytes(b"\xff\xfe\xff"),
    "record is a folder": lambda place: (
        (place / "run.json").unlink(),
        (place / "run.json").mkdir(),
    ),
    "record is a link": lambda place: (
        (place / "run.json").rename(place / "other.json"),
        (place / "run.json").symlink_to("other.json"),
    ),
}


@pytest.mark.parametrize("kind", FOREIGN)
@pytest.mark.parametrize(
    "start",
    [lambda out: check_place(out / "place", OWNER), lambda out: attempt(out, pytest.fail)],
    ids=["before computing", "before writing"],
)
def test_folder_that_no_run_wrote_is_refused_and_stands(kind, start, out):
    (out.parent / "victim.txt").write_text("")
    FOREIGN[kind](out / "place")
    before = tree(out.parent)
    with pytest.raises(OutputError, match=r"run\.json.*; expected .*--out") as caught:
        start(out)
    assert len(str(caught.value).splitlines()) == 1
    assert tree(out.parent) == before


def test_run_of_another_property_is_refused(out):
    before = tree(out)
    with (
        pytest.raises(OutputError, match=r'"Place".*"place!"'),
        run_folder(out, "place", Owner("place!")),
    ):
        pytest.fail("the run must not start")
    assert tree(out) == before


def test_run_of_a_property_of_the_same_name_from_another_file_is_refused(out):
    """Two properties of one name in one folder: neither takes the place of the other's run."""
    place = out / "place"
    seal_from = Owner("Place", "../east/property.toml")
    for name in names(place):
        (place / name).unlink()
    seal(place, file=seal_from.property_file)
    before = tree(out)
    with pytest.raises(OutputError, match=r"east/property\.toml.*; expected .*west.*--out"):
        check_place(place, Owner("Place", "../west/property.toml"))
    check_place(place, seal_from)
    check_place(place, OWNER)  # made by a version that did not tell
    assert tree(out) == before


def test_empty_folder_is_taken(tmp_path):
    (tmp_path / "place").mkdir()
    run(tmp_path)
    assert marks(tmp_path / "place") == {"new"}
    assert names(tmp_path) == {"place"}


def test_file_put_into_an_empty_folder_during_the_run_is_not_lost(tmp_path):
    place = tmp_path / "place"
    place.mkdir()

    def work(folder):
        write(folder, "new")
        (place / "photo.jpg").write_text("mine")

    with pytest.raises(OutputError, match="no run"):
        attempt(tmp_path, work)
    assert tree(tmp_path) == {"place": None, "place/photo.jpg": b"mine"}


def test_link_to_a_folder_is_refused(out):
    (out / "place").rename(out / "elsewhere")
    (out / "place").symlink_to("elsewhere")
    before = tree(out)
    with pytest.raises(OutputError, match="a link"):
        attempt(out, pytest.fail)
    assert tree(out) == before


@pytest.mark.parametrize("way", ["plain", "dotted", "by a link", "link inside", "itself"])
def test_folder_that_holds_what_the_run_reads_is_refused(way, out):
    place = out / "place"
    (place / "maps").mkdir()
    (place / "maps" / "units.shp").touch()
    (out.parent / "maps").symlink_to(place / "maps")
    (out.parent / "outside.shp").touch()
    (place / "inside.shp").symlink_to(out.parent / "outside.shp")
    needed = {
        "plain": place / "maps" / "units.shp",
        "dotted": out / "x" / ".." / "place" / "maps" / "units.shp",
        "by a link": out.parent / "maps" / "units.shp",
        "link inside": place / "inside.shp",
        "itself": place,
    }[way]
    with pytest.raises(OutputError, match="reads"):
        check_place(place, OWNER, needed=[out.parent, needed])
    check_place(place, OWNER, needed=[out, place / ".." / ".." / "outside.shp"])


def test_what_a_crash_left_aside_gives_back_the_files_of_the_user(out):
    run(out)
    aside = out / ".place.1.old"
    with run_folder(out.parent / "before", "place", OWNER) as folder:
        write(folder, "older")
    (out.parent / "before" / "place").rename(aside)
    (aside / "photo.jpg").write_text("mine")
    (aside / "b.csv").write_text("edited")
    run(out, "after")
    assert names(out) == {"place"}
    assert names(out / "place") == {*FILES, "run.json", "photo.jpg", "b_kept.csv"}
    assert (out / "place" / "b_kept.csv").read_text() == "edited"


def test_file_that_cannot_be_moved_is_told_and_comes_back_later(out, monkeypatch, caplog):
    (out / "place" / "photo.jpg").write_text("mine")
    rename = Path.rename

    def held(self, target):
        if self.name == "photo.jpg":
            raise PermissionError(errno.EACCES, "in use")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", held)
    run(out)
    monkeypatch.undo()
    assert marks(out / "place") == {"new"}
    assert any("photo.jpg" in line for line in caplog.messages)
    run(out, "after")
    assert (out / "place" / "photo.jpg").read_text() == "mine"
    assert names(out) == {"place"}


@pytest.mark.skipif(os.name == "nt" or os.geteuid() != 0, reason="only root can become nobody")
def test_protected_run_folder_is_one_line(out):
    (out / "place").chmod(0o555)
    script = (
        "import os, sys; from pathlib import Path\n"
        "from pipeline.write.run_folder import check_place\n"
        "from pipeline.write.former_run import Owner\n"
        "from pipeline.core.errors import OutputError\n"
        "os.chdir(sys.argv[1]); os.setuid(65534)\n"
        "try:\n    check_place(Path('place'), Owner('Place'))\n"
        "except OutputError as error: sys.exit(str(error))\n"
    )
    for parent in [out, *out.parents][:3]:
        parent.chmod(0o755)
    done = subprocess.run(
        [sys.executable, "-c", script, str(out)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "cannot be written" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_files_that_the_run_wrote_may_be_missing(out):
    for name in FILES:
        (out / "place" / name).unlink()
    run(out)
    assert marks(out / "place") == {"new"}


def test_file_of_a_name_with_kept_is_not_overwritten(out):
    (out / "place" / "b.csv").write_text("edited")
    (out / "place" / "B_KEPT.csv").write_text("mine")
    run(out)
    assert (out / "place" / "B_KEPT.csv").read_text() == "mine"
    assert (out / "place" / "b_kept_2.csv").read_text() == "edited"


def test_file_saved_during_the_run_is_carried_over(out):
    def work(folder):
        write(folder, "new")
        (out / "place" / "photo.jpg").write_text("mine")
        (out / "place" / "c.html").write_text("edited")

    attempt(out, work)
    assert names(out / "place") == {*FILES, "run.json", "photo.jpg", "c_kept.html"}
