"""Tables in workbooks, which XlsxWriter makes.

How an empty text is kept beside its formula: ECMA-376, part 1, 18.18.11, cell type str.
"""

import zipfile
from datetime import date, datetime

import pandas as pd
import pytest
import xlsxwriter

from pipeline.core.layer import Column, Layer
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table

TAGS = Layer(
    "tags",
    None,
    "Seed tags.",
    (
        Column("lot", "text", "Lot."),
        Column("purity_pct", "number", "Purity.", nullable=True, lowest=0, highest=100),
        Column("tested", "date", "Test date.", nullable=True),
        Column("own", "flag", "Own harvest.", nullable=True),
    ),
    key=("lot",),
    internal=True,
)
HEAD = ("lot", "purity_pct", "tested", "own")


def write(path, sheets):
    """A workbook of sheets, each a list of rows; (value, format) pairs have a number format."""
    with xlsxwriter.Workbook(path, {"default_date_format": "m/d/yyyy"}) as book:
        for title, rows in sheets.items():
            sheet = book.add_worksheet(title)
            for r, row in enumerate(rows):
                for c, cell in enumerate(row):
                    if isinstance(cell, tuple) and cell[0] == "=":
                        sheet.write_formula(r, c, cell[1], None, cell[2])
                    elif isinstance(cell, tuple):
                        sheet.write(r, c, cell[0], book.add_format({"num_format": cell[1]}))
                    else:
                        sheet.write(r, c, cell)


def read(folder, sheets, **told):
    write(folder / "tags.xlsx", sheets)
    return read_table(TableSource(path="tags.xlsx", **told), TAGS, folder)


def said(result):
    return "\n".join(map(str, result.faults))


def test_cells_are_read_as_they_are_shown(tmp_path):
    rows = [
        HEAD,
        ("A", 88.4, datetime(2026, 8, 15), True),
        (12, (0.884, "0.0%"), date(2026, 9, 1), False),
        (),
        ("C", ("=", "=40+0.5", 40.5), "2026-08-15", "yes"),
    ]
    result = read(tmp_path, {"Lots": rows})
    assert not result.faults
    assert result.source_row["driver"] == "XLSX"
    frame = result.frame
    assert frame["lot"].to_list() == ["A", "12", "C"]
    assert frame["purity_pct"].to_list() == [88.4, 88.4, 40.5]
    assert frame["tested"].to_list() == [
        pd.Timestamp(day) for day in ("2026-08-15", "2026-09-01", "2026-08-15")
    ]
    assert frame["own"].to_list() == [True, False, True]


def test_sheet_and_row_of_headers_are_told(tmp_path):
    sheets = {"Notes": [("hello",)], "Lots": [("Seed of 2027",), (), HEAD, ("A", 80), ("B", "x")]}
    assert "2 sheets: Notes, Lots" in said(read(tmp_path, sheets))
    assert 'did you mean "Lots"' in said(read(tmp_path, sheets, sheet="Lot"))
    told = said(read(tmp_path, sheets, sheet="Lots", header_row=3))
    assert "cell B5 (purity_pct)" in told
    assert len(told.splitlines()) == 1


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (("=", "=1/0", "#DIV/0!"), "tags.xlsx, Lots: cell B2: the error #DIV/0!"),
        (("=", "=1+1", ""), "tags.xlsx, Lots: cell B2: a formula without its value"),
    ],
)
def test_formula_without_a_value_is_told(tmp_path, cell, words):
    assert words in said(read(tmp_path, {"Lots": [HEAD, ("A", cell)]}))


@pytest.mark.parametrize("content", [b"PK\x03\x04rest", b"lot,own\n", b"\xd0\xcf\x11\xe0x", b""])
def test_what_is_no_workbook_is_told(tmp_path, content):
    (tmp_path / "tags.xlsx").write_bytes(content)
    result = read_table(TableSource(path="tags.xlsx"), TAGS, tmp_path)
    assert len(result.faults) == 1


def test_text_table_has_no_sheet(tmp_path):
    (tmp_path / "tags.csv").write_text("lot,purity_pct,tested,own\nA,80,,\n")
    result = read_table(TableSource(path="tags.csv", sheet="Lots"), TAGS, tmp_path)
    assert "has no sheets" in said(result)


def test_formula_that_comes_to_nothing_is_an_empty_cell(tmp_path):
    made = tmp_path / "made.xlsx"
    write(made, {"Lots": [HEAD, ("A", ("=", '=""', "blank"))]})
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(tmp_path / "tags.xlsx", "w") as new:
        for part in old.namelist():
            new.writestr(part, old.read(part).replace(b"<v>blank</v>", b"<v></v>"))
    result = read_table(TableSource(path="tags.xlsx"), TAGS, tmp_path)
    assert not result.faults
    assert result.frame["purity_pct"].isna().all()
