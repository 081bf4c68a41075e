"""Tables of seed as printed: every figure under the heading of its own column."""

import re

import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.pages.packet.seed_page import seed_page
from pipeline.pages.report_tables import draw_table
from pipeline.seed import sheets
from tests.made_seed import SPECIES, area, line, lot

TABLES = [table for name, table in vars(sheets).items() if name.endswith("_TABLE")]


@pytest.fixture(scope="module")
def plan(seed_plan):
    """A drilled area of 10 acres: 3 lb PLS an acre, 25 lb of it held at 50 % PLS, $8 the rest."""
    return seed_plan(
        units={"U1": 10.0},
        species=SPECIES,
        mixes=[line(pls_lb_ac=3.0), line("oats", role="nurse", bulk_lb_ac=20.0)],
        seedings=[area(planting="2027-05-20")],
        seed_lots=[
            lot("Held", pls=50.0, on_hand_bulk_lb=25.0, tested="2026-09-01"),
            lot("Offer", pls=70.0, price_usd_per_pls_lb=8.0, pack_lb=5.0, tested="2026-10-01"),
        ],
    )


def cells(frame, table):
    """Rows of a table of the report as dictionaries of words by heading and unit."""
    page = str(draw_table(table, frame))
    parts = [re.split(r"<t[hd](?: [^>]*)?>", row)[1:] for row in page.split("<tr")[1:]]
    plain = [[re.sub(r"<small>(.*?)</small>", r", \1", p) for p in row] for row in parts if row]
    heads, rows = plain[0], plain[1:]
    return [dict(zip(heads, (re.sub("<[^>]*>", "", c) for c in row), strict=False)) for row in rows]


def test_order_as_the_report_prints_it(plan):
    # 30 lb PLS: 12.5 lb from the shed; 17.5 lb at 70 % are 25 lb bulk, five packs of 5, $140.
    rows = cells(plan["seed_order"], sheets.ORDER_TABLE)
    held, offer = (row for row in rows if row["Role"] == "seed")
    assert held["Lot"] == "Held"
    assert held["PLS needed, lb"] == "12.50"
    assert held["Bulk needed, lb"] == "25.00"
    assert held["Bulk on hand, lb"] == "25.00"
    assert held["Bulk to order, lb"] == "0.00"
    assert offer["PLS of lot, %"] == "70.00"
    assert offer["Bulk to order, lb"] == "25.00"
    assert offer["PLS to order, lb"] == "17.50"
    assert offer["Price, $/lb PLS"] == "8.00"
    assert offer["Cost, $"] == "140.00"


def test_drill_sheet_of_the_area(plan):
    (row,) = plan["seed_areas"].to_dict("records")
    crs = plan["seed_areas"].crs
    absent = ("break_lines", "break_areas", "gates", "conflicts")
    frames = plan | {name: empty(LAYERS[name], crs) for name in absent}
    page = seed_page(row, frames, "letter")
    facts = dict(page["facts"])
    assert facts["Net"] == "10.0 ac"
    assert facts["PLS rate"] == "3.00 lb/ac"
    assert facts["PLS"] == "30.0 lb"
    assert facts["Bulk"] == "50.0 lb"
    assert facts["Nurse and carrier"] == "200.0 lb"
    lots = page["lots"]
    assert [heading.replace("\n", " ") for heading in lots["headings"]] == [
        "Species",
        "Common name",
        "Lot",
        "From",
        "PLS of lot %",
        "PLS lb",
        "Bulk lb",
        "Turn",
        "Sows ac",
        "At lb/ac",
        "Tag seen",
        "Weighed",
    ]
    first, second, total = lots["rows"]
    # 12.5 of 30 lb PLS sow 4.17 of 10 ac at 6 lb bulk an acre, then the other lot at 4.29.
    held = ["big bluestem", "Held", "held", "50.00", "12.50", "25.00", "1", "4.2", "6.00"]
    offered = ["big bluestem", "Offer", "offered", "70.00", "17.50", "25.00", "2", "5.8", "4.29"]
    assert first[1:] == held
    assert second[1:] == offered
    assert total[5:7] == ["30.00", "50.00"]
    nurse = page["companions"]["rows"][0]
    assert nurse[:2] == ["oats", "nurse"]
    assert "200.00" in nurse
    assert "Map of area North, north up" in page["map"]["alt"]
    assert ">N<" in page["map"]["svg"]
    readings = page["readings"]
    # 6 lb/ac to 150 ft of one 7.5 in row: the catch, and ten percent to either side.
    (box,) = plan["seed_boxes"].query("box == 'chaffy'").itertuples()
    chaffy = next(row for row in readings["rows"] if row[0] == "chaffy")
    assert chaffy[-3:] == [f"{box.catch_g * part + 1e-9:.1f}" for part in (0.9, 1, 1.1)]
    assert readings["headings"].count("Caught\ng") == 3


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.title)
def test_headings_of_a_table_differ_and_are_said(table):
    heads = [(column.heading, column.symbol) for column in table.declared]
    assert len(set(heads)) == len(heads)
    assert all(column.heading for column in table.declared)
    for column in table.declared:
        if column.kind == "number":
            assert column.places is not None
            assert column.symbol or column.dimensionless
