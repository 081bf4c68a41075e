"""The sheet of what was seen: where to stand, plants by group in their order, patches by visit."""

import re

import pandas as pd
import pytest
from shapely.geometry import MultiPolygon, Point, box

from pipeline.pages.packet.records_page import records_page
from tests.made_packet import READ, layer

PLACES = {"by_place": Point(50, 100), "as_told": Point(-50, 100)}


def frames(**rows):
    """Empty layers, one unit, and those that are told."""
    made = {name: layer(name, []) for name in READ}
    unit = {"unit_id": "A", **dict.fromkeys(("gross_ac", "no_burn_ac", "no_seed_ac"), 1.0)}
    unit |= dict.fromkeys(("burnable_ac", "seedable_ac", "perimeter_ft"), 1.0)
    made["units"] = layer("units", [unit], [MultiPolygon([box(-500, -500, 500, 500)])])
    return made | rows


def test_nothing_seen_is_no_sheet():
    assert records_page(frames()) is None


@pytest.fixture
def seen():
    points = [
        {"point": "P 10", "unit_id": "A", "placed": "by_place", "bearing_deg": 245.0, "photos": 0},
        {"point": "P 9", "unit_id": "A", "placed": "as_told", "photos": 1, "note": "post"},
    ]
    cover = [
        {"unit_id": "A", "group": group, "species": name, "transects": 1, "transects_with": 1}
        | {"date": day, "cover_pct": 10.0, "frequency_of": "transects"}
        for group, name, day in (
            ("bare", "bare", "2026-06-01"),
            ("native_forb", "Ratibida pinnata", "2026-06-01"),
            ("native_warm_grass", "Andropogon gerardii", "2026-06-01"),
            ("noxious", "Cirsium arvense", "2025-06-01"),
        )
    ]
    windows = [{"point": "P 9", "first_day": "2027-06-01", "last_day": "2027-06-29"}]
    windows[0] |= {"years": 2, "taken": True}
    return frames(
        photo_points=layer("photo_points", points, list(PLACES.values())),
        photo_windows=layer("photo_windows", windows),
        plant_cover=layer("plant_cover", cover),
    )


def table_of(page, title):
    return next(table for heading, table, _ in page["tables"] if heading == title)


def test_photo_points_stand_in_the_order_people_count_them(seen):
    told = table_of(records_page(seen), "Photo points")
    assert [row[:2] for row in told["rows"]] == [["1", "P 9"], ["2", "P 10"]]
    words = [" ".join(row) for row in told["rows"]]
    assert "Stand here. Post" in words[0]
    assert "2027-06-01 to 2027-06-29, taken" in words[0]
    assert "Stand here, look 245° (SW) from true north" in words[1]


def test_the_newest_survey_by_group_with_bare_ground_last(seen):
    rows = table_of(records_page(seen), "What came up, by species")["rows"]
    species = [next(cell for cell in row if cell in NAMES) for row in rows]
    assert species == ["Andropogon gerardii", "Ratibida pinnata", "bare"]


NAMES = ("Andropogon gerardii", "Ratibida pinnata", "bare", "Cirsium arvense")


def test_the_map_has_a_number_for_each_point_and_a_wedge_for_each_view(seen):
    drawn = records_page(seen)["map"]
    assert len(re.findall("<circle", drawn["svg"])) == 2
    assert {"1", "2"} <= set(re.findall(r">(\d+)</text>", drawn["svg"]))
    (wedge,) = re.findall(r'd="M([\d.]+) ([\d.]+)L([\d.]+) [\d.]+L([\d.]+) [\d.]+z"', drawn["svg"])
    x, _, one, other = map(float, wedge)
    assert max(one, other) < x, "245° looks west"
    assert "2 photo points" in drawn["alt"]
    assert pd.notna(drawn["note"])
