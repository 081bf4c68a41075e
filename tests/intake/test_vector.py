"""Hostile map files, one kind a test: mended and told of, refused with row and place, or read.

Areas of the made shapes are known from their corners; the ellipsoid moves them by less than the
grid scale of a UTM zone (0.08 %).
"""

import json
import re
import shutil
import sqlite3
import struct
import zipfile

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyproj import CRS
from shapely import LineString, MultiPolygon, Point, Polygon, box

from pipeline.catalog import LAYERS
from pipeline.ground.geometry import area_ac
from pipeline.intake.settings import BreakSource, VectorSource
from pipeline.intake.vector import read_vector

UTM = "EPSG:26914"
X, Y, SIDE = 700_000.0, 4_430_000.0, 402.336  # a square of forty acres near 40° N, 96.7° W


def square(column=0, row=0, side=SIDE):
    return box(X + column * SIDE, Y + row * SIDE, X + column * SIDE + side, Y + row * SIDE + side)


def forties(**columns):
    data = {"UNIT": ["A", "B", "C"]} | columns
    return gpd.GeoDataFrame(data, geometry=[square(0), square(1), square(2)], crs=UTM)


def with_shape(shape, position=1):
    frame = forties()
    frame.loc[frame.index[position], "geometry"] = shape
    return frame


def save(frame, path, **options):
    options |= {"driver": "KML"} if path.suffix == ".kml" else {}
    pyogrio.write_dataframe(frame, path, **options)
    return path


def read(path, *, role="units", into="drawn_units", kind=VectorSource, **told):
    told.setdefault("columns", {"unit_id": "UNIT"} if role == "units" else {})
    source = kind(path=path.name, **told)
    return read_vector(role, source, LAYERS[into], path.parent)


def faults(result):
    return "\n".join(map(str, result.faults))


def said(result):
    return "\n".join(f"{f['severity']}: {f['message']}" for f in result.findings)


def write_shapefile(path, polygons, ids=None, *, encoding="ascii", cpg=None, prj=True):
    """A polygon shapefile byte by byte, rings exactly as given, so that they can be wrong."""
    records, offset, index = b"", 50, b""
    for number, rings in enumerate(polygons, 1):
        points = [point for ring in rings for point in ring]
        starts = np.cumsum([0, *(len(ring) for ring in rings)])[:-1]
        xs, ys = zip(*points, strict=True)
        body = struct.pack("<i4d2i", 5, min(xs), min(ys), max(xs), max(ys), len(rings), len(points))
        body += struct.pack(f"<{len(rings)}i", *starts)
        body += b"".join(struct.pack("<2d", *point) for point in points)
        records += struct.pack(">2i", number, len(body) // 2) + body
        index += struct.pack(">2i", offset, len(body) // 2)
        offset += 4 + len(body) // 2
    for suffix, content in ((".shp", records), (".shx", index)):
        header = struct.pack(">7i", 9994, 0, 0, 0, 0, 0, 50 + len(content) // 2)
        header += struct.pack("<2i8d", 1000, 5, X, Y, X + 2000, Y + 2000, 0, 0, 0, 0)
        path.with_suffix(suffix).write_bytes(header + content)
    ids = ids or [chr(ord("A") + n) for n in range(len(polygons))]
    table = struct.pack("<4B1I2H20x", 3, 126, 1, 1, len(ids), 65, 21)
    table += b"UNIT".ljust(11, b"\0") + b"C" + bytes(4) + bytes([20, 0]) + bytes(14) + b"\r"
    table += b"".join(b" " + i.encode(encoding).ljust(20) for i in ids)
    path.with_suffix(".dbf").write_bytes(table + b"\x1a")
    if prj:
        path.with_suffix(".prj").write_text(CRS(UTM).to_wkt("WKT1_ESRI"))
    if cpg:
        path.with_suffix(".cpg").write_text(cpg)
    return path


def ring(shape, *, clockwise=True):
    points = list(shape.exterior.coords)
    return points if shapely.is_ccw(shape.exterior) != clockwise else points[::-1]


def geojson(path, geometries, ids=None, **members):
    ids = ids if ids is not None else ["A", "B", "C", "D", "E"][: len(geometries)]
    features = [
        {"type": "Feature", "properties": {"UNIT": i}, "geometry": g}
        for i, g in zip(ids, geometries, strict=True)
    ]
    told = {"type": "FeatureCollection", "features": features} | members
    path.write_text(json.dumps(told), encoding="utf-8")
    return path


def degrees(west=-96.7, south=40.0, size=0.004):
    corners = [[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]
    return {
        "type": "Polygon",
        "coordinates": [[[west + size * x, south + size * y] for x, y in corners]],
    }


# Read as they are.


def test_plain_layer_is_read_whole(tmp_path):
    result = read(save(forties(), tmp_path / "u.shp"))
    assert not result.faults
    assert not result.findings
    assert list(result.frame["unit_id"]) == ["A", "B", "C"]
    assert result.source_row["rows_read"] == result.source_row["rows_used"] == 3
    assert result.source_row["crs"] == "EPSG:26914"
    assert len(result.source_row["sha256"]) == 64
    np.testing.assert_allclose(area_ac(result.frame.geometry), 40, rtol=1e-3)


@pytest.mark.parametrize("suffix", [".shp", ".gpkg", ".geojson", ".fgb", ".kml"])
def test_formats_give_the_same_acres(suffix, tmp_path):
    crs = 4326 if suffix in (".geojson", ".kml") else UTM
    frame = forties().rename(columns={"UNIT": "Name"}).to_crs(crs)
    result = read(save(frame, tmp_path / f"u{suffix}"), columns={"unit_id": "Name"})
    assert faults(result) == ""
    assert sorted(result.frame["unit_id"]) == ["A", "B", "C"], "FlatGeobuf sorts by place"
    np.testing.assert_allclose(area_ac(result.frame.geometry), 40, rtol=1e-3)


@pytest.mark.parametrize(
    "crs", ["EPSG:4326", "EPSG:3857", "EPSG:5070", "EPSG:26915", "EPSG:32104", "ESRI:102704"]
)
def test_every_reference_system_gives_the_same_acres(crs, tmp_path):
    expected = area_ac(forties().geometry)
    result = read(save(forties().to_crs(crs), tmp_path / "u.gpkg"))
    assert faults(result) == ""
    np.testing.assert_allclose(area_ac(result.frame.geometry), expected, rtol=2e-5)


def test_feet_are_not_taken_for_meters(tmp_path):
    # ESRI:102704 is EPSG:32104 (NAD83 / Nebraska) counted in US survey feet.
    frame = forties().to_crs("ESRI:102704")
    assert frame.crs.axis_info[0].unit_name == "US survey foot"
    result = read(save(frame, tmp_path / "u.shp"))
    assert faults(result) == ""
    np.testing.assert_allclose(
        area_ac(result.frame.geometry), area_ac(forties().geometry), rtol=2e-5
    )


def test_third_dimension_is_dropped_without_a_word(tmp_path):
    frame = forties()
    frame.geometry = shapely.force_3d(frame.geometry.to_numpy(), 312.0)
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert not result.faults
    assert not result.findings
    assert not result.frame.has_z.any()


def test_million_vertices_are_read(tmp_path):
    turn = np.linspace(0, 2 * np.pi, 1_000_000, endpoint=False)
    disk = Polygon(np.column_stack([X + 500 * np.cos(turn), Y + 500 * np.sin(turn)]))
    frame = gpd.GeoDataFrame({"UNIT": ["A"]}, geometry=[disk], crs=UTM)
    result = read(save(frame, tmp_path / "u.shp"))
    assert not result.faults
    assert area_ac(result.frame.geometry)[0] == pytest.approx(np.pi * 500**2 / 4046.86, rel=1e-3)


# Polygons mended, with what that changed.

NICK = Polygon(
    [(X + SIDE, Y), (X + 2 * SIDE, Y), (X + 2 * SIDE, Y + SIDE), (X + SIDE, Y + SIDE),
     (X + SIDE, Y + 10), (X + SIDE + 4, Y - 2), (X + SIDE - 2, Y + 4)]
)  # fmt: skip
MENDED = {
    "outline that crosses itself at a corner": (NICK, "crosses itself|touches itself", 40.0),
    "outline traced twice": (
        Polygon([*square(1).exterior.coords[:-1], *square(1).exterior.coords]),
        r"crosses itself.*79\.98 -> 39\.99 ac", 40.0),
    "parts that overlap": (
        MultiPolygon([square(1), box(X + SIDE, Y + SIDE / 2, X + 2 * SIDE, Y + 1.5 * SIDE)]),
        r"79\.98 -> 59\.99 ac", 60.0),
    "part inside another": (
        MultiPolygon([square(1), box(X + 500, Y + 100, X + 600, Y + 200)]),
        "one part lies inside another", 40.0),
    "spike": (
        Polygon([(X + SIDE, Y), (X + 2 * SIDE, Y), (X + 2 * SIDE, Y + SIDE),
                 (X + 3 * SIDE, Y + SIDE), (X + 2 * SIDE, Y + SIDE), (X + SIDE, Y + SIDE)]),
        "touches itself", 40.0),
    "outline that touches itself": (
        Polygon([(X, Y), (X + 600, Y), (X + 600, Y + 600), (X + 300, Y), (X, Y + 600)]),
        "touches itself", 300 * 600 / 4046.86),
}  # fmt: skip


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


def test_unclosed_ring_fails_no_file(tmp_path):
    open_ring = degrees(-96.69)
    open_ring["coordinates"][0].pop()
    path = geojson(tmp_path / "u.geojson", [degrees(), open_ring, degrees(-96.68)])
    result = read(path)
    assert faults(result) == ""
    assert 'row 2, unit "B": a ring was not closed' in said(result)
    acres = area_ac(result.frame.geometry)
    assert acres[1] == pytest.approx(acres[0], rel=1e-6)


def test_ring_direction_changes_nothing_and_is_not_worth_a_word(tmp_path):
    frame = forties()
    frame.geometry = shapely.reverse(frame.geometry.to_numpy())
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert not result.findings
    np.testing.assert_allclose(area_ac(result.frame.geometry), 40, rtol=1e-3)


HOLE = box(X + 500, Y + 100, X + 600, Y + 200)  # 2.47 acres inside square(1)


@pytest.mark.parametrize(
    ("shell_clockwise", "hole_clockwise"), [(True, True), (False, True), (False, False)]
)
def test_holes_are_told_by_place_not_by_winding(shell_clockwise, hole_clockwise, tmp_path):
    outline = [ring(square(1), clockwise=shell_clockwise), ring(HOLE, clockwise=hole_clockwise)]
    result = read(write_shapefile(tmp_path / "u.shp", [[ring(square(0))], outline]))
    assert faults(result) == ""
    acres = area_ac(result.frame.geometry)
    assert acres[1] == pytest.approx(40 - 10_000 / 4046.86, rel=1e-3)
    if (shell_clockwise, hole_clockwise) != (True, False):
        assert 'row 2, unit "B": rings are wound against the rule' in said(result)


def test_row_that_stands_twice_is_used_once(tmp_path):
    frame = forties(UNIT=["A", "B", "B"])
    frame.loc[2, "geometry"] = square(1)
    result = read(save(frame, tmp_path / "u.gpkg"))
    assert faults(result) == ""
    assert 'row 3, unit "B": repeats row 2; used once' in said(result)
    assert (result.source_row["rows_read"], result.source_row["rows_used"]) == (3, 2)


# Refused, with file, row and what to do.

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
        HOURGLASS, r'row 2, unit "B": outline crosses itself at 39.*its area would be 0\.00 ac'),
    "hole outside its outline": (
        Polygon(square(1).exterior, [square(2, 1).exterior]),
        r'row 2, unit "B": a hole lies outside its outline'),
    "hole larger than its outline": (
        Polygon(square(1).exterior, [square(1).buffer(50).exterior]),
        "a hole lies outside its outline"),
    "coordinate that is no number": (
        corner_at(X, np.nan), r'row 2, unit "B": a coordinate that is no number'),
    "infinite coordinate": (
corner_at(np.inf, Y), "no number"),
    "coordinate beyond all measure": (
corner_at(X, -1.8e307), "no number"),
    "no shape": (None, r"row 2, unit \"B\": has no shape"),
    "empty shape": (Polygon(), r"row 2, unit \"B\": has no shape"),
    "speck": (square(1, 0, 2.0), r'row 2, unit "B": an area of 0\.000988 ac'),
    "same ground under two names": (square(0), r'row 2, unit "B": the same polygon as unit "A"'),
    "line": (LineString([(X, Y), (X + 9, Y)]), "rows 2: LineString shapes; expected polygons"),
    "point": (Point(X, Y), "rows 2: Point shapes; expected polygons"),
}  # fmt: skip


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


IDS = {
    "same text": (["A", "A", "C"], r'rows 1, 2: unit "A" stands 2 times'),
    "blank around": (["A", " A ", "C"], r'rows 1, 2: unit "A" stands 2 times'),
    "no-break space": (["A 1", "A\u00a01", "C"], r'rows 1, 2: unit "A 1" stands 2 times'),
    "null": (["A", None, "C"], r"row 2: UNIT: the cell is empty"),
    "blank": (["A", "  ", "C"], r"row 2: UNIT: the cell is empty"),
    "not available": (["A", "n/a", "C"], r'row 2: UNIT: "n/a" stands for an empty cell'),
    "right-to-left mark": (["A", "B\u202e", "C"], "U\\+202E"),
    "line break": (["A", "B\nC", "C"], "U\\+000A"),
}


@pytest.mark.parametrize("kind", IDS)
def test_unit_ids_that_cannot_be_told_apart_are_refused(kind, tmp_path):
    ids, words = IDS[kind]
    result = read(save(forties(UNIT=ids), tmp_path / "u.gpkg"))
    assert re.search(words, faults(result)), faults(result)


def test_ids_of_geojson_keep_their_text(tmp_path):
    squares = [degrees(-96.70 + 0.005 * n) for n in range(5)]
    path = geojson(tmp_path / "u.geojson", squares, ids=["007", 7, "1E05", "7b", 70.5])
    assert list(read(path).frame["unit_id"]) == ["007", "7", "1E05", "7b", "70.5"]


def test_ids_of_geojson_that_become_the_same_are_refused(tmp_path):
    squares = [degrees(-96.70 + 0.005 * n) for n in range(5)]
    result = read(geojson(tmp_path / "u.geojson", squares, ids=["1", 1, None, "1 ", 1.0]))
    assert "row 3: UNIT: the cell is empty" in faults(result)
    assert 'rows 1, 2, 4, 5: unit "1" stands 4 times' in faults(result)


def test_number_ids_have_no_decimals(tmp_path):
    result = read(save(forties(UNIT=[1.0, 2.0, 1e5]), tmp_path / "u.gpkg"))
    assert list(result.frame["unit_id"]) == ["1", "2", "100000"]


# Reference systems.


def test_missing_reference_system_is_refused_and_can_be_told(tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]], prj=False)
    assert "no coordinate reference system; expected one" in faults(read(path))
    assert 'crs = "EPSG:…"' in faults(read(path))
    assert read(path, crs=UTM).frame.crs == UTM


def test_told_system_that_contradicts_the_file_is_refused(tmp_path):
    path = save(forties(), tmp_path / "u.shp")
    assert not read(path, crs=UTM).faults
    assert "the file says EPSG:26914, the property file EPSG:26915" in faults(
        read(path, crs="EPSG:26915")
    )


@pytest.mark.parametrize(
    "crs", ["EPSG:99999", "utm 14", "+proj=utm +zone=14 +nadgrids=/vsicurl/x", "https://x/crs", "."]
)
def test_told_system_must_be_a_code(crs, tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]], prj=False)
    assert "is not known" in faults(read(path, crs=crs))


def test_junk_prj_is_named(tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]])
    path.with_suffix(".prj").write_text('PROJCS["NAD_1983_UTM_Zone_14N",GEOGCS["GCS')
    assert re.search(r"u\.prj: not a coordinate reference system", faults(read(path)))


PLACES = {
    "degrees under a system in meters": (
        lambda g: g.to_crs(4326).set_crs(UTM, allow_override=True), "look like degrees"),
    "meters under a system in degrees": (
        lambda g: g.set_crs(4326, allow_override=True), "within ±180 and ±90"),
    "axes swapped": (
        lambda g: g.to_crs(4326).set_geometry(
            shapely.transform(g.to_crs(4326).geometry.to_numpy(), lambda p: p[:, ::-1]), crs=4326),
        "the axes are swapped"),
    "axes swapped in the east": (
        lambda g: g.set_geometry([box(40 + n / 100, -89, 40.005 + n / 100, -88.995)
                                  for n in range(3)], crs=4326), "the axes are swapped"),
    "system of another part of the earth": (
        lambda g: g.set_crs("EPSG:27700", allow_override=True), "OSGB36.*puts row 1 "),
    "both sides of the date line": (
        lambda g: g.set_geometry([box(-179.9, 51, -179.8, 51.1), box(179.8, 51, 179.9, 51.1),
                                  box(179.7, 51, 179.75, 51.1)], crs=4326), "date line"),
    "round the earth the long way": (
        lambda g: g.set_geometry([box(-179.9, 51, 179.9, 51.1)] * 3, crs=4326), "date line"),
}  # fmt: skip


@pytest.mark.parametrize("kind", PLACES)
def test_shapes_that_cannot_lie_there_are_refused(kind, tmp_path):
    change, words = PLACES[kind]
    result = read(save(change(forties()), tmp_path / "u.gpkg"))
    assert re.search(words, faults(result)), faults(result)


def test_geojson_in_meters_is_refused(tmp_path):
    meters = json.loads(shapely.to_geojson(square(0)))
    assert "within ±180 and ±90" in faults(read(geojson(tmp_path / "u.geojson", [meters])))


@pytest.mark.parametrize(
    "crs",
    [
        {"type": "name", "properties": {"name": "the usual one"}},
        {"type": "link", "properties": {"href": "http://example.org/crs"}},
        None,
    ],
)
def test_geojson_with_a_system_nobody_can_look_up_is_refused(crs, tmp_path):
    result = read(geojson(tmp_path / "u.geojson", [degrees()], crs=crs))
    assert 'its "crs" is' in faults(result)


def test_old_geojson_that_names_its_system_is_read_with_a_note(tmp_path):
    meters = json.loads(shapely.to_geojson(square(0)))
    named = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26914"}}
    result = read(geojson(tmp_path / "u.geojson", [meters], crs=named))
    assert faults(result) == ""
    assert "old-style GeoJSON that names EPSG:26914" in said(result)
    assert area_ac(result.frame.geometry)[0] == pytest.approx(40, rel=1e-3)


# Shapefiles with parts damaged.


@pytest.fixture
def shapefile(tmp_path):
    return write_shapefile(tmp_path / "u.shp", [[ring(square(n))] for n in range(3)])


def cut(path, suffix, size):
    part = path.with_suffix(suffix)
    part.write_bytes(part.read_bytes()[:size])
    return path


DAMAGED = {
    "shp cut off": (lambda p: cut(p, ".shp", 300), r"the \.shp is cut off: 300 bytes of 508"),
    "shp is a header only": (lambda p: cut(p, ".shp", 100), r"cut off: 100 bytes of 508"),
    "shp shorter than a header": (lambda p: cut(p, ".shp", 60), "cut off"),
    "dbf cut off": (lambda p: cut(p, ".dbf", 100), r"the table \(\.dbf\) is cut off"),
    "dbf gone": (lambda p: p.with_suffix(".dbf").unlink(), r"no column \"UNIT\""),
    "shx cut off": (lambda p: cut(p, ".shx", 116), r"2 shapes and 3 rows in the table"),
    "zero bytes": (lambda p: cut(p, ".shp", 0), r"the file is empty \(0 bytes\)"),
}


@pytest.mark.parametrize("kind", DAMAGED)
def test_damaged_shapefile_is_refused(kind, shapefile):
    damage, words = DAMAGED[kind]
    damage(shapefile)
    assert re.search(words, faults(read(shapefile))), faults(read(shapefile))


def test_table_with_fewer_rows_than_shapes_is_refused(shapefile):
    table = bytearray(shapefile.with_suffix(".dbf").read_bytes())
    table[4:8] = struct.pack("<I", 2)
    shapefile.with_suffix(".dbf").write_bytes(table)
    assert "3 shapes and 2 rows in the table" in faults(read(shapefile))


def test_missing_index_is_made_in_a_copy(shapefile):
    shapefile.with_suffix(".shx").unlink()
    before = sorted(shapefile.parent.iterdir())
    result = read(shapefile)
    assert faults(result) == ""
    assert len(result.frame) == 3
    assert "the index (.shx) is missing; made again in a copy" in said(result)
    assert sorted(shapefile.parent.iterdir()) == before


def test_rows_marked_as_deleted_are_left_out_and_told(shapefile):
    table = bytearray(shapefile.with_suffix(".dbf").read_bytes())
    table[65 + 21] = ord("*")
    shapefile.with_suffix(".dbf").write_bytes(table)
    result = read(shapefile)
    assert faults(result) == ""
    assert list(result.frame["unit_id"]) == ["A", "C"]
    assert "rows 2 are marked as deleted; left out" in said(result)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(part=st.sampled_from([".shp", ".shx", ".dbf", ".prj"]), share=st.floats(0, 1))
def test_file_cut_anywhere_loses_no_row_silently(part, share, tmp_path):
    folder = tmp_path / "cut"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    path = write_shapefile(folder / "u.shp", [[ring(square(n))] for n in range(3)])
    size = path.with_suffix(part).stat().st_size
    result = read(cut(path, part, int(share * size)))
    assert result.faults or list(result.frame["unit_id"]) == ["A", "B", "C"]


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(suffix=st.sampled_from([".gpkg", ".geojson", ".fgb", ".kml"]), share=st.floats(0, 0.999))
def test_other_formats_cut_anywhere_lose_no_row_silently(suffix, share, tmp_path):
    whole = tmp_path / f"whole{suffix}"
    if not whole.exists():
        crs = UTM if suffix in (".gpkg", ".fgb") else 4326
        save(forties().rename(columns={"UNIT": "Name"}).to_crs(crs), whole)
    path = tmp_path / f"cut{suffix}"
    path.write_bytes(whole.read_bytes()[: int(share * whole.stat().st_size)])
    result = read(path, columns={"unit_id": "Name"})
    assert result.faults or list(result.frame["unit_id"]) == ["A", "B", "C"]


# Texts.


def test_utf8_without_a_code_page_is_found_out(tmp_path):
    path = write_shapefile(tmp_path / "u.shp", [[ring(square(0))]], ["Prärie"], encoding="utf-8")
    result = read(path)
    assert list(result.frame["unit_id"]) == ["Prärie"]
    assert 'read as UTF-8, for instance "Prärie"' in said(result)


@pytest.mark.parametrize("cpg", [None, "UTF-8"])
def test_windows_letters_are_found_out_whatever_the_code_page_says(cpg, tmp_path):
    path = write_shapefile(
        tmp_path / "u.shp", [[ring(square(0))]], ["Prärie"], encoding="cp1252", cpg=cpg
    )
    result = read(path)
    assert list(result.frame["unit_id"]) == ["Prärie"]
    assert "read as cp1252" in said(result)


def test_told_encoding_goes_before_all(tmp_path):
    path = write_shapefile(
        tmp_path / "u.shp", [[ring(square(0))]], ["Пырей"], encoding="cp1251", cpg="UTF-8"
    )
    assert list(read(path, encoding="cp1251").frame["unit_id"]) == ["Пырей"]


def test_path_and_byte_order_mark_do_no_harm(tmp_path):
    path = geojson(tmp_path / "Prärie ünits.geojson", [degrees()])
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())
    assert list(read(path).frame["unit_id"]) == ["A"]


# Columns.


def test_cut_column_name_is_matched(tmp_path):
    frame = forties().rename(columns={"UNIT": "management"})
    path = save(frame, tmp_path / "u.shp")
    result = read(path, columns={"unit_id": "management_unit"})
    assert list(result.frame["unit_id"]) == ["A", "B", "C"]


def test_unknown_column_gets_the_near_one_and_the_list(tmp_path):
    result = read(save(forties(), tmp_path / "u.shp"), columns={"unit_id": "UNITS", "nmae": "UNIT"})
    assert 'the file has no column "UNITS"' in faults(result)
    assert 'did you mean "UNIT"? the file has UNIT' in faults(result)
    assert 'no column of ours is called "nmae"' in faults(result)
    assert 'did you mean "name"?' in faults(result)


def test_row_number_of_a_geopackage_can_be_the_id(tmp_path):
    result = read(save(forties(), tmp_path / "u.gpkg"), columns={"unit_id": "fid"})
    assert list(result.frame["unit_id"]) == ["1", "2", "3"]


def test_number_column_refuses_words(tmp_path):
    path = save(forties(ACRES=["40", "forty", "40.0"]), tmp_path / "u.gpkg")
    result = read(path, columns={"unit_id": "UNIT", "stated_ac": "ACRES"})
    assert 'row 2: ACRES: "forty" is not a number' in faults(result)


def test_geopackage_drawn_in_arcs_says_what_straightening_costs(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg", SPATIAL_INDEX="NO")
    with sqlite3.connect(path) as database:
        database.execute("UPDATE gpkg_geometry_columns SET geometry_type_name = 'CURVEPOLYGON'")
    database.close()
    result = read(path)
    assert faults(result) == ""
    assert "layer u is drawn in arcs" in said(result)


def test_geopackage_that_is_open_is_read_with_its_latest_edits(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg", SPATIAL_INDEX="NO")
    viewer = sqlite3.connect(path)
    viewer.execute("PRAGMA journal_mode = WAL")
    for (trigger,) in viewer.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
        viewer.execute(f'DROP TRIGGER "{trigger}"')
    viewer.execute("UPDATE u SET UNIT = 'edited' WHERE fid = 2")
    viewer.commit()
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    result = read(path)
    assert faults(result) == ""
    assert list(result.frame["unit_id"]) == ["A", "edited", "C"]
    assert "is open in another program" in said(result)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before
    viewer.close()


# Zips and layers.


def zipped(path, *files, inside=""):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            for part in file.parent.glob(f"{file.stem}.*"):
                archive.write(part, inside + part.name)
    return path


@pytest.mark.parametrize("inside", ["", "deep/down/"])
def test_zip_of_one_map_is_read_wherever_it_lies(inside, tmp_path):
    (tmp_path / "in").mkdir()
    inner = save(forties(), tmp_path / "in" / "u.shp")
    result = read(zipped(tmp_path / "u.zip", inner, inside=inside))
    assert faults(result) == ""
    assert len(result.frame) == 3


def test_zip_of_two_maps_asks_which(tmp_path):
    (tmp_path / "in").mkdir()
    inner = [save(forties(), tmp_path / "in" / f"{name}.shp") for name in ("north", "south")]
    path = zipped(tmp_path / "u.zip", *inner)
    assert "2 map files (north.shp, south.shp)" in faults(read(path))
    assert not read(path, layer="south").faults


def test_zip_in_a_zip_and_zip_of_nothing_are_refused(tmp_path):
    (tmp_path / "in").mkdir()
    inner = zipped(tmp_path / "in" / "u.zip", save(forties(), tmp_path / "in" / "v.shp"))
    with zipfile.ZipFile(tmp_path / "outer.zip", "w") as archive:
        archive.write(inner, "u.zip")
    assert "no map file in the zip" in faults(read(tmp_path / "outer.zip"))


def test_several_layers_are_listed_and_one_can_be_chosen(tmp_path):
    for layer in ("north", "south"):
        save(forties(), tmp_path / "u.gpkg", layer=layer, append=layer == "south")
    path = tmp_path / "u.gpkg"
    assert "2 layers (north, south); expected one layer" in faults(read(path))
    assert not read(path, layer="south").faults
    assert 'no layer "sowth"' in faults(read(path, layer="sowth"))
    assert 'did you mean "south"?' in faults(read(path, layer="sowth"))


KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{folders}</Document></kml>"""
FOLDER = """<Folder><name>{name}</name><Placemark><name>{name} 1</name><Polygon><outerBoundaryIs>
<LinearRing><coordinates>-96.7,40,0 -96.69,40,0 -96.69,40.01,0 -96.7,40.01,0 -96.7,40,0
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></Folder>"""


def test_kml_folders_are_layers(tmp_path):
    path = tmp_path / "u.kml"
    path.write_text(KML.format(folders=FOLDER.format(name="North")))
    assert list(read(path, columns={"unit_id": "Name"}).frame["unit_id"]) == ["North 1"]
    folders = FOLDER.format(name="North") + FOLDER.format(name="South")
    path.write_text(KML.format(folders=folders))
    assert "2 layers (North, South)" in faults(read(path, columns={"unit_id": "Name"}))


# Other roles.


def breaks(path, **told):
    told.setdefault("kind_", None)
    told.pop("kind_")
    source = BreakSource(path=path.name, columns=told.pop("columns", {}), **told)
    return read_vector("breaks", source, LAYERS["breaks"], path.parent, entry=2)


def test_breaks_may_be_lines_and_polygons_but_not_points(tmp_path):
    frame = with_shape(LineString([(X, Y), (X + 99, Y)]))
    result = breaks(save(frame, tmp_path / "b.gpkg"), kind="road", width_ft=16)
    assert faults(result) == ""
    assert set(result.frame["source_id"]) == {2}
    assert list(result.frame["source_row"]) == [1, 2, 3]
    assert set(result.frame["kind"]) == {"road"}
    assert set(result.frame["width_ft"]) == {16.0}
    pointed = breaks(save(with_shape(Point(X, Y)), tmp_path / "p.gpkg"), kind="road")
    assert "Point shapes; expected lines or polygons" in faults(pointed)


def test_break_without_a_shape_is_left_out_and_told(tmp_path):
    result = breaks(save(with_shape(None), tmp_path / "b.gpkg"), kind="road")
    assert faults(result) == ""
    assert "row 2: has no shape; left out" in said(result)
    assert (result.source_row["rows_read"], result.source_row["rows_used"]) == (3, 2)


def test_exclusion_is_left_out_of_both_where_it_does_not_say(tmp_path):
    path = save(forties(FOR=["burn", None, "SEED"]), tmp_path / "e.gpkg")
    result = read(path, role="exclusions", into="exclusions", columns={"applies_to": "FOR"})
    assert faults(result) == ""
    assert list(result.frame["applies_to"]) == ["burn", "both", "seed"]
    wrong = save(forties(FOR=["burn", "brun", "seed"]), tmp_path / "w.gpkg")
    result = read(wrong, role="exclusions", into="exclusions", columns={"applies_to": "FOR"})
    assert 'did you mean "burn"?' in faults(result)


# Files that are something else.


def test_virtual_dataset_under_a_harmless_name_is_refused(tmp_path):
    path = tmp_path / "u.gpkg"
    path.write_text(
        "<OGRVRTDataSource><OGRVRTLayer name='u'><SrcDataSource>/vsicurl/http://127.0.0.1/x.shp"
        "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"
    )
    assert 'XML of the kind "OGRVRTDataSource"' in faults(read(path))


def test_streamed_algorithm_under_a_harmless_name_is_refused(tmp_path):
    path = tmp_path / "u.json"
    path.write_text('{"type": "gdal_streamed_alg", "command_line": "gdal vector pipeline"}')
    assert 'JSON of the type "gdal_streamed_alg"' in faults(read(path))


def test_xml_that_grows_or_points_elsewhere_is_refused(tmp_path):
    path = tmp_path / "u.kml"
    bomb = '<!DOCTYPE kml [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    path.write_text(KML.format(folders="&b;").replace("<kml", f"{bomb}<kml"))
    assert "a document type declaration and entities" in faults(read(path))
    link = "<NetworkLink><Link><href>http://127.0.0.1/x.kml</href></Link></NetworkLink>"
    path.write_text(KML.format(folders=link))
    assert "a network link" in faults(read(path))


def test_database_that_links_elsewhere_is_refused(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg")
    with sqlite3.connect(path) as database:
        database.execute("PRAGMA writable_schema = 1")
        database.execute(
            "INSERT INTO sqlite_master VALUES ('table', 'evil', 'evil', 0, "
            "\"CREATE VIRTUAL TABLE evil USING VirtualOGR('/vsicurl/http://127.0.0.1/x.shp')\")"
        )
    database.close()
    assert 'table "evil" is a link to data elsewhere' in faults(read(path))


@pytest.mark.parametrize("content", [b"hello", b"\x89PNG\r\n", b"%PDF-1.7", b"\0" * 400])
def test_file_of_another_kind_is_refused(content, tmp_path):
    (tmp_path / "u.shp").write_bytes(content)
    assert "not a map format that is read" in faults(read(tmp_path / "u.shp"))
