"""Scratch folders, checksums and changes: what a run needs of the disk besides its sources."""

import hashlib
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from pipeline.core.errors import SourceError
from pipeline.intake.files import checksums
from pipeline.intake.files.changes import named_paths, refuse_changed, states_of
from pipeline.intake.files.checksums import sha256_of
from pipeline.intake.files.scratch import PREFIX, clear_scratch, scratch_folder

PROJECT = Path(__file__).parents[2]


@pytest.fixture
def temporary(tmp_path, monkeypatch):
    """A system's place for scratch folders that only this test has."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


HOLD = """
from pipeline.intake.files.scratch import scratch_folder
with scratch_folder() as folder:
    (folder / "copy").write_text("x")
    print(folder, flush=True)
    input()
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows has no locks on folders")
def test_scratch_of_the_killed_is_cleared_and_that_of_the_living_stays(temporary):
    environment = os.environ | {"TMPDIR": str(temporary), "PYTHONPATH": str(PROJECT)}
    with subprocess.Popen(
        [sys.executable, "-c", HOLD],
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        left = Path(process.stdout.readline().strip())
        mine = [temporary / "swardline-property", temporary / f"{PREFIX}notes"]
        for folder in mine:
            folder.mkdir()
        with scratch_folder() as own:
            clear_scratch()
            assert {left, own, *mine} == set(temporary.iterdir())
        process.send_signal(signal.SIGKILL)
        process.wait()
        assert (left / "copy").exists()
        clear_scratch()
        assert set(mine) == set(temporary.iterdir())


def count_reads(monkeypatch):
    """Files that are opened, as they are."""
    opened, plain = [], Path.open

    def counted(self, *words, **options):
        opened.append(self.name)
        return plain(self, *words, **options)

    monkeypatch.setattr(Path, "open", counted)
    return opened


def test_large_source_is_read_once_for_its_checksum_until_it_changes(tmp_path, monkeypatch):
    monkeypatch.setattr(checksums, "LARGE_BYTES", 10)
    monkeypatch.setattr(checksums, "FRESH_SECONDS", 0.0)
    large, small = tmp_path / "large", tmp_path / "small"
    large.write_bytes(b"a" * 10)
    small.write_bytes(b"b" * 9)
    opened = count_reads(monkeypatch)
    for _ in range(3):
        assert sha256_of([large]) == hashlib.sha256(b"a" * 10).hexdigest()
        assert sha256_of([small]) == hashlib.sha256(b"b" * 9).hexdigest()
    assert opened == ["large", *["small"] * 3]
    was = large.stat()
    large.write_bytes(b"c" * 10)
    os.utime(large, ns=(was.st_atime_ns, was.st_mtime_ns))
    assert sha256_of([large]) == hashlib.sha256(b"c" * 10).hexdigest()


def test_checksum_of_a_file_just_written_is_not_kept(tmp_path, monkeypatch):
    """It might be written again within the same tick of the clock; one of the future, too."""
    monkeypatch.setattr(checksums, "LARGE_BYTES", 1)
    (tmp_path / "fresh").write_bytes(b"a")
    opened = count_reads(monkeypatch)
    for _ in range(2):
        sha256_of([tmp_path / "fresh"])
    assert opened == ["fresh", "fresh"]


def test_every_path_that_a_property_file_names_is_found():
    told = {
        "units": [{"path": "a.shp", "columns": {"path": "PATH"}}],
        "scenes": ({"path": "b.tif", "mask": {"path": "c.tif"}},),
        "species": {"path": None, "extra": "d.csv"},
    }
    assert set(named_paths(told)) >= {"a.shp", "b.tif", "c.tif", "d.csv"}


@pytest.mark.parametrize(
    ("name", "part"), [("a.tif", "a.tif"), ("u.shp", "u.dbf"), ("m.gdb", "m.gdb/a1.gdbtable")]
)
def test_source_that_changes_meanwhile_is_refused_in_a_line(name, part, tmp_path):
    for each in (name, part):
        (tmp_path / each).parent.mkdir(exist_ok=True)
        if not each.endswith(".gdb"):
            (tmp_path / each).write_text("a")
    sources = [tmp_path / name, tmp_path / "none.csv", Path("/vsicurl/x"), tmp_path / ("n" * 300)]
    before = states_of(sources)
    refuse_changed(before)
    was = (tmp_path / part).stat()
    (tmp_path / part).write_text("b")
    os.utime(tmp_path / part, ns=(was.st_atime_ns, was.st_mtime_ns + 1))
    with pytest.raises(SourceError, match=f"{name}: was changed while the run read it; .*again"):
        refuse_changed(before)
