"""Records in the report: what the log tells stands there once, and nothing that it does not."""

from lxml import html

from pipeline.pages.records_section import MOST_RECORDS, draw_records
from tests.literal_layers import literal_layer
from tests.made_season import square_units

LAYERS = ("record_book", "burn_reports", "seed_records", "plan_records", "contract_records")


def frames_of(**rows):
    """The layers that the section reads, empty where no rows are given."""
    units = square_units(A=80, B=40)
    made = {name: literal_layer(name, rows.get(name, []), crs=units.crs) for name in LAYERS}
    return {**made, "units": units}


def record(number, kind, **told):
    start = f"2026-04-{number % 28 + 1:02d}"
    row = {"number": number, "year": 2026, "kind": kind, "unit_id": "A", "start": start}
    return row | {"record_ac": 80.0, "acres_from": "whole_unit"} | told


def drawn(frames):
    return html.fromstring(f"<main>{draw_records(frames)}</main>")


def titled(page):
    """Rows of each table by its title."""
    return {
        table.findtext(".//caption/span"): [
            [cell.text_content() for cell in row]
            for row in table.xpath("./tbody/tr[not(@class='under')]")
        ]
        for table in page.iter("table")
    }


def test_every_record_stands_once_and_what_was_sprayed_is_told_as_logged():
    rows = [
        record(1, "burn"),
        record(2, "spray", product="Made Product 4L", amount_used="3 pt", target="leafy spurge"),
        record(3, "rest", note="left alone"),
    ]
    page = drawn(frames_of(record_book=rows))
    found = titled(page)
    assert [row[0] for row in found["Every record"]] == ["1", "2", "3"]
    assert [row[0] for row in found["Spray records"]] == ["2"]
    assert "Made Product 4L" in found["Spray records"][0]
    assert "left alone" in page.text_content()


def test_plans_stand_with_what_came_of_them_before_all_else():
    plans = [
        {"number": 1, "year": 2026, "kind": "burn", "unit_id": "A", "outcome": "not_done"},
        {"number": 2, "year": 2026, "kind": "graze", "unit_id": "B", "outcome": "done"},
    ]
    page = drawn(frames_of(plan_records=plans, record_book=[record(1, "graze", unit_id="B")]))
    first = next(iter(titled(page)))
    assert first == "Planned against done"
    assert [row[2] for row in titled(page)[first]] == ["not done", "done"]
    open_tables = page.xpath("//table[not(ancestor::details)]")
    assert [t.findtext(".//caption/span") for t in open_tables] == ["Planned against done"]


def test_very_many_records_are_told_where_they_stand():
    rows = [record(n, "graze") for n in range(1, MOST_RECORDS + 2)]
    page = drawn(frames_of(record_book=rows))
    assert "Every record" not in titled(page)
    assert f"{MOST_RECORDS + 1} records: see record_book in the GeoPackage" in page.text_content()


def test_without_records_there_is_no_section():
    assert draw_records(frames_of()) == ""
