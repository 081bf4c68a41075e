"""What is said of findings: a screen of lines by cause, each by itself when asked, none lost."""

import json
import logging
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import CAUSES, told_by_cause
from pipeline.core.findings import Finding, findings_frame, gather_findings
from pipeline.core.run import Run
from pipeline.runner import Finished
from pipeline.terminal import (
    MOST_CAUSES,
    JsonLines,
    PlainLines,
    cause_lines,
    tell_findings,
    tell_run,
)

SCREEN = 24
"""Lines of a terminal's screen: common practice since the DEC VT100, from memory."""


def frames(findings):
    """Findings and the same by cause."""
    told = gather_findings([findings_frame(findings)], CAUSES)
    return told, told_by_cause(told, {})


def made(severity, code, subject="A", **more):
    return Finding(
        severity=severity, source="made", code=code, subject=subject, message="m", **more
    )


FINDINGS = st.lists(
    st.builds(
        made,
        st.sampled_from(["warning", "note"]),
        st.sampled_from([cause.code for cause in CAUSES]),
    ),
    max_size=40,
)


@settings(deadline=None, max_examples=60)
@given(FINDINGS)
def test_lines_and_the_sum_tell_of_every_finding(findings):
    _, by_cause = frames(findings)
    *lines, last = cause_lines(by_cause)
    shown = [int(re.match(r"warning: ([\d,]+) ", line)[1].replace(",", "")) for line in lines]
    warned = sum(f["severity"] == "warning" for f in findings)
    causes = len({f["code"] for f in findings if f["severity"] == "warning"})
    assert len(lines) == min(causes, MOST_CAUSES)
    assert last.startswith(f"  {warned} warning")
    assert f"{len(findings) - warned} note" in last
    assert (f"({sum(shown)} warnings above)" in last) == (sum(shown) < warned)


def test_a_run_of_the_sample_is_told_on_one_screen(sample_layers, log):
    frames, _ = sample_layers
    names = ("larkspindle_prairie.gpkg", "report.html", "packet.pdf", "mow_lines.gpx")
    run = Run("larkspindle_prairie", frames, None, "2026-10-01T00:00:00.000Z")
    kept = Kept(PlainLines())
    log.addHandler(kept)
    tell_run(log, Finished(Path("out"), run, tuple(map(Path, names))), each=False)
    said = [text for _, text in kept.said]
    assert len(said) + len(("caution", "run folder")) <= SCREEN
    assert all(len(line) < 132 for line in said)
    assert any(
        line.startswith(f"  {(frames['findings'].severity == 'warning').sum()} warnings of ")
        for line in said
    )


class Kept(logging.Handler):
    """Keeps what is said, as one form says it."""

    def __init__(self, form):
        super().__init__()
        self.said, self.form = [], form

    def emit(self, record):
        self.said.append((record.levelname, self.form.format(record)))


@pytest.fixture
def log():
    log = logging.Logger("made", logging.INFO)
    log.propagate = False
    return log


TWO = [made("warning", "overlap", amount=2.5), made("note", "tiny_part", subject=None)]


def test_each_finding_is_a_record_with_its_own_severity(log):
    kept = Kept(JsonLines())
    log.addHandler(kept)
    tell_findings(log, *frames(TWO), each=True)
    first, second, last = (json.loads(text) for _, text in kept.said)
    assert first == {
        "level": "warning",
        "message": "warning: made A: m",
        "severity": "warning",
        "source": "made",
        "row": None,
        "subject": "A",
        "code": "overlap",
        "amount": 2.5,
        "unit": "ac",
    }
    assert (second["level"], second["severity"], second["subject"]) == ("info", "note", None)
    assert second["amount"] is None
    assert last["level"] == "info"


def test_a_warning_in_words_is_not_said_to_be_one_twice(log):
    kept = Kept(PlainLines())
    log.addHandler(kept)
    tell_findings(log, *frames(TWO), each=True)
    assert [text for _, text in kept.said[:2]] == ["warning: made A: m", "note: made: m"]
    assert [level for level, _ in kept.said] == ["WARNING", "INFO", "INFO"]


def test_by_cause_a_line_each_and_the_worst_names_cut_to_the_line(log):
    kept = Kept(PlainLines())
    log.addHandler(kept)
    long = [made("warning", "overlap", subject="name " * 30, amount=1.0)]
    tell_findings(log, *frames(TWO + long), each=False)
    (first, last) = (text for _, text in kept.said)
    assert first.startswith("warning: 2 pieces of ground in two units at once, 3.50 ac: A; name")
    assert first.endswith("…")
    assert len(first) < 120
    assert last == "  2 warnings of 1 cause, 1 note of 1 cause; each of them: --all-findings"
