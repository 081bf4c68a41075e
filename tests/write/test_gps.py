"""GPX and KML against their published schemas, read back by readers that others wrote.

Outside sources: gpx.xsd (GPX 1.1, Topografix 2004), ogckml22.xsd (OGC 07-147r2, 2008), and GDAL,
which reads both files by its own parsers.
"""

import dataclasses
import re

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
from lxml import etree

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.pages.cautions import CAUTION
from pipeline.pages.palette import BREAK_STROKES
from pipeline.pages.words import code_words, figure_words
from pipeline.write.gps import in_degrees, write_gpx, write_kml
from tests.made_conflicts import WORDS, conflict, conflicts_layer, seeding

GPX = "{http://www.topografix.com/GPX/1/1}"
KML = "{http://www.opengis.net/kml/2.2}"
WRITERS = {"gpx": write_gpx, "kml": write_kml}
SCHEMAS = {"gpx": "gpx.xsd", "kml": "ogckml22.xsd"}
HARMFUL = 'A "B" <b>&amp;</b> =1+1 \u202eevil\u0007 שלום'


@pytest.fixture(scope="module")
def named_harmfully(sample_run):
    """The sample with a strip, block and property whose names are markup and control codes."""
    frames = dict(sample_run.frames)
    named = {"mow_passes": "strip_id", "mow_strips": "strip_id", "tie_ins": "block"}
    for name, column in named.items():
        frame = frames[name].copy()
        frame[column] = frame[column].map(lambda text: f"{text} {HARMFUL}")
        frames[name] = frame
    frames["property"] = frames["property"].assign(name=HARMFUL)
    return dataclasses.replace(sample_run, frames=frames)


def written(run, kind, folder):
    path = folder / f"mow_lines.{kind}"
    WRITERS[kind](run, path)
    return path


@pytest.mark.parametrize("kind", ["gpx", "kml"])
@pytest.mark.parametrize("names", ["sample_run", "named_harmfully"])
def test_files_are_valid_by_the_published_schema(kind, names, request, published_schemas, tmp_path):
    schema = etree.XMLSchema(etree.parse(published_schemas / SCHEMAS[kind]))
    schema.assertValid(etree.parse(written(request.getfixturevalue(names), kind, tmp_path)))


def on_top(run, kind, folder):
    """What a file says before its places and lines."""
    tree = etree.parse(written(run, kind, folder))
    return tree.findtext({"gpx": f"{GPX}metadata/{GPX}desc", "kml": f".//{KML}description"}[kind])


@pytest.mark.parametrize("kind", ["gpx", "kml"])
def test_what_to_stop_and_ask_for_stands_on_top_of_the_file(
    kind, sample_run, published_schemas, tmp_path
):
    block, other = sample_run.frames["burn_blocks"]["block"]
    rows = (
        conflict(1, block=block),
        conflict(2, block=other, against=HARMFUL),
        seeding(3, against="seeds"),
        conflict(4, "think_again", block=block),
    )
    frames = sample_run.frames | {"conflicts": conflicts_layer(*rows, crs=sample_run.crs)}
    run = dataclasses.replace(sample_run, frames=frames)
    told = on_top(run, kind, tmp_path)
    assert told.startswith(f"Stop and ask: burn of block {block}: {WORDS['stop_and_ask']}; ")
    assert f"Stop and ask: burn of block {other}: " in told
    assert told.endswith(CAUTION)
    assert told.count("Stop and ask") == 2
    assert WORDS["think_again"] not in told
    schema = etree.XMLSchema(etree.parse(published_schemas / SCHEMAS[kind]))
    schema.assertValid(etree.parse(written(run, kind, tmp_path)))
    without = sample_run.frames | {"conflicts": conflicts_layer(crs=sample_run.crs)}
    assert on_top(dataclasses.replace(sample_run, frames=without), kind, tmp_path) == CAUTION


@pytest.mark.parametrize("kind", ["gpx", "kml"])
def test_the_schema_refuses_a_broken_file(kind, sample_run, published_schemas, tmp_path):
    schema = etree.XMLSchema(etree.parse(published_schemas / SCHEMAS[kind]))
    text = written(sample_run, kind, tmp_path).read_text("utf-8")
    broken = {"gpx": text.replace('lat="40', 'lat="440'), "kml": text.replace("Folder", "Filder")}
    assert not schema.validate(etree.fromstring(broken[kind].encode()))


def test_each_pass_is_a_track_and_each_place_a_waypoint(sample_run, tmp_path):
    path = written(sample_run, "gpx", tmp_path)
    tracks = pyogrio.read_dataframe(path, layer="tracks")
    places = pyogrio.read_dataframe(path, layer="waypoints")
    passes, ties = sample_run.frames["mow_passes"], sample_run.frames["tie_ins"]
    gates = sample_run.frames["gates"]
    assert len(tracks) == len(passes) > 0
    assert min(len(ties), len(gates)) > 0
    assert list(places["type"]) == [*map(code_words, ties["kind"]), *["gate"] * len(gates)]
    assert list(places["cmt"])[-len(gates) :] == list(gates["name"])
    assert set(ties["kind"]) >= {"gap", "tie_in"}
    assert b"<rte" not in path.read_bytes()


def test_positions_come_back_within_a_centimeter(sample_run, tmp_path):
    crs = sample_run.crs
    tracks = pyogrio.read_dataframe(written(sample_run, "gpx", tmp_path), layer="tracks")
    lines = pyogrio.read_dataframe(written(sample_run, "kml", tmp_path), layer="Mow passes")
    passes = sample_run.frames["mow_passes"].geometry
    single = tracks.geometry.map(lambda shape: shape.geoms[0])
    for back in (single, lines.set_geometry(shapely.force_2d(lines.geometry)).geometry):
        back_m = gpd.GeoSeries(back, crs=4326).to_crs(crs)
        there = shapely.get_coordinates(passes.to_numpy())
        here = shapely.get_coordinates(back_m.to_numpy())
        assert np.hypot(*(here - there).T).max() < 0.01


def test_coordinates_have_seven_decimals_and_no_power_of_ten(sample_run, tmp_path):
    text = written(sample_run, "gpx", tmp_path).read_text("utf-8")
    numbers = re.findall(r'(?:lat|lon)="([^"]*)"', text)
    assert numbers
    assert all(re.fullmatch(r"-?\d{1,3}\.\d{7}", number) for number in numbers)


def test_names_tell_strip_pass_and_width(sample_run, tmp_path):
    tree = etree.parse(written(sample_run, "gpx", tmp_path))
    names = [node.text for node in tree.iterfind(f"{GPX}trk/{GPX}name")]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"\S+ pass \d+( part \d+)?, [\d.]+ ft", name) for name in names)
    order = [node.tag.removeprefix(GPX) for node in tree.getroot()]
    assert order == sorted(order, key=["metadata", "wpt", "trk"].index)


@pytest.mark.parametrize("kind", ["gpx", "kml"])
def test_files_say_that_they_are_no_permission(kind, sample_run, tmp_path):
    assert CAUTION in written(sample_run, kind, tmp_path).read_text("utf-8")


@pytest.mark.parametrize("kind", ["gpx", "kml"])
def test_markup_in_names_stays_text(kind, named_harmfully, tmp_path):
    tree = etree.parse(written(named_harmfully, kind, tmp_path))
    text = "".join(tree.getroot().itertext())
    assert "<b>&amp;</b>" in text
    assert "שלום" in text
    assert "\u202e" not in text
    assert "\u0007" not in text
    assert not list(tree.iter(f"{GPX}b", f"{KML}b", "b"))


@pytest.mark.parametrize("kind", ["gpx", "kml"])
def test_same_run_gives_the_same_bytes(kind, sample_run, tmp_path):
    first = written(sample_run, kind, tmp_path).read_bytes()
    assert written(sample_run, kind, tmp_path).read_bytes() == first


def test_no_place_is_written_where_there_is_none(sample_run, published_schemas, tmp_path):
    frames = sample_run.frames | {
        name: sample_run.frames[name].iloc[:0] for name in ("tie_ins", "gates")
    }
    path = written(dataclasses.replace(sample_run, frames=frames), "gpx", tmp_path)
    etree.XMLSchema(etree.parse(published_schemas / "gpx.xsd")).assertValid(etree.parse(path))
    assert b"<wpt" not in path.read_bytes()


def test_meters_are_not_taken_for_degrees():
    # 4,325,025 m north is a usual UTM coordinate, and GDAL's GPX writer takes it for a latitude.
    mislabeled = gpd.GeoSeries(
        [shapely.LineString([(480000, 4325025), (480100, 4325025)])], crs=4326
    )
    with pytest.raises(ValueError, match="degrees"):
        list(in_degrees(mislabeled))


def test_a_pass_near_the_meridian_is_written_plainly(sample_run, published_schemas, tmp_path):
    # 0.00001 degree: str() of the number would be 1e-05, which is no xsd:decimal.
    line = gpd.GeoSeries([shapely.LineString([(1e-5, 0.0), (2e-5, 1e-5)])], crs=4326)
    row = {"block": "S", "drive_order": 1, "strip_id": "S1", "pass_number": 1, "part": 1}
    rows = pd.DataFrame([{**row, "length_ft": 5.0}])
    passes = gpd.GeoDataFrame(rows, geometry=line)
    strips = pd.DataFrame({"strip_id": ["S1"], "width_ft": [20.0]})
    passes = conform(passes, LAYERS["mow_passes"])
    frames = sample_run.frames | {"mow_passes": passes, "mow_strips": strips}
    path = written(dataclasses.replace(sample_run, frames=frames), "gpx", tmp_path)
    etree.XMLSchema(etree.parse(published_schemas / "gpx.xsd")).assertValid(etree.parse(path))
    assert 'lat="0.0000100" lon="0.0000200"' in path.read_text("utf-8")
    width = figure_words(20.0, LAYERS["mow_strips"].column("width_ft"))
    assert f"S1 pass 1, {width}" in path.read_text("utf-8")


def test_each_pass_tells_the_width_of_its_own_strip(sample_run, tmp_path):
    strips = sample_run.frames["mow_strips"]
    widths = [20.0 + number for number in range(len(strips))]
    frames = sample_run.frames | {"mow_strips": strips.assign(width_ft=widths)}
    path = written(dataclasses.replace(sample_run, frames=frames), "gpx", tmp_path)
    names = [node.text for node in etree.parse(path).iterfind(f"{GPX}trk/{GPX}name")]
    for strip, width in zip(strips["strip_id"], widths, strict=True):
        said = {name.rpartition(", ")[2] for name in names if name.startswith(f"{strip} pass ")}
        assert {float(words.removesuffix(" ft")) for words in said} == {width}


def test_color_of_a_pass_is_written_blue_first(sample_run, tmp_path):
    # KML 2.2 (OGC 07-147r2, 16.10): aabbggrr, opacity first and red last.
    color = etree.parse(written(sample_run, "kml", tmp_path)).find(f".//{KML}LineStyle/{KML}color")
    stroke = BREAK_STROKES["prepare"].color
    opacity, blue, green, red = re.findall("..", color.text)
    assert (opacity, f"#{red}{green}{blue}") == ("ff", stroke)


def test_passes_stand_in_the_order_in_which_they_are_mown(sample_run, tmp_path):
    tree = etree.parse(written(sample_run, "gpx", tmp_path))
    names = [node.text for node in tree.iterfind(f"{GPX}trk/{GPX}name")]
    passes = sample_run.frames["mow_passes"]
    expected = zip(passes["strip_id"], passes["pass_number"], strict=True)
    assert [" ".join(re.split(r"[ ,]", name)[:3]) for name in names] == [
        f"{strip} pass {number}" for strip, number in expected
    ]
