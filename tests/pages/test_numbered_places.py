"""Numbered places: one number on the map and in the table, and coordinates that lead there."""

import re
from xml.etree import ElementTree

import pytest
from shapely.geometry import Point, box

from pipeline.core.units import M_PER_FT
from pipeline.pages.packet.coordinates import Zone, coordinate_words, zone_at
from pipeline.pages.packet.packet_pages import packet_pages
from tests.made_packet import block_frames, layer

SVG = "{http://www.w3.org/2000/svg}"


def test_the_grid_gives_the_published_place():
    # GeographicLib, GeoConvert(1), examples: 33.33424 44.40363 is 38n 444500 3688500.
    zone = zone_at(33.33424, 44.40363)
    assert zone.name == "38N"
    point = layer("gates", [{"gate_id": 1, "name": None}], [Point(44.40363, 33.33424)])
    (words,) = coordinate_words(point.geometry.set_crs(4326, allow_override=True), zone).to_dict(
        "records"
    )
    assert words["latitude"] == "33.33424"
    assert words["longitude"] == "44.40363"
    assert abs(int(words["east"]) - 444500) <= 1
    assert abs(int(words["north"]) - 3688500) <= 1


@pytest.mark.parametrize(
    ("latitude", "longitude", "name", "epsg"),
    # NGA.STND.0037: zone 1 from 180 to 174 degrees west; zone 31 from the meridian of Greenwich.
    [
        (40.0, -96.0, "15N", 32615),
        (40.0, -96.00001, "14N", 32614),
        (10.0, -180.0, "1N", 32601),
        (10.0, 180.0, "1N", 32601),
        (0.0, 0.0, "31N", 32631),
        (-0.1, 179.9, "60S", 32760),
    ],
)
def test_zones_begin_every_six_degrees(latitude, longitude, name, epsg):
    zone = zone_at(latitude, longitude)
    assert (zone.name, zone.epsg) == (name, epsg)
    assert isinstance(zone, Zone)


def places():
    """A block of 1,000 by 600 feet with places of every kind, one of them far beyond its map."""
    ties = [
        {"tie_in_id": f"T{n:04d}", "block": block, "kind": "tie_in", "distance_ft": 9.0}
        | {"break_kind": "lane"}
        for n, block in ((10, "Block"), (2, "Block"), (3, "Other"))
    ]
    gates = [{"gate_id": 1, "name": "Low"}, {"gate_id": 2, "name": None}]
    kept = [
        {"exclusion_id": 1, "kind": "wetland", "applies_to": "burn", "area_ac": 1.0},
        {"exclusion_id": 2, "kind": "plot", "applies_to": "seed", "area_ac": 1.0},
    ]
    water = [{"water_id": n, "kind": kind, "name": name} for n, kind, name in WATER]
    house = {"place_id": 7, "kind": "house", "block": "Block", "distance_mi": 0.02}
    shapes = [box(20, 20, 60, 50), box(-60, 20, -20, 50)]
    return block_frames(1000, 600) | {
        "tie_ins": layer("tie_ins", ties, [Point(-100, -60), Point(100, -60), Point(0, -60)]),
        "gates": layer("gates", gates, [Point(-152, 0), Point(3000, 0)]),
        "excluded_ground": layer("excluded_ground", kept, shapes),
        "water_places": layer("water_places", water, WATER_AT),
        "smoke_places": layer("smoke_places", [house | {"bearing_deg": 90.0}], [Point(170, 40)]),
    }


WATER = [(1, "hydrant", None), (2, None, "North tank"), (3, "pond", "Low pond")]
WATER_AT = [Point(-4000, 0), Point(0, 80), Point(80, -30)]
EXPECTED = [
    ("T0002", "tie-in: lead the line 9 ft to the lane", (100, -60)),
    ("T0010", "tie-in: lead the line 9 ft to the lane", (-100, -60)),
    ("G1", "gate Low", (-152, 0)),
    ("G2", "gate, 9,343 ft away", (3000, 0)),
    ("W2", "water North tank", (0, 80)),
    ("W3", "water Low pond (pond)", (80, -30)),
    ("W1", "water (hydrant), 12,623 ft away", (-4000, 0)),
    ("–", "wetland: not to be burned", (40, 35)),
    ("–", "keep smoke off: house 7, 0.02 mi E (90°)", (170, 40)),
]


def test_table_lists_every_place_of_the_block_by_number_and_no_other():
    (page,) = packet_pages(places(), paper="letter")["blocks"]
    rows = page["places"]["rows"]
    assert [row[0] for row in rows] == [str(n) for n in range(1, len(EXPECTED) + 1)]
    assert [(row[6], row[1]) for row in rows] == [(name, what) for name, what, _ in EXPECTED]
    assert page["places"]["headings"][4:6] == ["East m 14N", "North m 14N"]
    for row, (_, _, (x, y)) in zip(rows, EXPECTED, strict=True):
        # A degree at 44 N on the ellipsoid of WGS 84, by its radii of curvature (Snyder 1987,
        # formulas 4-18 and 4-21): 111,112 m to the north, 80,206 m to the east of 97 W.
        assert float(row[2]) == pytest.approx(44 + y / 111_112, abs=1.2e-5)
        assert float(row[3]) == pytest.approx(-97 + x / 80_206, abs=3e-5)


def numbers_on(svg, frame):
    """Each number on a map with its place on the ground [meter]."""
    per_m = frame["width_pt"] / (frame["east_m"] - frame["west_m"])
    texts = [
        e for e in ElementTree.fromstring(svg) if e.tag == SVG + "text" and not e.get("stroke")
    ]
    found = {}
    for text in texts:
        x, y = float(text.get("x")), float(text.get("y"))
        on_map = x < frame["width_pt"] and y < frame["height_pt"]
        if on_map and re.fullmatch(r"\d+", text.text or ""):
            assert text.text not in found, "a number stands once"
            found[text.text] = (frame["west_m"] + x / per_m, frame["north_m"] - y / per_m)
    return found, per_m


def test_map_has_the_same_numbers_beside_their_places():
    (page,) = packet_pages(places(), paper="letter")["blocks"]
    frame = page["map"]["frame"]
    found, per_m = numbers_on(page["map"]["svg"], frame)
    assert sorted(found, key=int) == [row[0] for row in page["places"]["rows"]]
    for number, (_, _, (x, y)) in enumerate(EXPECTED, 1):
        east, north = found[str(number)]
        if frame["west_m"] < x < frame["east_m"]:
            away_pt = ((east - x) ** 2 + (north - y) ** 2) ** 0.5 * per_m
            assert away_pt < 30
        else:  # what is far is an arrow at the edge, the way it lies
            edge = frame["east_m"] if x > 0 else frame["west_m"]
            assert abs(east - edge) < 30 / per_m
            assert abs(north - y) * per_m < 40
    assert "place beyond the map, that way" in page["map"]["svg"]


def test_gates_near_the_block_are_on_its_map():
    frames = block_frames(1000, 600)
    near = Point(500 * M_PER_FT + 80, 0)
    frames["gates"] = layer("gates", [{"gate_id": 1, "name": None}], [near])
    (page,) = packet_pages(frames, paper="letter")["blocks"]
    assert page["map"]["frame"]["east_m"] > near.x
    assert "place beyond" not in page["map"]["svg"]
