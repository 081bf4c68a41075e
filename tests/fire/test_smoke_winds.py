"""Smoke of units and blocks: places on a compass around them, and what is said of the plan."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire.smoke import winds as smoke_winds
from pipeline.fire.smoke.settings import WeatherSettings
from tests.literal_layers import literal_layer
from tests.made_season import square_units

MILE_M = 1609.344


def smoke(*points, acres=0.5, wind_from_deg=225.0, kinds=None, crs=None, **settings):
    """Every smoke layer of a square unit that is a block, with places east and north of it [m]."""
    units = square_units(A=acres)
    center = units.geometry[0].centroid
    drawn = [shapely.Point(point) if isinstance(point, tuple) else point for point in points]
    shapes = [affinity.translate(shape, center.x, center.y) for shape in drawn]
    if crs:
        shapes = list(gpd.GeoSeries(shapes, crs=units.crs).to_crs(crs))
        units = units.to_crs(crs)
    kinds = kinds or ["house"] * len(points)
    places = literal_layer("smoke_points", [{"kind": kind} for kind in kinds], shapes, units.crs)
    figures = dict.fromkeys(LAYERS["burn_blocks"].column_names, 0.0)
    blocks = gpd.GeoDataFrame(
        [figures | {"block": "B", "unit_ids": "A", "wind_from_deg": wind_from_deg}],
        geometry=list(units.geometry),
        crs=units.crs,
    )
    limits = WeatherSettings(**settings)
    found = {"smoke_arcs": smoke_winds.draw_smoke_arcs(units, blocks, places, limits)}
    arcs = found["smoke_arcs"] = conform(found["smoke_arcs"], LAYERS["smoke_arcs"])
    found["winds"] = smoke_winds.list_winds(units, places, arcs)
    found["smoke_places"] = smoke_winds.list_smoke_places(blocks, places, arcs)
    found["winds_left"] = smoke_winds.list_winds_left(blocks, places, arcs, limits)
    found["smoke_findings"] = smoke_winds.find_smoke(
        blocks, found["smoke_places"], found["winds_left"], limits
    )
    return {
        name: conform(frame, LAYERS[name], units.crs if LAYERS[name].geometry else None)
        for name, frame in found.items()
    }


def refused(found):
    """Winds of the sixteen that carry smoke of the unit onto some place."""
    winds = found["winds"]
    return set(winds.loc[~winds["allowed"], "wind_from_deg"])


@pytest.mark.parametrize(
    ("point", "bad_wind"),
    [((0, 1200), 180), ((1200, 0), 270), ((0, -1200), 0), ((-1200, 0), 90)],
)
def test_house_is_downwind_of_the_opposite_wind(point, bad_wind):
    # Wind is named by where it comes FROM: a house to the north is hit by a south wind.
    assert refused(smoke(point)) == {(bad_wind + d) % 360 for d in (-45, -22.5, 0, 22.5, 45)}
    narrow = refused(smoke(point, smoke_half_angle_deg=30))
    assert narrow == {(bad_wind + d) % 360 for d in (-22.5, 0, 22.5)}


def test_farther_than_the_distance_does_not_count():
    assert smoke((0, 1.2 * MILE_M))["winds"]["allowed"].all()
    assert smoke((0, 1.2 * MILE_M))["smoke_arcs"].empty
    assert not smoke((0, 1.2 * MILE_M), smoke_distance_mi=1.5)["winds"]["allowed"].all()


def test_house_inside_the_unit_counts_in_every_wind():
    found = smoke((0, 0))
    assert not found["winds"]["allowed"].any()
    assert (
        found["smoke_arcs"][["from_deg", "to_deg", "distance_mi"]].to_numpy().tolist()
        == [[0, 360, 0]] * 2
    )
    assert found["smoke_arcs"]["bearing_deg"].isna().all()


def test_school_north_of_the_middle_of_a_long_unit_is_reached_in_a_south_wind():
    # From no corner of this unit does a south wind blow to within 30 degrees of the school.
    road = shapely.LineString([(-1000, 400), (1000, 400)])
    found = smoke((0, 900), road, acres=640, smoke_half_angle_deg=30)
    assert 180 in refused(found)


@pytest.mark.parametrize("crs", [None, "+proj=utm +zone=13 +datum=NAD83 +units=m"])
def test_arcs_are_told_from_true_north_whatever_the_plane(crs):
    # 6 degrees west of its zone's middle the grid of UTM is turned by 4 degrees at 44 N.
    found = smoke((0, 1200), acres=0.001, crs=crs)
    row = found["smoke_arcs"].iloc[0]
    assert (row["from_deg"], row["to_deg"]) == (
        pytest.approx(135, abs=0.2),
        pytest.approx(225, abs=0.2),
    )
    assert np.cos(np.radians(row["bearing_deg"])) == pytest.approx(1, abs=1e-5)
    assert row["distance_mi"] == pytest.approx(1199 / MILE_M, rel=3e-3)


def test_every_unit_and_block_stands_with_its_own_arcs():
    found = smoke((0, 1200), (1200, 0), (0, -1500))
    arcs = found["smoke_arcs"]
    assert arcs["unit_id"].notna().tolist() == [True] * 3 + [False] * 3
    assert arcs["block"].notna().tolist() == [False] * 3 + [True] * 3
    assert arcs["place_id"].tolist() == [1, 2, 3] * 2
    assert (arcs.loc[arcs["place_id"] == 3, "from_deg"] > 300).all(), "round the north"
    assert (arcs.loc[arcs["place_id"] == 3, "to_deg"] < 60).all()


def test_places_are_a_layer_with_distance_and_bearing_and_the_planned_wind():
    found = smoke((600, 600), (-600, 0), (0, 5000), kinds=["house", "barn", "town"])
    places = found["smoke_places"].set_index("kind")
    assert places["planned_smoke"].to_dict() == {
        "house": "reached",
        "barn": "not_reached",
        "town": None,
    }
    assert places.loc["house", "bearing_deg"] == pytest.approx(45, abs=1)
    assert places.loc["house", "distance_mi"] == pytest.approx(0.51, abs=0.01)
    assert pd.isna(places.loc["town", "block"]), "far from every block, and not lost"


def test_planned_wind_onto_a_house_is_a_warning_that_says_which_and_where():
    (row,) = smoke((600, 600), (900, 900))["smoke_findings"].itertuples()
    assert (row.severity, row.code, row.subject) == ("warning", "smoke_on_place", "B")
    assert row.message == (
        "planned wind 225 (SW) would carry smoke onto the house 0.51 mi NE, house 0.77 mi NE; of "
        "all winds, those from 273 to 177 degrees reach none of the places named"
    )
    assert smoke((-600, 600), wind_from_deg=np.nan)["smoke_findings"].empty
    assert smoke((-600, -600))["smoke_findings"].empty


@pytest.mark.parametrize(
    ("first", "last", "left"),
    [
        (180, 270, [(225, 270)]),
        (90, 150, [(90, 135)]),
        (300, 60, [(300, 60)]),
        (90, 270, [(90, 135), (225, 270)]),
        (None, None, [(225, 135)]),
    ],
)
def test_winds_of_the_owners_range_that_are_left(first, last, left):
    # The house stands north: winds from 135 to 225 carry smoke there, and 1.1 more for the width.
    found = smoke((0, 1200), first_wind_from_deg=first, last_wind_from_deg=last)
    told = found["winds_left"][["from_deg", "to_deg"]].to_numpy().tolist()
    assert told == [pytest.approx(list(row), abs=1.2) for row in left]


def test_no_wind_fits_is_said_in_words():
    houses = [(0, 1200), (1200, 0), (1000, 1000)]
    found = smoke(*houses, first_wind_from_deg=180, last_wind_from_deg=270, wind_from_deg=np.nan)
    assert found["winds_left"]["from_deg"].isna().tolist() == [True]
    (row,) = found["smoke_findings"].itertuples()
    assert (row.severity, row.code) == ("warning", "no_wind_fits")
    assert row.message == (
        "no wind fits: of your 180 to 270 degrees, every wind carries smoke onto a place within "
        "1 mi (smoke_points)"
    )


PLACE = st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000))


@given(st.lists(PLACE, min_size=1, max_size=4), PLACE, st.floats(0, 360))
@settings(max_examples=25, deadline=None)
def test_another_place_never_frees_a_wind(points, more, wind_from_deg):
    before = smoke(*points, acres=40, wind_from_deg=wind_from_deg)
    after = smoke(*points, more, acres=40, wind_from_deg=wind_from_deg)
    assert refused(before) <= refused(after)
    codes = [set(found["smoke_findings"]["code"]) for found in (before, after)]
    assert codes[0] <= codes[1]


def test_no_places_no_word():
    assert all(frame.empty for frame in smoke().values())
