"""Findings of a run: every one of them, warnings before notes, each group in its order."""

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.catalog import CAUSES
from pipeline.core.findings import Finding, findings_frame, gather_findings

SEVERITIES = st.lists(st.lists(st.sampled_from(["note", "warning"]), max_size=4), max_size=4)


@settings(deadline=None)
@given(SEVERITIES)
def test_all_findings_come_through_warnings_first(groups):
    numbered = [
        [
            Finding(severity=s, source=f"{g}", message=f"{g}.{n}", code="overlap")
            for n, s in enumerate(group)
        ]
        for g, group in enumerate(groups)
    ]
    gathered = gather_findings([findings_frame(group) for group in numbered], CAUSES)
    together = [finding for group in numbered for finding in group]
    expected = [f["message"] for s in ("warning", "note") for f in together if f["severity"] == s]
    assert list(gathered["message"]) == expected


def test_place_and_code_of_a_finding_are_kept():
    place = shapely.Point(1, 2)
    one = Finding(severity="note", source="units", message="Look.", code="overlap", geometry=place)
    frame = gather_findings([findings_frame([], 32614), findings_frame([one], 32614)], CAUSES)
    assert frame.crs == 32614
    assert frame.geometry[0] == place
    assert frame["code"][0] == "overlap"


def test_an_amount_gets_the_unit_of_its_cause_or_is_left_out():
    counted = Finding(severity="note", source="units", message="m", code="overlap", amount=2.5)
    uncounted = Finding(severity="note", source="smoke", message="m", code="state_law", amount=1)
    unknown = Finding(severity="note", source="units", message="m", code="overlap")
    frame = gather_findings([findings_frame([counted, uncounted, unknown])], CAUSES)
    assert frame["unit"].fillna("").tolist() == ["ac", "", ""]
    assert frame["amount"].fillna(-1).tolist() == [2.5, -1, -1]
