"""The driver's way in words, against passes and moves written out by hand."""

import shapely

from pipeline.pages.packet.driving_words import driving_words, route_words
from tests.literal_layers import literal_layer

CRS = "EPSG:32614"


def passes(*rows):
    """Layer mow_passes: strip, pass, part, and the line of each, in driving order."""
    records = [
        {
            "block": "A",
            "drive_order": order,
            "strip_id": strip,
            "pass_number": number,
            "part": part,
            "length_ft": 100.0,
        }
        for order, (strip, number, part, _) in enumerate(rows, 1)
    ]
    return literal_layer("mow_passes", records, [shapely.LineString(r[3]) for r in rows], CRS)


def moves(**length_ft):
    records = [
        {"block": "A", "to_order": int(order[1:]), "length_ft": feet, "on_ground": True}
        for order, feet in length_ft.items()
    ]
    lines = [shapely.LineString([(0, 0), (1, 1)])] * len(records)
    return literal_layer("mow_moves", records, lines, CRS)


EAST, WEST = [(0, 0), (100, 0)], [(100, 0), (0, 0)]
ROUND = [(0, 0), (100, 0), (100, 100), (0, 0)]


def test_runs_of_one_strip_with_the_ways_between_them():
    way = passes(
        ("A-1", 1, 1, EAST), ("A-1", 2, 1, WEST), ("A-2", 1, 1, ROUND), ("A-1", 3, 1, WEST)
    )
    assert driving_words(way, moves(_2=5.5, _3=414.4, _4=12.0)) == [
        "A-1: passes 1, 2, first toward E",
        "after 414 ft without mowing, A-2: pass 1, first counterclockwise",
        "A-1: pass 3, first toward W",
    ]


def test_parts_of_a_pass_are_named_where_there_are_several():
    way = passes(("A-1", 1, 1, EAST), ("A-2", 1, 1, ROUND[::-1]), ("A-1", 1, 2, EAST))
    assert driving_words(way, moves()) == [
        "A-1: pass 1 (part 1), first toward E",
        "A-2: pass 1, first clockwise",
        "A-1: pass 1 (part 2), first toward E",
    ]


def test_sum_of_the_way_in_words():
    route = {
        "mown_ft": 29452.9,
        "moves_ft": 972.8,
        "least_moves_ft": 493.1,
        "least_hours": 1.4794,
        "most_hours": 1.8281,
        "line_hours": 0.0,
    }
    said = (
        "29,453 ft of mowing and 973 ft of driving between (no order needs less than 493 ft): "
        "1.5 to 1.8"
    )
    assert route_words(route) == f"{said} hours"
    lines = route_words({**route, "line_hours": 2.25})
    assert lines.startswith(f"{said} hours; bare lines and blacklines 2.3")
