"""Made properties side by side, run once; tests copy the folder and go on from there."""

import json
import shutil
import time

import pytest

from pipeline.cli import main
from tests.four_forties import PROPERTY, write_four_forties
from tests.small_property import write_small_property


def forties(folder, name, change=lambda text: text):
    """A property of four forties of this name; ``change`` rewrites its property file."""
    (folder / name).mkdir(parents=True)
    write_four_forties(folder / name)
    told = PROPERTY.replace("Four Forties", name)
    (folder / name / "four.toml").write_text(change(told))
    return folder / name / "four.toml"


def misspelled(text):
    return text + "[seeed]\n"


def run_batch(root, *words, workers="1"):
    """Run ``swardline batch`` below a folder: exit code, and its record by property file."""
    options = ["--out", str(root / "out"), "--workers", workers]
    code = main(["batch", *map(str, words), *options])
    record = root / "out" / "batch.json"
    told = json.loads(record.read_text())["properties"] if record.exists() else []
    return code, {row["property_file"].split("/")[2]: row for row in told}


def wait_for(ask, seconds=300):
    """What is asked for once it is there; None where it does not come."""
    end = time.monotonic() + seconds
    while not (answer := ask()) and time.monotonic() < end:
        time.sleep(0.05)
    return answer


@pytest.fixture(scope="session")
def first_batch(tmp_path_factory):
    """Faults of four kinds beside a stop-and-ask and a property that shares another's source."""
    root = tmp_path_factory.mktemp("batch")
    places = root / "places"
    forties(places, "Good")
    forties(places, "Faulty", lambda text: misspelled(text).replace('"UNIT"', '"NONE"'))
    forties(places, "Shared", lambda text: text.replace("units.geo", "../Good/units.geo"))
    forties(places, "Foreign")
    (places / "small").mkdir()
    write_small_property(places / "small")
    (root / "out" / "foreign_2027").mkdir(parents=True)
    (root / "out" / "foreign_2027" / "photo.jpg").write_bytes(b"mine")
    table = places / "more.csv"
    table.write_text("who,Property_File\nme,gone/gone.toml\nyou,small/small.toml\n,\n")
    return root, *run_batch(root, places, table, "--allow", places / "Good")


@pytest.fixture
def copied(first_batch, tmp_path):
    """A copy of the first batch, with the times of its files, to go on from."""
    shutil.copytree(first_batch[0], tmp_path / "copy")
    return tmp_path / "copy"
