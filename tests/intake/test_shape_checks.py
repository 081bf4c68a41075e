"""Shapes mended and told of, or refused with row and unit; signs of a wrong reference system."""

import json
import re

import geopandas as gpd
import numpy as np
import pytest
import shapely
from shapely import LineString, MultiPoint, MultiPolygon, Point, Polygon, box

from pipeline.ground.geometry import area_ac
from tests.made_maps import (
    SIDE,
    UTM,
    X,
    Y,
    faults,
    forties,
    geojson,
    read,
    said,
    save,
    square,
    with_shape,
)


def test_third_dimension_is_dropped_without_a_word(tmp_path):
    frame = forties()
    frame.geometry = shapely.force_3d(frame.geometry.to_numpy(), 312.0)
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert not result.faults
    assert not result.findings
    assert not result.frame.has_z.any()


NICK = Polygon(
    [
        (X + SIDE, Y),
        (X + 2 * SIDE, Y),
        (X + 2 * SIDE, Y + SIDE),
        (X + SIDE, Y + SIDE),
        (X + SIDE, Y + 10),
        (X + SIDE + 4, Y - 2),
        (X + SIDE - 2, Y + 4),
    ]
)


MENDED = {
    "outline that crosses itself at a corner": (NICK, "crosses itself|touches itself", 40.0),
    "outline traced twice": (
        Polygon([*square(1).exterior.coords[:-1], *square(1).exterior.coords]),
        r"crosses itself.*79\.98 -> 39\.99 ac",
        40.0,
    ),
    "parts that overlap": (
        MultiPolygon([square(1), box(X + SIDE, Y + SIDE / 2, X + 2 * SIDE, Y + 1.5 * SIDE)]),
        r"79\.98 -> 59\.99 ac",
        60.0,
    ),
    "part inside another": (
        MultiPolygon([square(1), box(X + 500, Y + 100, X + 600, Y + 200)]),
        "one part lies inside another",
        40.0,
    ),
    "spike": (
        Polygon(
            [
                (X + SIDE, Y),
                (X + 2 * SIDE, Y),
                (X + 2 * SIDE, Y + SIDE),
                (X + 3 * SIDE, Y + SIDE),
                (X + 2 * SIDE, Y + SIDE),
                (X + SIDE, Y + SIDE),
            ]
        ),
        "touches itself",
        40.0,
    ),
    "outline that touches itself": (
        Polygon([(X, Y), (X + 600, Y), (X + 600, Y + 600), (X + 300, Y), (X, Y + 600)]),
        "touches itself",
        300 * 600 / 4046.86,
    ),
}


@pytest.mark.parametrize("kind", MENDED)
def test_mended_with_acres_before_and_after(kind, tmp_path):
    shape, words, acres = MENDED[kind]
    result = read(save(with_shape(shape), tmp_path / "u.gpkg"))
    assert faults(result) == ""
    assert re.search(words, said(result)), said(result)
    assert 'u.gpkg, row 2, unit "B"' in said(result)
    assert re.search(r"at \d\d\.\d{5}, -96\.\d{5}", said(result)), "the place is told"
    assert result.findings[0]["geometry"].distance(shape) < 1
    assert result.frame.is_valid.all()
    assert area_ac(result.frame.geometry)[1] == pytest.approx(acres, rel=2e-3)


def test_ring_direction_changes_nothing_and_is_not_worth_a_word(tmp_path):
    frame = forties()
    frame.geometry = shapely.reverse(frame.geometry.to_numpy())
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert not result.findings
    np.testing.assert_allclose(area_ac(result.frame.geometry), 40, rtol=1e-3)


def test_row_that_stands_twice_is_used_once(tmp_path):
    frame = forties(UNIT=["A", "B", "B"])
    frame.loc[2, "geometry"] = square(1)
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert faults(result) == ""
    assert 'row 3, unit "B": repeats row 2; used once' in said(result)
    assert (result.source_row["rows_read"], result.source_row["rows_used"]) == (3, 2)


HOURGLASS = Polygon(
    [(X + SIDE, Y), (X + 2 * SIDE, Y + SIDE), (X + 2 * SIDE, Y), (X + SIDE, Y + SIDE)]
)


def corner_at(x, y):
    """The second square with one corner moved where no library would let it be made."""
    bad = np.array(square(1).exterior.coords)
    bad[2] = x, y
    with np.errstate(invalid="ignore"):
        return shapely.polygons(shapely.linearrings(bad))


REFUSED_SHAPES = {
    "bow-tie of a whole field": (
        HOURGLASS,
        r'row 2, unit "B": outline crosses itself at 39.*its area would be 0\.00 ac',
    ),
    "hole outside its outline": (
        Polygon(square(1).exterior, [square(2, 1).exterior]),
        r'row 2, unit "B": a hole lies outside its outline',
    ),
    "hole larger than its outline": (
        Polygon(square(1).exterior, [square(1).buffer(50).exterior]),
        "a hole lies outside its outline",
    ),
    "coordinate that is no number": (
        corner_at(X, np.nan),
        r'row 2, unit "B": a coordinate that is no number',
    ),
    "infinite coordinate": (corner_at(np.inf, Y), "no number"),
    "coordinate beyond all measure": (corner_at(X, -1.8e307), "no number"),
    "no shape": (None, r"row 2, unit \"B\": has no shape"),
    "empty shape": (Polygon(), r"row 2, unit \"B\": has no shape"),
    "speck": (square(1, 0, 2.0), r'row 2, unit "B": an area of 0\.000988 ac'),
    "same ground under two names": (square(0), r'row 2, unit "B": the same polygon as unit "A"'),
    "line": (LineString([(X, Y), (X + 9, Y)]), "rows 2: LineString shapes; expected polygons"),
    "point": (Point(X, Y), "rows 2: Point shapes; expected polygons"),
}


@pytest.mark.parametrize("kind", REFUSED_SHAPES)
def test_shape_is_refused_with_row_and_unit(kind, tmp_path):
    shape, words = REFUSED_SHAPES[kind]
    result = read(save(with_shape(shape), tmp_path / "u.gpkg", geometry_type="Unknown"))
    assert re.search(words, faults(result)), faults(result)
    assert faults(result).startswith("u.gpkg, row")


def test_all_faults_of_a_file_come_together(tmp_path):
    frame = with_shape(HOURGLASS)
    frame["UNIT"] = ["A", "B", None]
    frame.loc[0, "geometry"] = Polygon(square(0).exterior, [square(2, 2).exterior])
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert len(result.faults) == 3
    assert all(f"row {number}" in faults(result) for number in (1, 2, 3))


def test_rows_of_several_points_are_refused_where_one_is_meant(tmp_path):
    frame = gpd.GeoDataFrame(geometry=[MultiPoint([(X, Y)]), Point(X, Y + 9)], crs=UTM)
    result = read(save(frame, tmp_path / "g.gpkg"), role="gates", into="gates")
    assert faults(result) == ""
    assert set(result.frame.geom_type) == {"Point"}
    frame.loc[0, "geometry"] = MultiPoint([(X, Y), (X + 9, Y)])
    result = read(save(frame, tmp_path / "h.gpkg"), role="gates", into="gates")
    assert "h.gpkg, rows 1: MultiPoint shapes; expected points; " in faults(result)
    assert "a row of its own" in faults(result)


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
