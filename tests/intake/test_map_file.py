"""Every kind of map file that is named as readable, through the whole command, and empty ones.

Outside figures: OGC 17-083r2 annex D (CRS84 is WGS 84, longitude first) and OGC 09-048r5 (how a
name of a reference system is written as URN and URL), from memory; GPX 1.1 by its published
schema, topografix.com/GPX/1/1; Esri JSON by Esri's "Feature object" reference, from memory.
"""

import json
import re
import zipfile

import geopandas as gpd
import pandas as pd
import pyogrio
import pytest
import shapely

from pipeline.cli import main
from pipeline.runner import read_property

PROPERTY = """
[property]
name = "Two"
season = 2027

[sources.units]
path = "{path}"
columns = {{ unit_id = "UNIT" }}
"""
GPX = '<?xml version="1.0" encoding="UTF-8"?>\n<gpx version="1.1" creator="receiver" xmlns='
GPX += '"http://www.topografix.com/GPX/1/1">{}</gpx>'
WAYPOINTS = """<wpt lat="40.001" lon="-96.699"><ele>400</ele><time>2025-06-01T10:00:00Z</time>
<name>North</name></wpt><wpt lat="40.002" lon="-96.698"><name>South</name></wpt>"""
TRACK = """<trk><name>lane</name><trkseg>
<trkpt lat="40.0" lon="-96.7"><ele>400</ele><time>2025-06-01T10:00:00Z</time></trkpt>
<trkpt lat="40.004" lon="-96.7"><time>2025-06-01T10:01:00Z</time></trkpt></trkseg></trk>"""
ROUTE = """<rte><name>creek</name><rtept lat="40.0" lon="-96.7"/>
<rtept lat="40.0" lon="-96.692"/></rte>"""
GATES = '[sources.gates]\npath = "a.gpx"\n'
BREAKS = '[[sources.breaks]]\npath = "a.gpx"\nkind = "lane"\n'
SMOKE = '[sources.smoke_points]\npath = "a.gpx"\ncolumns = { kind = "name" }\n'


def squares(count=2):
    """Squares of 0.004 degrees side by side near 40° N, 96.7° W."""
    shapes = [shapely.box(-96.7 + 0.004 * n, 40.0, -96.696 + 0.004 * n, 40.004) for n in (0, 1)]
    return gpd.GeoDataFrame({"UNIT": ["A", "B"][:count]}, geometry=shapes[:count], crs=4326)


def geojson(**members):
    return json.dumps(json.loads(squares().to_json()) | members)


def named(name):
    return geojson(crs={"type": "name", "properties": {"name": name}})


def esri(reference=None, **members):
    """Esri JSON of the squares, rings clockwise."""
    features = [
        {
            "attributes": {"OBJECTID": n, "UNIT": unit},
            "geometry": {"rings": [[list(p) for p in shape.exterior.coords]]},
        }
        for n, (unit, shape) in enumerate(squares().itertuples(index=False), 1)
    ]
    told = {
        "geometryType": "esriGeometryPolygon",
        "spatialReference": {"wkid": 4326} if reference is None else reference,
        "fields": [
            {"name": "OBJECTID", "type": "esriFieldTypeOID"},
            {"name": "UNIT", "type": "esriFieldTypeString", "length": 20},
        ],
        "features": features,
    }
    return json.dumps(told | members)


@pytest.fixture
def made(tmp_path):
    """Function that makes a property of one units file and further text; its property file."""

    def make(path="units.geojson", content=None, more="", gpx=None):
        (tmp_path / path).write_text(geojson() if content is None else content)
        if gpx is not None:
            (tmp_path / "a.gpx").write_text(GPX.format(gpx))
        told = tmp_path / "two.toml"
        told.write_text(PROPERTY.format(path=path) + more)
        return told

    return make


def refusal(told, capsys, command="check"):
    """The lines of a refusal; anything else than exit code 2 fails."""
    code = main([command, str(told), "--quiet"])
    said = capsys.readouterr().err
    assert code == 2, said
    lines = said.splitlines()
    assert all("; expected " in line for line in lines), said
    return lines


def west_south(told):
    """Lower left corner of all units [deg], as the program placed it."""
    _, intake = read_property(told)
    return intake.frames["drawn_units"].to_crs(4326).total_bounds[:2]


SPELLINGS = (
    "EPSG:4326",
    "epsg:4326",
    "urn:ogc:def:crs:EPSG::4326",
    "urn:x-ogc:def:crs:EPSG:4326",
    "urn:ogc:def:crs:EPSG:9.1:4326",
    "http://www.opengis.net/def/crs/EPSG/0/4326",
    "http://www.opengis.net/gml/srs/epsg.xml#4326",
    "OGC:CRS84",
    "urn:ogc:def:crs:OGC:1.3:CRS84",
    "urn:ogc:def:crs:OGC::CRS84",
    "http://www.opengis.net/def/crs/OGC/1.3/CRS84",
    "https://www.opengis.net/def/crs/OGC/1.3/CRS84",
    "EPSG:4269",
    "OGC:CRS83",
    "OGC:CRS84h",
    "EPSG:4979",
    "urn:ogc:def:crs:EPSG::4269",
)


@pytest.mark.parametrize("name", SPELLINGS)
def test_longitude_and_latitude_are_known_by_every_spelling(name, made):
    told = made(content=named(name))
    assert main(["check", str(told), "--quiet"]) == 0
    assert west_south(told) == pytest.approx([-96.7, 40.0], abs=1e-6)


@pytest.mark.parametrize("name", ["EPSG:3857", "ESRI:102100", "urn:ogc:def:crs:EPSG::3857"])
def test_plane_named_in_geojson_is_used(name, made):
    plane = squares().to_crs(3857)
    content = json.loads(plane.to_json(drop_id=True))
    content["crs"] = {"type": "name", "properties": {"name": name}}
    told = made(content=json.dumps(content))
    assert main(["check", str(told), "--quiet"]) == 0
    assert west_south(told) == pytest.approx([-96.7, 40.0], abs=1e-6)


@pytest.mark.parametrize("name", ["EPSG:99999", "OGC:4", "foo", "", "EPSG:"])
def test_unknown_reference_system_is_refused_by_its_name(name, made, capsys):
    (line,) = refusal(made(content=named(name)), capsys)
    assert line.startswith("error: units.geojson: ")
    assert name in line


REFERENCES = {
    "wkid": {"wkid": 4326},
    "both": {"wkid": 104199, "latestWkid": 4326},
    "as text": {"wkid": "4326"},
    "of its own": {"wkid": 4269},
    "wkt": {
        "wkt": 'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,'
        '298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]'
    },
}


@pytest.mark.parametrize("kind", REFERENCES)
def test_esri_json_is_read(kind, made):
    told = made("units.json", esri(REFERENCES[kind]))
    assert main(["check", str(told), "--quiet"]) == 0
    _, intake = read_property(told)
    assert list(intake.frames["drawn_units"]["unit_id"]) == ["A", "B"]
    sources = intake.frames["sources"].set_index("source")
    assert sources.loc["units", "driver"] == "ESRIJSON"
    assert west_south(told) == pytest.approx([-96.7, 40.0], abs=1e-6)


def test_esri_json_in_a_plane_is_read(made):
    features = json.loads(esri())["features"]
    for feature, shape in zip(features, squares().to_crs(3857).geometry, strict=True):
        feature["geometry"]["rings"] = [[list(p) for p in shape.exterior.coords]]
    told = made("units.json", esri({"wkid": 102100, "latestWkid": 3857}, features=features))
    assert main(["check", str(told), "--quiet"]) == 0
    assert west_south(told) == pytest.approx([-96.7, 40.0], abs=1e-6)


def test_days_of_esri_json_are_days(made, tmp_path):
    """Esri JSON counts milliseconds from 1970-01-01 in UTC: 1,744,243,200,000 is 2025-04-10."""
    rows = json.loads(esri())["features"][:1]
    rows[0]["attributes"] = {"unit_id": "A", "date": 1744243200000}
    fields = [
        {"name": "unit_id", "type": "esriFieldTypeString"},
        {"name": "date", "type": "esriFieldTypeDate"},
    ]
    (tmp_path / "burned.json").write_text(esri(features=rows, fields=fields))
    told = made(more='[sources.burned_areas]\npath = "burned.json"\n')
    _, intake = read_property(told)
    assert list(intake.frames["burned_areas"]["date"]) == [pd.Timestamp("2025-04-10")]


@pytest.mark.parametrize(
    "reference", [{}, [1], {"wkid": "abc"}, {"wkid": 99999}, {"wkt": "nothing"}, {"wkid": None}]
)
def test_esri_json_without_a_usable_reference_is_refused(reference, made, capsys):
    (line,) = refusal(made("units.json", esri(reference)), capsys)
    assert "spatialReference" in line


def test_map_that_a_server_cut_off_is_told(made, capsys):
    for path, content in (
        ("units.json", esri(exceededTransferLimit=True)),
        ("units.geojson", geojson(exceededTransferLimit=True)),
        ("units.geojson", geojson(properties={"exceededTransferLimit": True})),
    ):
        assert main(["check", str(made(path, content)), "--all-findings"]) == 0
        assert "exceededTransferLimit" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "gpx", "layer", "rows"),
    [
        (GATES, WAYPOINTS, "gates", 2),
        (GATES + 'layer = "waypoints"\n', WAYPOINTS + TRACK, "gates", 2),
        (GATES + 'columns = { name = "time" }\n', WAYPOINTS, "gates", 2),
        (GATES + 'columns = { name = "time" }\n', WAYPOINTS.replace("2025-", "last "), "gates", 2),
        (BREAKS, TRACK, "breaks", 1),
        (BREAKS, ROUTE, "breaks", 1),
        (BREAKS, TRACK + "<trk><trkseg/></trk>", "breaks", 1),
        (BREAKS + 'layer = "routes"\n', TRACK + ROUTE, "breaks", 1),
        (SMOKE, WAYPOINTS, "smoke_points", 2),
        (SMOKE, TRACK, "smoke_points", 1),
        (SMOKE + 'layer = "tracks"\n', WAYPOINTS + TRACK, "smoke_points", 1),
    ],
)
def test_what_a_receiver_recorded_is_read(more, gpx, layer, rows, made):
    told = made(more=more, gpx=gpx)
    assert main(["check", str(told), "--quiet"]) == 0
    _, intake = read_property(told)
    assert len(intake.frames[layer]) == rows


def test_run_with_tracks_uses_them(made, tmp_path):
    more = '[[burns]]\nblock = "1"\nunits = ["A", "B"]\nfuel_height_ft = 4.0\n'
    told = made(more=BREAKS + more, gpx=TRACK)
    assert main(["run", str(told), "--quiet"]) == 0
    made_file = tmp_path / "out" / "two_2027" / "two.gpkg"
    lines = pyogrio.read_dataframe(made_file, layer="firebreaks")
    # The track runs along the west side of unit A: 0.004 degrees of latitude at 40° N are
    # 444.1 m (111,034.6 m a degree, WGS 84), 1,457 ft.
    found = lines.loc[lines["status"] == "existing", "length_ft"].sum()
    assert found == pytest.approx(1457, rel=0.01)


@pytest.mark.parametrize("more", [GATES, BREAKS, SMOKE])
def test_several_layers_of_a_receiver_must_be_chosen_from(more, made, capsys):
    (line,) = refusal(made(more=more, gpx=WAYPOINTS + TRACK), capsys)
    assert "2 layers (waypoints, tracks)" in line
    assert 'layer = "' in line


@pytest.mark.parametrize(
    ("more", "gpx", "expected"),
    [
        (GATES, TRACK, "a.gpx.*MultiLineString shapes; expected points"),
        (BREAKS, WAYPOINTS, "a.gpx.*Point shapes; expected lines or polygons"),
        ('[sources.exclusions]\npath = "a.gpx"\n', TRACK, "a.gpx.*expected polygons"),
        (GATES, '<wpt lat="nan" lon="-96.7"/>', "a.gpx.*row 1"),
    ],
)
def test_layer_of_the_wrong_kind_is_refused(more, gpx, expected, made, capsys):
    lines = refusal(made(more=more, gpx=gpx), capsys)
    assert any(re.search(expected, line) for line in lines), lines


def test_units_of_tracks_are_refused(made, capsys):
    told = made("units.gpx", GPX.format(TRACK))
    told.write_text(told.read_text().replace('"UNIT"', '"name"'))
    (line,) = refusal(told, capsys)
    assert "MultiLineString shapes; expected polygons" in line


def write(path, count):
    driver = "KML" if path.suffix == ".kml" else None
    frame = squares(count)
    pyogrio.write_dataframe(frame, path, geometry_type="Polygon", driver=driver)
    return path


def zipped(path, count):
    inner = write(path.with_suffix(".gpkg"), count)
    with zipfile.ZipFile(path, "w") as archive:
        archive.write(inner, inner.name)
    inner.unlink()
    return path


WRITERS = dict.fromkeys(("u.gpkg", "u.fgb", "u.shp", "u.kml", "u.geojson"), write)
WRITERS["u.zip"] = zipped


@pytest.mark.parametrize("name", WRITERS)
def test_every_format_is_read_whole(name, made, tmp_path):
    WRITERS[name](tmp_path / name, 2)
    told = made(path="other.geojson")
    column = "Name" if name == "u.kml" else "UNIT"
    told.write_text(PROPERTY.replace("UNIT", column).format(path=name))
    if name == "u.kml":  # its writer takes the name from a column called Name
        frame = squares().rename(columns={"UNIT": "Name"})
        pyogrio.write_dataframe(frame, tmp_path / name, driver="KML")
    assert main(["check", str(told), "--quiet"]) == 0


EMPTY_TEXTS = {
    "u.geojson": '{"type": "FeatureCollection", "features": []}',
    "u.json": esri(features=[]),
    "u.gpx": GPX.format(""),
    "u.kml": '<kml xmlns="http://www.opengis.net/kml/2.2"><Document/></kml>',
    "v.kml": '<kml xmlns="http://www.opengis.net/kml/2.2"><Folder><name>a</name></Folder></kml>',
}
NO_ROWS = "no rows; expected a polygon for each unit; "


@pytest.mark.parametrize("command", ["check", "run"])
@pytest.mark.parametrize("name", [*WRITERS, *(f"text {name}" for name in EMPTY_TEXTS)])
def test_units_without_rows_are_refused_in_one_line(command, name, made, tmp_path, capsys):
    path = name.removeprefix("text ")
    told = made(path, EMPTY_TEXTS.get(path, ""))
    if path == name:
        (tmp_path / path).unlink()
        WRITERS[path](tmp_path / path, 0)
    (line,) = refusal(told, capsys, command)
    assert line.startswith(f"error: {path}")
    assert NO_ROWS in line or ("kml" in path and "no layer with shapes; expected" in line)
    assert not (tmp_path / "out").exists()


def test_all_layers_empty_is_told_as_empty(made, tmp_path, capsys):
    told = made("u.gpkg", "")
    (tmp_path / "u.gpkg").unlink()
    for layer in ("x", "y"):
        pyogrio.write_dataframe(
            squares(0), tmp_path / "u.gpkg", layer=layer, geometry_type="Polygon"
        )
    (line,) = refusal(told, capsys)
    assert NO_ROWS in line


def test_database_of_tables_alone_has_no_map(made, tmp_path, capsys):
    told = made("u.gpkg", "")
    (tmp_path / "u.gpkg").unlink()
    pyogrio.write_dataframe(pd.DataFrame({"UNIT": ["A"]}), tmp_path / "u.gpkg", layer="t")
    (line,) = refusal(told, capsys)
    assert "no layer with shapes" in line


@pytest.mark.parametrize(
    "more",
    [
        GATES,
        BREAKS,
        SMOKE,
        '[sources.exclusions]\npath = "a.gpx"\n',
        '[sources.burned_areas]\npath = "a.gpx"\n',
    ],
)
def test_other_sources_may_be_empty_and_are_told(more, made, capsys):
    told = made(more=more, gpx="")
    assert main(["check", str(told), "--all-findings"]) == 0
    assert "a.gpx: no rows" in capsys.readouterr().err


def test_start_looks_at_empty_and_recorded_files(made, tmp_path, capsys):
    write(tmp_path / "empty.fgb", 0)
    (tmp_path / "esri.json").write_text(esri())
    made(gpx=WAYPOINTS + TRACK)
    assert main(["start", str(tmp_path)]) == 0
    assert "a.gpx" in capsys.readouterr().out
