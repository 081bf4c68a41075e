"""Which winds the layout allows: places on a compass around a unit."""

import geopandas as gpd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.fire.settings import WeatherSettings
from pipeline.fire.smoke_winds import bearing_deg, list_winds
from tests.made_season import square_units

M_PER_MI = 1609.344


def winds(*points, acres=0.5, **settings):
    units = square_units(A=acres)
    center = units.geometry[0].centroid
    shapes = [shapely.Point(center.x + x, center.y + y) for x, y in points]
    places = gpd.GeoDataFrame({"kind": ["house"] * len(points)}, geometry=shapes, crs=units.crs)
    frame = list_winds(units, places, WeatherSettings(**settings))
    return conform(frame, LAYERS["winds"])


@pytest.mark.parametrize(
    ("step", "bearing"), [((0, 1), 0), ((1, 0), 90), ((0, -1), 180), ((-1, 0), 270), ((1, 1), 45)]
)
def test_bearings(step, bearing):
    assert bearing_deg(*step) == pytest.approx(bearing)


@pytest.mark.parametrize(
    ("point", "bad_wind"),
    [((0, 1200), 180), ((1200, 0), 270), ((0, -1200), 0), ((-1200, 0), 90)],
)
def test_house_is_downwind_of_the_opposite_wind(point, bad_wind):
    # Wind is named by where it comes FROM: a house to the north is hit by a south wind.
    refused = winds(point)
    refused = set(refused.loc[~refused["allowed"], "wind_from_deg"])
    assert bad_wind in refused
    assert (bad_wind + 180) % 360 not in refused
    assert refused == {(bad_wind + d) % 360 for d in (-22.5, 0, 22.5)}


def test_farther_than_the_distance_does_not_count():
    assert winds((0, 1.2 * M_PER_MI))["allowed"].all()
    assert not winds((0, 1.2 * M_PER_MI), smoke_distance_mi=1.5)["allowed"].all()


def test_house_inside_the_unit_counts_in_every_wind():
    assert not winds((0, 0))["allowed"].any()


def test_wide_unit_is_judged_by_its_near_corner():
    # 200 m east of the edge of an 80-acre square, level with its north corner.
    near = winds((485, 280), acres=80)
    small = winds((485, 280))
    assert (~near["allowed"]).sum() > (~small["allowed"]).sum()


def test_no_places_no_word():
    units = square_units(A=80)
    assert list_winds(units, empty(LAYERS["smoke_points"], units.crs), WeatherSettings()).empty
