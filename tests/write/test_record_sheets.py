"""The record book as workbook, blank log and owners' pages, read back by openpyxl, csv, pdftotext.

What the log says is text, also where a spreadsheet would take it for a formula.
*Source*: OWASP, CSV injection: a cell that begins with = + - @ is computed when the file is opened.
"""

import csv
import dataclasses
import json
import subprocess

import pandas as pd
import pytest
from openpyxl import load_workbook

from pipeline.catalog import LAYERS
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.pages.handouts import owner_pages
from pipeline.write.pages import write_burn_pages, write_owner_pages
from pipeline.write.record_sheets import write_blank_log_csv, write_records_xlsx
from tests.literal_layers import literal_layer

NASTY = ("=1+1", "+1", "-2 head", "@SUM(A1)", "Łąka 草原 مرج", '="x"&A1')


def with_layer(run, name, frame):
    return dataclasses.replace(run, frames={**run.frames, name: frame})


def sheet(path, name, first=4):
    page = load_workbook(path)[name]
    rows = list(page.iter_rows(min_row=first))
    heads = [cell.value for cell in rows[0]]
    return heads, rows[1:]


def test_each_sheet_has_its_records_and_all_are_in_the_last(sample_run, tmp_path):
    path = tmp_path / "records.xlsx"
    write_records_xlsx(sample_run, path)
    book = sample_run.frames["record_book"]
    kinds = {
        "Spraying": {"spray"},
        "Stock": {"graze", "move"},
        "Hay and cutting": {"hay", "mow", "cut", "drag", "till"},
    }
    heads, rows = sheet(path, "Every record")
    number = heads.index("Row of the log")
    assert [row[number].value for row in rows] == list(book["number"])
    for name, of_sheet in kinds.items():
        heads, rows = sheet(path, name)
        told = {r[number].value for r in rows if isinstance(r[number].value, (int, float))}
        assert told == set(book.loc[book["kind"].isin(of_sheet), "number"])
    reports = sample_run.frames["burn_reports"]
    heads, rows = sheet(path, "Burns")
    assert [row[0].value for row in rows[: len(reports)]] == list(reports["burn"])
    year = sheet(path, "Every record")[1][0][1]
    assert year.number_format == "0", "a year has no thousands"
    done = sheet(path, "Every record")[1][0][2]
    assert done.alignment.indent == 1, "a word does not run into the year before it"


def test_text_that_looks_like_a_formula_stays_text(sample_run, tmp_path):
    rows = [
        {"number": n, "kind": "spray", "acres_from": "unknown", "product": text, "note": text}
        for n, text in enumerate(NASTY, 1)
    ]
    book = literal_layer("record_book", rows, [None] * len(rows), sample_run.crs)
    path = tmp_path / "records.xlsx"
    write_records_xlsx(with_layer(sample_run, "record_book", book), path)
    heads, cells = sheet(path, "Spraying")
    for heading in ("Product", "Note"):
        told = [row[heads.index(heading)] for row in cells[: len(NASTY)]]
        assert [cell.value for cell in told] == list(NASTY)
        assert {cell.data_type for cell in told} == {"s"}


@pytest.fixture
def blank_run(sample_run):
    """A run whose blank log has hostile and far-away names."""
    rows = [
        {"unit_id": text, "kind": "spray", "planned_start": "2027-06-01", "target": text}
        for text in NASTY
    ]
    return with_layer(sample_run, "blank_log", literal_layer("blank_log", rows))


def read_back(path, **told):
    source = TableSource(path=path.name, **told)
    return read_table(source, LAYERS["treatments"], path.parent)


def test_the_blank_log_is_read_back_as_it_was_written(blank_run, tmp_path):
    written = blank_run.frames["blank_log"]
    write_records_xlsx(blank_run, tmp_path / "records.xlsx")
    write_blank_log_csv(blank_run, tmp_path / "blank_log.csv")
    for path, told in (
        (tmp_path / "records.xlsx", {"sheet": "Blank log"}),
        (tmp_path / "blank_log.csv", {}),
    ):
        read = read_back(path, **told).frame
        for name in ("unit_id", "kind", "planned_start", "target", "start"):
            assert list(read[name].astype(object).where(read[name].notna(), None)) == list(
                written[name].astype(object).where(written[name].notna(), None)
            ), (path.name, name)


def test_no_cell_of_the_csv_is_computed_by_a_spreadsheet(blank_run, tmp_path):
    path = tmp_path / "blank_log.csv"
    write_blank_log_csv(blank_run, path)
    rows = list(csv.reader(path.read_text("utf-8-sig").splitlines()))
    assert rows[0] == LAYERS["treatments"].column_names
    assert not [c for row in rows for c in row if c.lstrip()[:1] in ("=", "+", "-", "@")]


def text_of(path):
    """Text of a PDF, page by page."""
    command = ["pdftotext", "-layout", path, "-"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return done.stdout.split("\f")[:-1]


def test_a_burn_of_the_newest_year_has_a_page_with_lines_for_what_is_not_known(
    sample_run, tmp_path
):
    path = tmp_path / "burn_reports.pdf"
    write_burn_pages(sample_run, path)
    (page,) = text_of(path)
    report = sample_run.frames["burn_reports"].iloc[-1]
    assert f"Burn of {report['start'].date()}" in page
    assert "P2" in page
    assert "P4" in page
    assert f"{report['burned_ac']:.1f} ac" in page
    assert "NF-2026-07" in page
    assert "12:40" in page
    assert "62 °F" in page
    assert "Told beforehand" in page, "a line for it, though nothing is known"
    assert "no permission to ignite" in page


def test_owners_pages_tell_acres_and_work_and_allow_nothing(sample_run, tmp_path):
    path = tmp_path / "owners.pdf"
    write_owner_pages(sample_run, path)
    pages = text_of(path)
    units = sample_run.frames["owner_units"]
    assert len(set(units["owner"])) == 2
    assert all("no permission to ignite" in page for page in pages)
    north = next(page for page in pages if "Neighbor to the north" in page)
    acres = units.loc[units["owner"].eq("Neighbor to the north"), "gross_ac"].sum()
    assert f"2 units, {acres:.1f} acres" in north
    assert "Larkspindle Land" not in north
    assert "P7" in north
    assert "M1" not in north, "another owner's unit"


def test_work_over_new_year_is_on_the_owners_page_of_both_years(sample_run):
    rows = [
        {"number": 1, "standing": "done", "kind": "graze", "unit_id": "P7", "owner": "N"}
        | {"start": "2025-11-20", "end": "2026-01-15", "record_ac": 38}
    ]
    owned = literal_layer("owner_units", [{"owner": "N", "unit_id": "P7", "gross_ac": 38}])
    frames = {**sample_run.frames, "work_records": literal_layer("work_records", rows)}
    frames["owner_units"] = owned
    for as_of, count in (("2025-12-31", 1), ("2026-11-15", 1), ("2027-02-01", 0)):
        told = frames["property"].assign(as_of=pd.Timestamp(as_of))
        pages = owner_pages({**frames, "property": told}, paper="letter")
        (page,) = pages["pages"]
        assert len(page["sections"][1]["table"]["rows"]) == count
        assert json.dumps(pages)
