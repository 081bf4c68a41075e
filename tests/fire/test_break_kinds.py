"""What a break is read as by its words, what it counts as, and whether it may serve.

What a kind counts as is held against what is published of it: Higgins, Kruse and Piehl, Prescribed
burning guidelines in the Northern Great Plains, USFWS, 1989 ("Confining fire"); Missouri NRCS,
Firebreak (394) Guidance, February 2020; Florida NRCS, job sheet FL394JS, September 2003; Pheasants
Forever, burn planning, 2019; Oklahoma State University Extension, Firebreaks for prescribed
burning. Where nothing is published it is common practice, no source.
"""

import pytest
import shapely

from pipeline.fire.breaks.break_kinds import credit_breaks, kind_row, last_of, words_of
from pipeline.fire.faults import fire_faults
from pipeline.fire.settings import FirebreakSettings
from tests import made_properties as made
from tests.literal_layers import literal_layer

TABLE = made.break_kinds()


@pytest.mark.parametrize(
    ("kind", "credited_as"),
    [
        # Higgins and others: roads, trails, streams, lakes, tilled ground, wet lines, snowbanks.
        ("gravel road", "bare"),
        ("two-track", "bare"),
        ("cow path", "bare"),
        ("perennial stream", "bare"),
        ("lake", "bare"),
        ("tilled field", "bare"),
        ("wet line", "wet"),
        ("snowbank", "wet"),
        ("Mowed strip", "mown"),
        ("hayed field", "mown"),
        # Missouri: bare soil, rock outcrop, blackened area, fire-resistant vegetation.
        ("bare soil", "bare"),
        ("rock outcrop", "bare"),
        ("blackline", "black"),
        ("winter wheat", "green"),
        # Pheasants Forever: standing dry crop and stubble are fuel.
        ("corn stubble", "none"),
        # Oklahoma State University: a wire fence stops no fire.
        ("Barbed Fence along the road", "none"),
        # Florida: a cleared right of way counts only as its vegetation does.
        ("buried pipeline", "none"),
        # Common practice, no source.
        ("creek", "wet"),
        ("intermittent creek", "wet"),
        ("dry wash", "none"),
        ("dry creek bed", "none"),
        ("hedge", "none"),
        ("cedar row", "none"),
        ("power line", "none"),
        ("property line", "none"),
        ("road ditch", "mown"),
        ("road and hedge", "none"),
        ("primary firebreak", "none"),
        ("pasture", "none"),
    ],
)
def test_what_a_kind_counts_as(kind, credited_as):
    assert (kind_row(kind, TABLE)["credited_as"] or "none") == credited_as


# "us", "i" and so on are the usual signs of numbered highways; primary, secondary and the like are
# the values of the key highway in OpenStreetMap.
@pytest.mark.parametrize(
    ("kind", "break_class"),
    [
        ("two-lane highway", "public_road"),
        ("avenue", "public_road"),
        ("Forest Avenue", "public_road"),
        ("US 81", "public_road"),
        ("I-90", "public_road"),
        ("primary", "public_road"),
        ("county road", "public_road"),
        ("County Highway 5", "public_road"),
        ("section line road", "public_road"),
        ("creek road", "public_road"),
        ("roads", "public_road"),
        ("private road", "private_road"),
        ("private gravel road", "private_road"),
        ("lane", "private_road"),
        ("two-track", "private_road"),
        ("woven fence", "fence"),
        ("hedgerow by the lane", "woody"),
    ],
)
def test_class_of_a_kind(kind, break_class):
    assert kind_row(kind, TABLE)["break_class"] == break_class


# Words that hold the words of a kind: "broadleaf" holds "road", "bypath" holds "path".
@pytest.mark.parametrize("kind", ["field", "thing", "broadleaf", "bypath", "offense", "crossing"])
def test_kind_that_no_words_fit_is_not_known(kind):
    assert kind_row(kind, TABLE) is None


def test_every_phrase_of_the_table_is_read_as_its_own_kind():
    for row in TABLE.to_dict("records"):
        for phrase in row["words"].split(";"):
            assert kind_row(phrase.replace("#", "7"), TABLE)["break_kind"] == row["break_kind"]
        assert row["source"]


@pytest.mark.parametrize(
    ("phrase", "kind", "last"),
    [
        ("private road", "Private, gravel ROADS", 2),
        ("private road", "road private", None),
        ("us #", "US81", 1),
        ("us #", "us highway", None),
    ],
)
def test_phrase_fits_whole_words_in_order(phrase, kind, last):
    assert last_of(words_of(phrase), words_of(kind)) == last


KINDS = ["Fence", "county road", "private lane", "creek", "gizmo"]


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
    credits_ = credit_breaks(breaks, TABLE, FirebreakSettings(roads_as_breaks=answer))
    assert credits_.loc[credits_["serves"], "kind"].tolist() == serving
    assert credits_["break_kind"].isna().tolist() == [kind == "gizmo" for kind in KINDS]


def test_phrase_of_two_kinds_is_refused():
    row = {"break_class": "grass", "credited_as": None, "source": "own"}
    rows = [{"break_kind": name, "words": words, **row} for name, words in OWN_TABLE]
    told = fire_faults(
        literal_layer("burns"), literal_layer("hourly_weather"), literal_layer("break_kinds", rows)
    )
    assert [fault.where for fault in told] == ["[sources.break_kinds] words"]
    assert told[0].found == '"green strip" stands with 2 kinds, a, b'


OWN_TABLE = [("a", "green strip; grass"), ("b", "Green-strip")]
