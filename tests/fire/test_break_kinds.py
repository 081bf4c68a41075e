"""Which breaks may serve: a fence never, a road as the setting says."""

import pytest
import shapely

from pipeline.fire.break_kinds import break_class, may_serve
from tests import made_properties as made

KINDS = ["Fence", "county road", "private lane", "creek"]


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("Barbed Fence along the road", "fence"),
        ("private road", "private_road"),
        ("two-track", "private_road"),
        ("County Highway 5", "public_road"),
        ("tilled field", "other"),
    ],
)
def test_class_of_a_break_by_its_words(kind, expected):
    assert break_class(kind) == expected


@pytest.mark.parametrize(
    ("answer", "serving"),
    [
        ("all", ["county road", "private lane", "creek"]),
        ("private", ["private lane", "creek"]),
        ("none", ["creek"]),
    ],
)
def test_fences_never_serve_and_roads_as_the_setting_says(answer, serving):
    breaks = made.breaks_frame([shapely.LineString([(0, 0), (9, 0)])] * len(KINDS), KINDS)
    assert breaks.loc[may_serve(breaks, answer), "kind"].tolist() == serving
