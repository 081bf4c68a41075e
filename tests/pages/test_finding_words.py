"""Findings as they are read: a line a cause that unfolds, warnings before notes, nothing lost."""

import pytest
from lxml import html

from pipeline.catalog import CAUSES, told_by_cause
from pipeline.core.findings import findings_frame, gather_findings
from pipeline.pages.finding_words import amount_words, cause_words, draw_findings, sum_words

COLUMNS = ("severity", "source", "subject", "message", "code", "amount")


def frames(*rows):
    """Findings and the same by cause."""
    told = [dict(zip(COLUMNS, row, strict=True)) for row in rows]
    findings = gather_findings([findings_frame(told)], CAUSES)
    return findings, told_by_cause(findings, {})


def drawn(*rows):
    findings, by_cause = frames(*rows)
    return html.fromstring(f"<main>{draw_findings(by_cause, findings)}</main>")


def words(element):
    return " ".join("".join(element.itertext()).split())


SPOKEN = (
    ("warning", "units", "A, B", "both cover the same 0.84 ac", "overlap", 0.84),
    ("warning", "units", "B, C", "both cover the same 2.00 ac", "overlap", 2.0),
    ("note", "units", "B", "good to know", "tiny_part", 0.0001),
    ("note", "seed_lots", None, "a lot is old", "noxious_blank", None),
)


def test_a_cause_is_one_line_that_unfolds_into_its_findings():
    page = drawn(*SPOKEN)
    (open_list,) = page.findall("div")
    (cause,) = open_list.findall("details")
    line = "2 pieces of ground in two units at once, 2.84 ac: B, C; A, B"
    assert words(cause.find("summary")) == line
    assert [words(item) for item in cause.iter("li")] == [
        "A, B both cover the same 0.84 ac",
        "B, C both cover the same 2.00 ac",
    ]
    assert words(cause.find("p")).startswith("To do: mend the map")


def test_notes_stand_behind_a_fold_of_their_own():
    (fold,) = drawn(*SPOKEN).findall("details")
    assert words(fold.find("summary")) == "2 notes of 2 causes"
    assert [words(cause.find("summary")) for cause in fold.iter("details")][1:] == [
        "1 tiny separate piece of units, less than 0.01 ac: B",
        "1 list of lots with an empty noxious cell: seed_lots",
    ]


def test_folds_are_elements_that_a_keyboard_opens_without_a_script():
    page = drawn(*SPOKEN)
    folds = list(page.iter("details"))
    assert len(folds) == 4
    assert all(fold[0].tag == "summary" for fold in folds)
    assert not any(name.startswith("on") for element in page.iter() for name in element.attrib)


def test_where_nothing_warns_the_page_says_what_that_is_worth():
    page = drawn(SPOKEN[2])
    assert words(page.find("p")).startswith("No warnings. That says nothing")


def test_a_message_is_said_once_with_all_that_it_speaks_of():
    row = ("burned in May", "limit_in_window", 1.0)
    page = drawn(*(("warning", "fuel", unit, *row) for unit in ("U1", "U2", "U1")))
    assert [words(item) for item in page.iter("li")] == ["U1, U2 burned in May"]
    assert words(next(page.iter("summary"))).startswith("3 units whose burn window")


def test_very_many_pieces_are_one_line():
    """504 pieces: as many overlaps as one real layer of fire perimeters once had."""
    rows = [("warning", "units", f"U{n}, U{n + 1}", f"{n}", "overlap", 0.5) for n in range(504)]
    page = drawn(*rows)
    (line,) = page.iter("summary")
    expected = "504 pieces of ground in two units at once, 252 ac: U0, U1; U1, U2; U2, U3; "
    expected += "and 501 more"
    assert words(line) == expected
    assert len(list(page.iter("li"))) == 504


@pytest.mark.parametrize(
    ("amount", "unit", "said"),
    [
        (0.0001, "ac", "less than 0.01 ac"),
        (0.0, "ac", "0.00 ac"),
        (0.845, "ac", "0.85 ac"),
        (65.64, "ft", "65.6 ft"),
        (1557.6, "ft", "1,558 ft"),
        (76.04, "aum", "76.0 AUM"),
    ],
)
def test_amounts_are_rounded_to_what_they_are_worth(amount, unit, said):
    assert amount_words(amount, unit) == said


def test_one_and_several_read_as_english():
    _, by_cause = frames(*SPOKEN, ("warning", "smoke", "N", "m", "no_wind_fits", 9.0))
    lines = [cause_words(row) for row in by_cause.to_dict("records")]
    assert lines[0] == "1 block that no wind fits, 9.00 ac"
    assert sum_words(by_cause, "warning") == "3 warnings of 2 causes"
    assert sum_words(by_cause[by_cause["severity"] == "warning"], "note") == "0 notes"
