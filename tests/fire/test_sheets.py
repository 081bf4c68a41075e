"""What the printed tables of breaks and places add up to and say."""

import pytest
from shapely.geometry import LineString

from pipeline.fire.layers import FIREBREAKS
from pipeline.fire.sheets import break_sums, places
from pipeline.pages.words import cell_words
from tests.literal_layers import literal_layer
from tests.made_properties import CRS

LINE = LineString([(0, 0), (1, 0)])
FIGURES = {"adjoining": "outside", "ring": "outer", "mown_ft": 20.0, "blackline_ft": 0.0}


def firebreaks(*rows):
    """Layer of stretches told as block, status, length and width missing [ft]."""
    names = ("block", "status", "length_ft", "short_ft")
    told = [dict(zip(names, row, strict=True)) for row in rows]
    whole = [{"break_id": f"B{n}", **row, **FIGURES} for n, row in enumerate(told)]
    return literal_layer("firebreaks", whole, [LINE] * len(whole), CRS)


def test_break_sums_by_hand():
    stretches = firebreaks(
        ("A", "prepare", 1000.0, 0.0),
        ("A", "prepare", 640.0, 8.0),
        ("A", "prepare", 1000.0, 12.0),
        ("A", "existing", 500.0, None),
        ("B", "prepare", 100.0, 0.0),
    )
    sums = break_sums(stretches).set_index(["block", "status"])
    # 2,640 ft are half a mile.
    prepare = sums.loc[("A", "prepare")]
    assert prepare[["stretches", "length_ft", "narrow_ft", "most_short_ft"]].tolist() == [
        3,
        2640,
        1640,
        12,
    ]
    assert prepare["length_mi"] == 0.5
    unknown = sums.loc[("A", "existing")]
    assert unknown["length_ft"] == 500
    # Without a planned wind no width is asked for yet: unknown, never wide enough.
    assert unknown[["narrow_ft", "most_short_ft"]].isna().all()
    assert sums["length_ft"].sum() == stretches["length_ft"].sum()


def test_break_sums_hold_every_foot(sample_layers):
    breaks = sample_layers[0]["firebreaks"]
    sums = break_sums(breaks)
    assert sums["length_ft"].sum() == pytest.approx(breaks["length_ft"].sum())
    assert sums["stretches"].sum() == len(breaks)


WORDS = {
    "gap": "the lane has a hole of 66 ft here: close it",
    "away": "the lane is whole, the edge lies up to 66 ft from it: make the line along the edge "
    "and tie both ends",
    "tie_in": "lead the line 66 ft to the lane",
    "side_change": "the line changes to the other side of the lane: close the way across it",
    "hand_over": "from lane to creek, which are 66 ft apart: close the way between them",
    "sharp_corner": "corner of 41 degrees: bend the line around it",
}


@pytest.mark.parametrize("kind", WORDS)
def test_each_kind_of_place_says_what_to_do_with_its_figures(kind):
    row = {"tie_in_id": "T1", "block": "A", "kind": kind, "distance_ft": 65.6}
    row |= {"break_kind": "lane", "next_break_kind": "creek", "corner_angle_deg": 41.2}
    frame = literal_layer("tie_ins", [row], [LINE.centroid], CRS)
    assert places(frame)["what_to_do"].tolist() == [WORDS[kind]]


@pytest.mark.parametrize(
    ("degrees", "words"),
    [(0.0, "0 (N)"), (359.7, "0 (N)"), (225.0, "225 (SW)"), (67.6, "68 (E)"), (112.4, "112 (E)")],
)
def test_direction_is_told_in_degrees_and_by_the_nearest_of_eight_points(degrees, words):
    assert cell_words(degrees, FIREBREAKS.column("bearing_deg")) == words
