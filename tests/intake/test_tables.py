"""Hand-edited tables: what a spreadsheet or a hurried hand did to them, told by cell."""

import re

import pandas as pd
import pytest

from pipeline.core.layer import Column, Layer, conform
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import column_letter, read_table

TAGS = Layer(
    "tags",
    None,
    "Seed tags.",
    (
        Column("lot", "text", "Lot."),
        Column("species", "text", "Species.", aliases=("scientific_name",)),
        Column("purity_pct", "number", "Purity.", lowest=0, highest=100),
        Column("on_hand_lb", "number", "Stock.", nullable=True, required=False, lowest=0),
        Column("bags", "integer", "Bags.", nullable=True, required=False, lowest=0),
        Column("tested", "date", "Test date.", nullable=True, required=False),
        Column("kind", "text", "Kind.", nullable=True, required=False, choices=("grass", "forb")),
        Column("own", "flag", "Own harvest.", nullable=True, required=False),
    ),
    key=("lot", "species"),
    internal=True,
)


HEAD = "lot,species,purity_pct,on_hand_lb,bags,tested,kind,own\n"


ROW = "00123,Andropogon gerardii,92.5,1200,3,2026-03-04,grass,yes\n"


def read(tmp_path, text, *, encoding="utf-8", layer=TAGS, **told):
    content = text if isinstance(text, bytes) else text.encode(encoding)
    (tmp_path / "tags.csv").write_bytes(content)
    return read_table(TableSource(path="tags.csv", **told), layer, tmp_path)


def faults(result):
    return "\n".join(map(str, result.faults))


def said(result):
    return "\n".join(f"{f['severity']}: {f['message']}" for f in result.findings)


def test_clean_table_arrives_typed(tmp_path):
    result = read(tmp_path, HEAD + ROW)
    assert not result.faults
    assert not result.findings
    frame = conform(result.frame, TAGS)
    row = frame.iloc[0].to_dict()
    assert row == {
        "lot": "00123",
        "species": "Andropogon gerardii",
        "purity_pct": 92.5,
        "on_hand_lb": 1200.0,
        "bags": 3,
        "tested": pd.Timestamp("2026-03-04"),
        "kind": "grass",
        "own": True,
    }
    assert result.source_row["rows_read"] == result.source_row["rows_used"] == 1


# Cells by the address a spreadsheet shows, with what to write instead.
CELLS = {
    "fraction or percent": ("C2", "0.98", 2, r"could be 98(\.00)? % or 0\.98 %"),
    "percent above 100": ("C2", "101", 2, "at most 100"),
    "words for a number": ("C2", "ninety", 2, '"ninety" is not a number'),
    "decimal comma": ("D2", '"12,5"', 3, "is the comma a decimal mark.*write 12.5"),
    "number with its unit": ("D2", "12 lb", 3, "write the number alone; the unit is pound"),
    "not a number at all": ("D2", "inf", 3, "is not a number"),
    "number beyond all measure": ("D2", "1e400", 3, "is not a number"),
    "number as programs write it": ("D2", "1_200", 3, "is not a number"),
    "negative": ("D2", "-3", 3, "at least 0"),
    "part of a bag": ("E2", "2.5", 4, "a whole number"),
    "ambiguous date": ("F2", "3/4/25", 5, "ambiguous.*2025-03-04 or 2025-04-03"),
    "date of no order": ("F2", "13/14/25", 5, "ambiguous|no day"),
    "day number": ("F2", "45720", 5, "spreadsheet day number.*write 2025-03-04"),
    "date without marks": ("F2", "20250304", 5, "write 2025-03-04"),
    "no such day": ("F2", "2025-02-30", 5, "no day of the calendar"),
    "word for a date": ("F2", "March", 5, "is not a date.*2026-07-20"),
    "word that is no choice": ("G2", "gras", 6, 'did you mean "grass"'),
    "neither yes nor no": ("H2", "maybe", 7, "yes or no"),
    "empty name": ("A2", "", 0, "the cell is empty"),
    "name that counts as empty": ("B2", "n/a", 1, '"n/a" stands for an empty cell'),
    "hidden mark in a name": ("B2", "Ko\u202eleria", 1, r"hidden characters \(U\+202E\)"),
}


@pytest.mark.parametrize("kind", CELLS)
def test_cell_is_named_and_mended_in_words(kind, tmp_path):
    address, text, position, words = CELLS[kind]
    cells = ROW.strip().split(",")
    cells[position] = text
    # Without a percent sign in the header the question percent or fraction stays open.
    head = HEAD.replace("purity_pct", "purity") if kind == "fraction or percent" else HEAD
    told = {"columns": {"purity_pct": "purity"}} if kind == "fraction or percent" else {}
    result = read(tmp_path, head + ",".join(cells) + "\n", **told)
    assert re.search(f"tags.csv: cell {address} .*{words}", faults(result)), faults(result)


def test_percent_in_the_header_ends_the_question_unless_all_look_like_fractions(tmp_path):
    layer = Layer(
        "w", None, "W.", (Column("weed_pct", "number", "W."), Column("lot", "text", "L."))
    )
    small = read(tmp_path, "weed_pct,lot\n0.1,a\n0.3,b\n", layer=layer)
    assert list(small.frame["weed_pct"]) == [0.1, 0.3]
    mixed = read(tmp_path, "weed_pct,lot\n0.98,a\n92,b\n", layer=layer)
    assert list(mixed.frame["weed_pct"]) == [0.98, 92]
    fractions = read(tmp_path, "weed_pct,lot\n0.98,a\n0.85,b\n", layer=layer)
    assert "write 98.00% or 0.98%" in faults(fractions)
    assert list(read(tmp_path, "weed_pct,lot\n0.98%,a\n0.85%,b\n", layer=layer).frame["weed_pct"])


def test_all_faults_of_a_file_come_together(tmp_path):
    bad = "1,x,many,-1,2.5,3/4/25,tree,maybe\n"
    result = read(tmp_path, HEAD + bad + bad.replace("1,x", "2,x"))
    assert len(result.faults) == 12
    assert "cell C2" in faults(result)
    assert "cell H3" in faults(result)


LOTS = {
    "1E05": "a power of ten",
    "123.0": "gave decimals",
    "2-Mar": "turned into a date",
}


@pytest.mark.parametrize("lot", LOTS)
def test_lot_that_a_spreadsheet_changed_is_a_warning_and_kept(lot, tmp_path):
    result = read(tmp_path, HEAD + ROW.replace("00123", lot))
    assert list(result.frame["lot"]) == [lot]
    assert f'warning: tags.csv: cell A2: "{lot}"' in said(result)
    assert LOTS[lot] in said(result)


SHAPES = {
    "row twice": (HEAD + ROW + ROW, "rows 2, 3: lot and species 00123, Andropogon gerardii"),
    "cell too many": (HEAD + ROW.strip() + ",x\n", "row 2: 9 cells; expected 8"),
    "cell too few": (HEAD + "1,x,90\n", "row 2: 3 cells; expected 8"),
    "header twice": (HEAD.replace("bags", "lot") + ROW, 'row 1: column "lot" stands twice'),
    "needed column missing": (
        HEAD.replace("purity_pct", "puritee") + ROW,
        'no column "purity_pct".*mean "puritee"',
    ),
    "column in another unit": (
        HEAD.replace("on_hand_lb", "on_hand_kg") + ROW,
        '"on_hand_kg" is in another unit.*convert',
    ),
    "quotation mark without partner": (HEAD + '"00123,x,90,,,,,\n', "without its partner"),
    "empty file": ("", "the file is empty"),
    "blank file": ("\n\n \n", "the file is empty"),
    "workbook": (b"PK\x03\x04rest", "a workbook, not a text table"),
    "zero bytes inside": (HEAD + "1\0,x,90,,,,,\n", "zero bytes"),
    "unknown column told": ("told", 'the file has no column "LOTT".*did you mean "lot"'),
}


@pytest.mark.parametrize("kind", SHAPES)
def test_table_of_the_wrong_shape_is_refused(kind, tmp_path):
    text, words = SHAPES[kind]
    told = {"columns": {"lot": "LOTT"}} if text == "told" else {}
    result = read(tmp_path, HEAD + ROW if text == "told" else text, **told)
    assert re.search(words, faults(result), re.DOTALL), faults(result)
    assert all(str(fault).startswith("tags.csv") for fault in result.faults)


READ_ALL_THE_SAME = {
    "byte order mark": (HEAD + ROW, "utf-8-sig"),
    "UTF-16 of a spreadsheet": (HEAD + ROW, "utf-16"),
    "Windows line ends": ((HEAD + ROW).replace("\n", "\r\n"), "utf-8"),
    "old Mac line ends": ((HEAD + ROW).replace("\n", "\r"), "utf-8"),
    "semicolons": ((HEAD + ROW).replace(",", ";"), "utf-8"),
    "semicolons and decimal commas": (
        (HEAD + ROW).replace(",", ";").replace("92.5", "92,5"),
        "utf-8",
    ),
    "tabs": ((HEAD + ROW).replace(",", "\t"), "utf-8"),
    "separator told in the first line": ("sep=;\n" + (HEAD + ROW).replace(",", ";"), "utf-8"),
    "blank rows": (HEAD + "\n,,,,,,,\n" + ROW + " ,,,,,,,\n", "utf-8"),
    "trailing commas": (HEAD.strip() + ",,\n" + ROW.strip() + ",,\n", "utf-8"),
    "headers in capitals with blanks": (
        HEAD.upper().replace("_", " ").replace("LOT", " Lot ") + ROW,
        "utf-8",
    ),
    "other spelling of a header": (HEAD.replace("species", "Scientific name") + ROW, "utf-8"),
    "no-break and double blanks": (ROW.join([HEAD, ""]).replace("n g", "n\u00a0 g"), "utf-8"),
    "percent sign": (HEAD + ROW.replace("92.5", "92.5 %"), "utf-8"),
    "thousands": (HEAD + ROW.replace("1200", '"1,200"'), "utf-8"),
    "capitals for a choice": (HEAD + ROW.replace("grass", "GRASS"), "utf-8"),
    "year first with slashes": (HEAD + ROW.replace("2026-03-04", "2026/3/4"), "utf-8"),
}


@pytest.mark.parametrize("kind", READ_ALL_THE_SAME)
def test_spelling_that_means_one_thing_is_read(kind, tmp_path):
    text, encoding = READ_ALL_THE_SAME[kind]
    result = read(tmp_path, text, encoding=encoding)
    assert faults(result) == ""
    plain = read(tmp_path, HEAD + ROW)
    pd.testing.assert_frame_equal(conform(result.frame, TAGS), conform(plain.frame, TAGS))


def test_blank_rows_count_neither_as_read_nor_as_used(tmp_path):
    result = read(tmp_path, HEAD + "\n,,,,,,,\n" + ROW + " ,,,,,,,\n")
    assert (result.source_row["rows_read"], result.source_row["rows_used"]) == (1, 1)


@pytest.mark.parametrize(("text", "number"), [("12,5", 12.5), ("12,500", 12.5), ("1250", 1250.0)])
def test_comma_is_the_decimal_mark_between_semicolons(text, number, tmp_path):
    # Spreadsheets put semicolons between cells where the comma is the decimal mark of the place
    # (either mark is allowed by ISO 80000-1, from memory).
    result = read(tmp_path, HEAD.replace(",", ";") + ROW.replace(",", ";").replace("1200", text))
    assert faults(result) == ""
    assert list(result.frame["on_hand_lb"]) == [number]


def test_two_headers_that_fit_one_column_are_asked_about(tmp_path):
    text = HEAD.replace("bags", "Scientific name") + ROW
    assert "species: columns species, Scientific name all fit; expected one of them" in faults(
        read(tmp_path, text)
    )
    assert faults(read(tmp_path, text, columns={"species": "species"})) == ""


def test_row_numbers_are_those_of_the_spreadsheet(tmp_path):
    result = read(tmp_path, "sep=,\n" + HEAD + "\n" + ROW.replace("92.5", "x"))
    assert "cell C4" in faults(result)


def test_windows_letters_are_found_out(tmp_path):
    result = read(tmp_path, HEAD + ROW.replace("00123", "Prärie"), encoding="cp1252")
    assert list(result.frame["lot"]) == ["Prärie"]
    assert 'read as Windows-1252, for instance "Prärie"' in said(result)


def test_told_encoding_is_used_and_checked(tmp_path):
    (tmp_path / "tags.csv").write_bytes((HEAD + ROW.replace("00123", "Пырей")).encode("cp1251"))
    source = TableSource(path="tags.csv", encoding="cp1251")
    assert list(read_table(source, TAGS, tmp_path).frame["lot"]) == ["Пырей"]
    for encoding in ("ascii", "klingon"):
        source = TableSource(path="tags.csv", encoding=encoding)
        assert f"cannot be read as {encoding}" in faults(read_table(source, TAGS, tmp_path))


def test_column_that_is_not_used_is_told_and_a_near_miss_is_a_warning(tmp_path):
    text = HEAD.replace("bags", "remarks").replace("tested", "testd") + ROW
    result = read(tmp_path, text)
    assert 'note: tags.csv: column "remarks" is not used' in said(result)
    assert 'warning: tags.csv: column "testd" is not used; did you mean "tested"?' in said(result)


def test_columns_are_lettered_as_in_a_spreadsheet():
    letters = {0: "A", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"}
    assert {position: column_letter(position) for position in letters} == letters


@pytest.mark.parametrize("words", ["Total,", "TOTAL:,", "lot 9,Grand total", ",Subtotal"])
def test_a_row_of_sums_is_left_out_and_told(tmp_path, words):
    got = read(tmp_path, HEAD + ROW + f"{words},,1200,3,,,\n")
    assert not got.faults
    assert got.frame["lot"].tolist() == ["00123"]
    assert [told["row"] for told in got.findings if told["code"] == "sum_row"] == [3]
    assert (got.source_row["rows_read"], got.source_row["rows_used"]) == (2, 1)
