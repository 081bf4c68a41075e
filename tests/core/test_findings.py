"""Findings of a run: every one of them, warnings before notes, each group in its order."""

import shapely
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.findings import Finding, findings_frame, gather_findings

SEVERITIES = st.lists(st.lists(st.sampled_from(["note", "warning"]), max_size=4), max_size=4)


@given(SEVERITIES)
def test_all_findings_come_through_warnings_first(groups):
    numbered = [
        [Finding(severity=s, source=f"{g}", message=f"{g}.{n}") for n, s in enumerate(group)]
        for g, group in enumerate(groups)
    ]
    gathered = gather_findings([findings_frame(group) for group in numbered])
    together = [finding for group in numbered for finding in group]
    expected = [f["message"] for s in ("warning", "note") for f in together if f["severity"] == s]
    assert list(gathered["message"]) == expected


def test_place_and_code_of_a_finding_are_kept():
    place = shapely.Point(1, 2)
    one = Finding(severity="note", source="units", message="Look.", code="look", geometry=place)
    frame = gather_findings([findings_frame([], 32614), findings_frame([one], 32614)])
    assert frame.crs == 32614
    assert frame.geometry[0] == place
    assert frame["code"][0] == "look"
