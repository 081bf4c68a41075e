"""The seed order as CSV and workbook: text stays text, totals have values, bytes repeat."""

import csv
import re
import zipfile
from types import SimpleNamespace
from xml.etree import ElementTree

import pandas as pd
import pytest
from xlsxwriter.utility import xl_rowcol_to_cell

from pipeline.catalog import CAUSES, LAYERS, told_by_cause
from pipeline.core.findings import gather_findings
from pipeline.core.layer import empty
from pipeline.write.dealer_sheets import COLUMNS, HEAD_ROW
from pipeline.write.workbook import (
    FINDINGS_TABLE,
    SHEETS,
    plain_text,
    write_seed_order_csv,
    write_seed_order_xlsx,
)
from tests.made_conflicts import WORDS, conflict, conflicts_layer, seeding
from tests.made_seed import area, line, lot

X = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
STAMP = "2026-10-01T00:00:00.000Z"


@pytest.fixture
def run(seed_plan):
    offer = {"price_usd_per_pls_lb": 12.5, "pack_lb": 50.0}
    frames = seed_plan(
        units={"U1": 10.0},
        mixes=[line("Big bluestem", pls_lb_ac=4.0), line("=HYPERLINK(1)", pls_lb_ac=0.05)],
        seedings=[area()],
        seed_lots=[
            lot("0012", "Big bluestem", 60.0, **offer, tested="2026-09-01"),
            lot("1E05", "=HYPERLINK(1)", 81.0, on_hand_bulk_lb=0.4),
        ],
    )
    frames["findings"] = gather_findings([frames["seed_findings"]], CAUSES)
    frames["findings_by_cause"] = told_by_cause(frames["findings"], frames)
    frames["settings"] = empty(LAYERS["settings"])
    frames["conflicts"] = conflicts_layer()
    return SimpleNamespace(frames=frames, name="Test", season=2027, paper="a4", stamp=STAMP)


def test_csv_opens_in_a_spreadsheet_with_its_text_unharmed(run, tmp_path):
    path = tmp_path / "seed_order.csv"
    write_seed_order_csv(run, path)
    content = path.read_bytes()
    assert content.startswith(b"\xef\xbb\xbf")
    assert content.count(b"\r\n") == content.count(b"\n") == 1 + len(run.frames["seed_order"])
    rows = list(csv.DictReader(content.decode("utf-8-sig").splitlines()))
    assert list(rows[0]) == LAYERS["seed_order"].column_names
    big = next(r for r in rows if r["lot"] == "0012")
    # 4 lb × 10 ac = 40 lb PLS; at 60 % that is 66.6667 lb bulk, two packs of 50.
    assert big["bulk_needed_lb"] == "66.6667"
    assert big["bulk_to_order_lb"] == "100.0000"
    assert big["cost_usd"] == "750.00"
    assert big["tested"] == "2026-09-01"
    assert {r["species"] for r in rows} == {"Big bluestem", "'=HYPERLINK(1)"}
    assert any(r["price_usd_per_pls_lb"] == "" for r in rows)


def test_what_rounds_to_nothing_has_no_minus(run, tmp_path):
    order = run.frames["seed_order"]
    run.frames["seed_order"] = order.assign(excess_bulk_lb=-1e-12)
    write_seed_order_csv(run, tmp_path / "seed_order.csv")
    assert "-0.0000" not in (tmp_path / "seed_order.csv").read_text(encoding="utf-8")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", " =1", "\tx", "\rx"])
def test_text_that_looks_like_a_formula_is_marked(text):
    assert plain_text(text) == "'" + text
    assert plain_text("LP-001") == "LP-001"
    assert plain_text(None) == ""


def sheet(path, name):
    """Cells of a sheet by their address as (type, value, formula), and the sheet itself as XML."""
    with zipfile.ZipFile(path) as book:
        texts = ElementTree.fromstring(book.read("xl/sharedStrings.xml")).findall(f"{X}si/{X}t")
        names = ElementTree.fromstring(book.read("xl/workbook.xml")).find(f"{X}sheets")
        number = [page.get("name") for page in names].index(name) + 1
        root = ElementTree.fromstring(book.read(f"xl/worksheets/sheet{number}.xml"))
    cells = {}
    for cell in root.iter(f"{X}c"):
        kind, value, formula = cell.get("t"), cell.findtext(f"{X}v"), cell.findtext(f"{X}f")
        value = texts[int(value)].text if kind == "s" else value
        cells[cell.get("r")] = (kind, value, formula)
    return cells, root


def column_of(cells, heading):
    """Letters of the column with a heading."""
    return next(re.sub(r"\d", "", at) for at, (_, v, _) in cells.items() if v == heading)


def test_workbook_stores_values_of_its_formulas(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    cells, _ = sheet(path, "Order")
    line = next(at for at, (_, v, _) in cells.items() if v == "0012").removeprefix("C")
    cost = column_of(cells, "Cost ($)")
    _, value, formula = cells[f"{cost}{line}"]
    assert float(value) == 750
    # Alone of its kind with a lot: the second line of the vendor's sheet.
    assert formula == "IF('Buy, no vendor yet'!AB12=\"\",\"\",'Buy, no vendor yet'!AB12)"
    total = next(at for at, (_, v, _) in cells.items() if v == "Total of what is known")
    total = total.removeprefix("A")
    _, value, formula = cells[f"{cost}{total}"]
    assert float(value) == 750
    assert formula == f"SUM({cost}5:{cost}{int(total) - 1})"


def test_workbook_keeps_lots_as_text_and_runs_no_text_as_a_formula(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    cells, _ = sheet(path, "Order")
    texts = {value for kind, value, _ in cells.values() if kind == "s"}
    assert {"0012", "1E05", "=HYPERLINK(1)"} <= texts
    assert not [f for _, _, f in cells.values() if f and "HYPERLINK" in f]


def test_workbook_is_set_up_for_printing(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    for name in ("Order", "Rates", "Lots to areas", "Look at by cause", "Look at"):
        _, root = sheet(path, name)
        setup = root.find(f"{X}pageSetup")
        assert setup.get("orientation") == "landscape"
        assert setup.get("paperSize") == "9"
        assert setup.get("fitToHeight") == "0"
        assert root.find(f".//{X}pane").get("topLeftCell") == "B5"
        assert "Page &P of &N" in root.findtext(f".//{X}oddFooter")
    with zipfile.ZipFile(path) as book:
        assert b"Order!$4:$4" in book.read("xl/workbook.xml")


def test_same_run_gives_the_same_bytes(run, tmp_path):
    for name in ("a.xlsx", "b.xlsx"):
        write_seed_order_xlsx(run, tmp_path / name)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
    with zipfile.ZipFile(tmp_path / "a.xlsx") as book:
        assert b"2026-10-01T00:00:00Z" in book.read("docProps/core.xml")


def test_every_cell_is_that_of_its_layer_under_its_heading(run, tmp_path):
    """Each sheet is read back and held against the layer, cell by cell, through its headings."""
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    for name, table in SHEETS.items():
        frame = run.frames[table.layer.name]
        if table is FINDINGS_TABLE or frame.empty:
            continue
        cells, _ = sheet(path, name)
        for column in table.declared:
            words = f"{column.heading} ({column.symbol})" if column.symbol else column.heading
            place = column_of(cells, words)
            for line_number, value in enumerate(frame[column.name], start=5):
                _, stored, _ = cells[f"{place}{line_number}"]
                if pd.isna(value):
                    assert stored in (None, ""), (name, column.name)
                elif column.kind in ("number", "integer"):
                    assert float(stored) == pytest.approx(value), (name, column.name)
                elif column.kind == "text" and not column.choices:
                    assert stored == value


def test_findings_by_cause_stand_before_each_of_them_and_lose_none(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    names = list(SHEETS)
    assert names.index("Look at") == names.index("Look at by cause") + 1
    by_cause, _ = sheet(path, "Look at by cause")
    each, _ = sheet(path, "Look at")
    place = column_of(by_cause, "Findings")
    counts = [float(v) for k, (_, v, _) in by_cause.items() if k[0] == place and int(k[1:]) > 4]
    place = column_of(each, "Kind")
    lines = [k for k, (_, v, _) in each.items() if k[0] == place and int(k[1:]) > 4 and v]
    assert sum(counts) == len(lines) == len(run.frames["findings"]) > 0


def test_every_heading_stands_once_in_its_sheet_and_numbers_name_their_unit():
    for name, table in SHEETS.items():
        heads = [(column.heading or column.name, column.symbol) for column in table.declared]
        assert len(set(heads)) == len(heads), name
        for column in table.declared:
            if column.kind == "number" and not column.dimensionless:
                assert column.symbol, f"{name}: {column.name}"


def test_codes_are_words_on_paper(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    cells, _ = sheet(path, "Lots to areas")
    place = column_of(cells, "From")
    assert {cells[f"{place}{n}"][1] for n in (5, 6, 7)} == {"held", "offered", "to order"}


def test_what_may_be_typed_over_is_shaded_and_nothing_else(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    with zipfile.ZipFile(path) as book:
        styles = ElementTree.fromstring(book.read("xl/styles.xml"))
    fills = [fill.find(f".//{X}fgColor") for fill in styles.find(f"{X}fills")]
    formats = styles.find(f"{X}cellXfs")
    _, root = sheet(path, "Buy, no vendor yet")
    shades = {}
    for cell in root.iter(f"{X}c"):
        color = fills[int(formats[int(cell.get("s", 0))].get("fillId"))]
        shades[cell.get("r")] = None if color is None else color.get("rgb")
    first = HEAD_ROW + 2
    for number, column in enumerate(COLUMNS):
        shade = "FFFFF4CC" if column.typed else None
        assert shades[xl_rowcol_to_cell(first - 1, number)] == shade, column.name
    assert "the sheets of the vendors" in sheet(path, "Order")[0]["A2"][1]


def sheets_of(path):
    with zipfile.ZipFile(path) as book:
        names = ElementTree.fromstring(book.read("xl/workbook.xml")).find(f"{X}sheets")
    return [page.get("name") for page in names]


def test_what_to_stop_and_ask_for_is_the_first_sheet_and_the_csv_keeps_its_shape(run, tmp_path):
    path = tmp_path / "seed_order.xlsx"
    write_seed_order_xlsx(run, path)
    without = sheets_of(path)
    assert "Stop and ask" not in without
    write_seed_order_csv(run, tmp_path / "before.csv")
    run.frames["conflicts"] = conflicts_layer(
        seeding(1, resolve="=ask(the office)"), seeding(2, "think_again"), conflict(3)
    )
    write_seed_order_xlsx(run, path)
    assert sheets_of(path) == ["Stop and ask", *without]
    cells, root = sheet(path, "Stop and ask")
    place = column_of(cells, "What stands against it")
    assert cells[f"{place}5"][1] == WORDS["stop_and_ask"]
    assert f"{place}6" not in cells
    assert cells[f"{column_of(cells, 'Who decides')}5"][1] == "seed dealer"
    assert cells[f"{column_of(cells, 'What would resolve it')}5"] == ("s", "=ask(the office)", None)
    assert root.find(f"{X}sheetViews/{X}sheetView").get("tabSelected") == "1"
    write_seed_order_csv(run, tmp_path / "after.csv")
    assert (tmp_path / "after.csv").read_bytes() == (tmp_path / "before.csv").read_bytes()
