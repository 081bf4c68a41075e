"""What the printed tables of breaks and places add up to and say."""

import pytest
from shapely.geometry import LineString, Point

from pipeline.fire.layers import FIREBREAKS
from pipeline.fire.sheets import break_sums, left_words, places, smoke_near
from pipeline.pages.words import cell_words
from tests.literal_layers import literal_layer
from tests.made_properties import CRS

LINE = LineString([(0, 0), (1, 0)])
FIGURES = {"adjoining": "outside", "ring": "outer", "mown_ft": 20.0, "blackline_ft": 0.0}
FIGURES |= {"make_bare_ft": 0.0, "make_mown_ft": 20.0, "make_black_ft": 0.0, "kind_unknown_ft": 0.0}


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


def arc(block, place_id, first, last, n=1):
    return {"block": block, "place_id": place_id, "arc": n, "from_deg": first, "to_deg": last}


def near(block, place_id, distance_mi):
    return {"block": block, "place_id": place_id, "kind": "house", "distance_mi": distance_mi}


def test_places_near_a_block_stand_nearest_first_with_the_winds_that_reach_them():
    rows = [near("B", 1, 0.5), near("A", 1, 0.9), near("A", 2, 0.1), near(None, 3, None)]
    places_near = literal_layer("smoke_places", rows, [Point(0, 0)] * 4, 5070)
    b_arcs = [arc("B", 1, 350.5, 10), arc("B", 1, 90, 100, 2)]
    a_arcs = [arc("A", 1, 131.2, 201.0), arc("A", 2, 0, 360)]
    arcs = literal_layer("smoke_arcs", [*a_arcs, *b_arcs])
    told = smoke_near(places_near, arcs)[["block", "place_id", "winds"]].to_numpy().tolist()
    assert told == [
        ["A", 2, "winds from every direction"],
        ["A", 1, "winds from 131 to 201 degrees"],
        ["B", 1, "winds from 90 to 100 degrees and 350 to 10 degrees"],
    ]


def test_winds_left_say_what_is_left_or_that_no_wind_fits():
    rows = [
        {"block": "A", "arc": 1, "from_deg": 180.2, "to_deg": 200.9},
        {"block": "B", "arc": 1},
        {"block": "C", "arc": 1, "from_deg": 10.3, "to_deg": 10.6},
        {"block": "D", "arc": 1, "from_deg": 0, "to_deg": 360},
    ]
    left = literal_layer("winds_left", rows)
    assert "winds from 181 to 200 degrees reach none" in left_words(left, "A")
    assert left_words(left, "B").startswith("No wind fits: every wind")
    assert "winds from about 10 degrees reach none" in left_words(left, "C")
    assert "winds from every direction reach none" in left_words(left, "D")
    assert left_words(left, "E").startswith("No places were named")
    for block in "ABCDE":
        assert not {"allowed", "safe", "permitted", "may", "ok"} & set(
            left_words(left, block).lower().replace(",", "").split()
        ), "nothing that reads as permission"
