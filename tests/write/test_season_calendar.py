"""The season's calendar by the rules of RFC 5545, read back by a reader that others wrote.

Outside sources: RFC 5545 (2009), the sections named beside each check, and vobject, which reads
calendars by its own parser.
"""

import dataclasses
import re
from collections import Counter
from datetime import date, timedelta

import pandas as pd
import pytest
import vobject

from pipeline.pages.cautions import CAUTION
from pipeline.write.geopackage import read_geopackage
from pipeline.write.season_calendar import SPANNING, write_season_calendar

HARMFUL = 'A "B"; C, D\\n E <b>\u202eevil\u0007\nEND:VEVENT שלום ' + "ä" * 90


@pytest.fixture(scope="module")
def named_harmfully(sample_run):
    """The sample with places and a property whose names would break a careless writer."""
    tasks = sample_run.frames["tasks"]
    block = tasks["block"].map(lambda name: name and f"{name} {HARMFUL}")
    head = sample_run.frames["property"].assign(name=HARMFUL)
    frames = sample_run.frames | {"tasks": tasks.assign(block=block), "property": head}
    return dataclasses.replace(sample_run, frames=frames)


def written(run, folder):
    path = folder / "season.ics"
    write_season_calendar(run, path)
    return path.read_bytes()


def events_of(content):
    return vobject.readOne(content.decode("utf-8")).contents["vevent"]


@pytest.fixture(params=["sample_run", "named_harmfully"])
def content(request, tmp_path):
    return written(request.getfixturevalue(request.param), tmp_path)


def test_lines_end_and_fold_as_the_standard_says(content):
    # RFC 5545, 3.1: lines end with CRLF and should not be longer than 75 octets without it; a
    # line that goes on begins with a blank.
    assert content.endswith(b"\r\n")
    assert content.count(b"\r\n") == content.count(b"\n") == content.count(b"\r")
    lines = content.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode("utf-8")  # no letter is cut in two
    unfolded = content.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")
    assert all(re.match(r"[A-Z-]+[:;]", line) for line in unfolded[:-1])


def test_calendar_and_entries_have_what_they_must(content):
    # RFC 5545, 3.6: PRODID and VERSION once; 3.6.1: UID and DTSTAMP once in each entry.
    unfolded = content.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")
    names = Counter(re.split("[:;]", line, maxsplit=1)[0] for line in unfolded)
    assert names["PRODID"] == names["VERSION"] == names["CALSCALE"] == 1
    assert "VERSION:2.0" in unfolded
    entries = names["BEGIN"] - 1
    assert entries > 20
    for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "TRANSP"):
        assert names[name] == entries, name
    assert "BEGIN:VALARM" not in unfolded
    stamps = {line for line in unfolded if line.startswith("DTSTAMP")}
    assert len(stamps) == 1
    assert re.fullmatch(r"DTSTAMP:\d{8}T\d{6}Z", stamps.pop())  # 3.8.7.2: in UTC


def test_every_task_with_a_day_is_one_entry_of_whole_days(sample_run, tmp_path):
    events = events_of(written(sample_run, tmp_path))
    tasks = sample_run.frames["tasks"]
    day = tasks["due"].fillna(tasks["first_day"])
    first = tasks["first_day"].where(tasks["kind"].isin(SPANNING), day).fillna(day)
    # RFC 5545, 3.6.1: the end of an entry of whole days is the day after its last.
    wanted = [
        (start.date(), end.date() + timedelta(days=1))
        for start, end in zip(first[day.notna()], day[day.notna()], strict=True)
    ]
    found = [(event.dtstart.value, event.dtend.value) for event in events]
    assert found == wanted
    assert all(type(value) is date for pair in found for value in pair)
    assert len({event.uid.value for event in events}) == len(events)


def test_caution_stands_in_every_entry_and_none_says_to_burn(content):
    for event in events_of(content):
        assert CAUTION in event.description.value
        summary = event.summary.value.replace("no permission to light anything", "")
        assert not re.search(r"\b(ignite|light|burn out|go ahead)\b", summary, re.IGNORECASE)


def test_names_come_back_as_they_are_printed(named_harmfully, tmp_path):
    content = written(named_harmfully, tmp_path)
    events = events_of(content)
    mowing = next(e for e in events if e.summary.value.startswith("Mow the breaks: block Draw"))
    assert 'A "B"; C, D\\n E <b>evil' in mowing.summary.value
    assert "END:VEVENT שלום" in mowing.summary.value
    assert "\u202e" not in content.decode("utf-8")
    assert content.count(b"\r\nEND:VEVENT\r\n") == len(events)


def test_same_layers_give_the_same_bytes_also_out_of_the_geopackage(
    sample_run, sample_package, tmp_path
):
    content = written(sample_run, tmp_path)
    assert content == written(sample_run, tmp_path)
    stored = read_geopackage(sample_package, only=["tasks", "property"])
    again = dataclasses.replace(sample_run, frames=sample_run.frames | stored.frames)
    assert written(again, tmp_path) == content


def test_entry_keeps_its_name_when_its_day_moves_and_others_go(sample_run, tmp_path):
    tasks = sample_run.frames["tasks"]
    named = {e.summary.value: e.uid.value for e in events_of(written(sample_run, tmp_path))}
    moved = tasks[tasks["kind"] != "order_seed"].assign(waits_for=None)
    moved["due"] = moved["due"] + pd.Timedelta(days=5)
    run = dataclasses.replace(sample_run, frames=sample_run.frames | {"tasks": moved})
    kept = {e.summary.value: e.uid.value for e in events_of(written(run, tmp_path))}
    assert kept.items() <= named.items()
    other = sample_run.frames["property"].assign(season=2028)
    run = dataclasses.replace(sample_run, frames=sample_run.frames | {"property": other})
    next_year = {e.uid.value for e in events_of(written(run, tmp_path))}
    assert not next_year & set(named.values())


def test_tasks_without_a_day_are_counted_and_not_lost(sample_run, tmp_path):
    tasks = sample_run.frames["tasks"]
    without = tasks.assign(due=tasks["due"].where(tasks["kind"] != "ask_permit"))
    run = dataclasses.replace(sample_run, frames=sample_run.frames | {"tasks": without})
    content = written(run, tmp_path).replace(b"\r\n ", b"")
    assert b"Tasks without a day\\, left out here: 2\\; see tasks.csv." in content
    assert len(events_of(content)) == len(tasks) - 2
