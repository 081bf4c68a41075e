"""Shapes in a wrong reference system are refused, with what gives it away."""

import json
import re

import pytest
import shapely
from shapely import box

from tests.made_maps import (
    UTM,
    faults,
    forties,
    geojson,
    read,
    save,
    square,
)

PLACES = {
    "degrees under a system in meters": (
        lambda g: g.to_crs(4326).set_crs(UTM, allow_override=True),
        "look like degrees",
    ),
    "meters under a system in degrees": (
        lambda g: g.set_crs(4326, allow_override=True),
        "within ±180 and ±90",
    ),
    "axes swapped": (
        lambda g: g.to_crs(4326).set_geometry(
            shapely.transform(g.to_crs(4326).geometry.to_numpy(), lambda p: p[:, ::-1]), crs=4326
        ),
        "the axes are swapped",
    ),
    "axes swapped in the east": (
        lambda g: g.set_geometry(
            [box(40 + n / 100, -89, 40.005 + n / 100, -88.995) for n in range(3)], crs=4326
        ),
        "the axes are swapped",
    ),
    "system of another part of the earth": (
        lambda g: g.set_crs("EPSG:27700", allow_override=True),
        "OSGB36.*puts row 1 ",
    ),
    "both sides of the date line": (
        lambda g: g.set_geometry(
            [
                box(-179.9, 51, -179.8, 51.1),
                box(179.8, 51, 179.9, 51.1),
                box(179.7, 51, 179.75, 51.1),
            ],
            crs=4326,
        ),
        "date line",
    ),
    "round the earth the long way": (
        lambda g: g.set_geometry([box(-179.9, 51, 179.9, 51.1)] * 3, crs=4326),
        "date line",
    ),
}


@pytest.mark.parametrize("kind", PLACES)
def test_shapes_that_cannot_lie_there_are_refused(kind, tmp_path):
    change, words = PLACES[kind]
    result = read(save(change(forties()), tmp_path / "u.gpkg"))
    assert re.search(words, faults(result)), faults(result)


def test_geojson_in_meters_is_refused(tmp_path):
    meters = json.loads(shapely.to_geojson(square(0)))
    assert "within ±180 and ±90" in faults(read(geojson(tmp_path / "u.geojson", [meters])))


def test_rows_are_numbered_as_in_the_file_though_one_holds_nothing(tmp_path):
    swapped = forties().to_crs(4326)
    shapes = [None, *shapely.transform(swapped.geometry.to_numpy()[1:], lambda p: p[:, ::-1])]
    frame = swapped.set_geometry(shapes, crs=4326)
    result = read(save(frame, tmp_path / "e.gpkg"), role="exclusions", into="exclusions")
    assert "e.gpkg, rows 2, 3: coordinates such as" in faults(result)
