"""What one must stop and ask for, in the calendar, the season's workbook and the run's record.

Outside source: the calendar is read by the library icalendar.
"""

import dataclasses
import json
import re
import zipfile
from xml.etree import ElementTree

import pytest
from icalendar import Calendar

from pipeline.pages.cautions import CAUTION
from pipeline.write.former_run import Owner
from pipeline.write.record import write_run_record
from pipeline.write.season_calendar import write_season_calendar
from pipeline.write.season_sheets import write_season_xlsx
from tests.made_conflicts import WORDS, conflict, conflicts_layer, grazing

X = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@pytest.fixture
def run_with(sample_run):
    """The sample with made conflicts: ``run_with(conflict(1), …)``."""

    def made(*rows):
        conflicts = conflicts_layer(*rows, crs=sample_run.crs)
        return dataclasses.replace(sample_run, frames=sample_run.frames | {"conflicts": conflicts})

    return made


def test_calendar_says_first_what_to_stop_and_ask_for(run_with, tmp_path):
    def about(*rows):
        write_season_calendar(run_with(*rows), tmp_path / "season.ics")
        told = Calendar.from_ical((tmp_path / "season.ics").read_bytes())["X-WR-CALDESC"]
        # RFC 5545, 3.3.11: a backslash before each comma and semicolon of a text.
        return re.sub(r"\\([,;])", r"\1", str(told))

    told = about(conflict(1), grazing(2), grazing(3, "think_again"))
    assert told.startswith(f"Stop and ask: burn of block Block: {WORDS['stop_and_ask']}; ")
    assert told.count("Stop and ask") == 2
    assert WORDS["think_again"] not in told
    assert about().startswith(CAUTION)


def test_workbook_of_the_season_opens_with_the_conflicts(run_with, tmp_path):
    write_season_xlsx(run_with(conflict(1)), tmp_path / "season.xlsx")
    with zipfile.ZipFile(tmp_path / "season.xlsx") as book:
        sheets = ElementTree.fromstring(book.read("xl/workbook.xml")).find(f"{X}sheets")
    assert next(iter(sheets)).get("name") == "Conflicts"


def test_record_of_the_run_has_every_conflict_with_its_days(run_with, tmp_path):
    run = run_with(conflict(1, first_day="2027-03-01"), grazing(2, "know"))
    write_run_record(run, [], tmp_path, Owner(run.name))
    told = json.loads((tmp_path / "run.json").read_text())["conflicts"]
    assert [row["seriousness"] for row in told] == ["stop_and_ask", "know"]
    assert (told[0]["first_day"], told[0]["last_day"]) == ("2027-03-01", None)
    assert told[1]["number"] == 2
