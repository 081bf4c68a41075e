"""What must be read first: warnings before notes, each message once, nothing a permission."""

import pandas as pd
import pytest
from lxml import html

from pipeline.core.findings import findings_frame
from pipeline.pages.cautions import CAUTION, CAUTIONS, draw_findings, subjects_by_message
from pipeline.pages.packet.seed_page import SEED_CAUTIONS


def drawn(*rows):
    columns = ("severity", "source", "subject", "message")
    frame = findings_frame([dict(zip(columns, row, strict=True)) for row in rows])
    return html.fromstring(f"<main>{draw_findings(frame)}</main>")


def words(element):
    return " ".join("".join(element.itertext()).split())


def test_warnings_stand_open_and_notes_behind_a_fold():
    page = drawn(
        ("warning", "units", "A", "look at this"),
        ("note", "units", "B", "good to know"),
        ("note", "seed_lots", None, "a lot is old"),
    )
    (open_list,) = page.findall("div")
    assert words(open_list) == "UnitsA look at this"
    (fold,) = page.findall("details")
    assert words(fold.find("summary")) == "2 notes"
    assert [words(item) for item in fold.iter("li")] == ["B good to know", "a lot is old"]
    assert [words(head) for head in fold.iter("h3")] == ["Units", "Seed lots"]


def test_where_nothing_warns_the_page_says_what_that_is_worth():
    page = drawn(("note", "units", "B", "good to know"))
    assert words(page.find("p")).startswith("No warnings. That says nothing")


def test_a_message_is_said_once_with_all_that_it_speaks_of():
    page = drawn(
        ("warning", "fuel", "U1", "burned in May"),
        ("warning", "fuel", "U2", "burned in May"),
        ("warning", "fuel", "U1", "burned in May"),
    )
    assert [words(item) for item in page.iter("li")] == ["U1, U2 burned in May"]


def test_marks_that_turn_the_text_are_left_out():
    rows = [{"subject": "\u202eU1", "message": "a\u0007b"}, {"subject": None, "message": "c"}]
    assert subjects_by_message(rows) == {"a b": ["U1"], "c": []}
    assert subjects_by_message(pd.DataFrame(rows).iloc[:0].to_dict("records")) == {}


@pytest.mark.parametrize("caution", [*CAUTIONS, *SEED_CAUTIONS])
def test_no_caution_reads_as_a_permission(caution):
    assert "no permission to ignite" in CAUTION
    for phrase in ("approved", "safe to", "go ahead", "may be lit", "ready to burn", "cleared to"):
        assert phrase not in caution.lower()
