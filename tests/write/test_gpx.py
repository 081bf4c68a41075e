"""GPX against its published schema, read back by a reader that others wrote.

Outside sources: gpx.xsd (GPX 1.1, Topografix 2004), GDAL, which reads the file by a parser of its
own, and Hausdorff's distance as GEOS computes it.
"""

import itertools
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
from pipeline.core.units import M_PER_FT
from pipeline.pages.cautions import CAUTION
from pipeline.pages.field.mow_ways import mow_tracks
from pipeline.pages.packet.numbered_places import places_of_block
from pipeline.pages.words import code_words
from pipeline.write.field.degrees import points_of, split
from pipeline.write.field.gpx import SYMBOLS, write_gpx
from pipeline.write.field.routes import Stop, in_parts
from tests.made_conflicts import WORDS, conflict, conflicts_layer, seeding
from tests.write.field_runs import HARMFUL, named_harmfully, with_frames, with_gps

GPX = "{http://www.topografix.com/GPX/1/1}"
ROUNDED_M = 0.01


def tree_of(run, folder):
    path = folder / "mow_lines.gpx"
    write_gpx(run, path)
    return etree.parse(path)


@pytest.fixture(scope="module")
def schema(published_schemas):
    return etree.XMLSchema(etree.parse(published_schemas / "gpx.xsd"))


@pytest.fixture(scope="module")
def sample(sample_run, tmp_path_factory):
    """The file of the sample, parsed."""
    return tree_of(sample_run, tmp_path_factory.mktemp("gpx"))


def texts(tree, path):
    return [node.text for node in tree.iterfind("/".join(GPX + part for part in path.split("/")))]


def points(node, name):
    return [(p.get("lon"), p.get("lat")) for p in node.iter(f"{GPX}{name}")]


def in_meters(run, found):
    """Line [m] in the run's own coordinates from points in degrees."""
    line = shapely.LineString(np.array(found, dtype=float))
    return gpd.GeoSeries([line], crs=4326).to_crs(run.crs).iloc[0]


def test_file_is_valid_by_the_published_schema(sample, sample_run, schema, tmp_path):
    schema.assertValid(sample)
    small = {"points_per_track": 3, "points_per_route": 3, "thin_ft": 0}
    for run in (named_harmfully(sample_run), with_gps(sample_run, **small)):
        schema.assertValid(tree_of(run, tmp_path))


def test_the_schema_refuses_a_broken_file(sample, schema):
    text = etree.tostring(sample).decode()
    assert not schema.validate(etree.fromstring(text.replace('lat="40', 'lat="440').encode()))


def test_what_to_stop_and_ask_for_stands_on_top_of_the_file(sample_run, schema, tmp_path):
    block, other = sample_run.frames["burn_blocks"]["block"]
    rows = (
        conflict(1, block=block),
        conflict(2, block=other, against=HARMFUL),
        seeding(3, against="seeds"),
        conflict(4, "think_again", block=block),
    )
    against = conflicts_layer(*rows, crs=sample_run.crs)
    tree = tree_of(with_frames(sample_run, conflicts=against), tmp_path)
    (told,) = texts(tree, "metadata/desc")
    assert told.startswith(f"Stop and ask: burn of block {block}: {WORDS['stop_and_ask']}; ")
    assert told.endswith(CAUTION)
    assert told.count("Stop and ask") == 3
    assert WORDS["think_again"] not in told
    schema.assertValid(tree)
    none = conflicts_layer(crs=sample_run.crs)
    (told,) = texts(tree_of(with_frames(sample_run, conflicts=none), tmp_path), "metadata/desc")
    assert told == f"Lines are thinned by up to 0.5 ft. {CAUTION}"


def test_whole_plan_is_in_it(sample_run, sample, tmp_path):
    path = tmp_path / "plan.gpx"
    sample.write(path)
    frames = sample_run.frames
    tracks = pyogrio.read_dataframe(path, layer="tracks")["type"]
    for kind, layer in {"unit": "units", "burn block": "burn_blocks"}.items():
        assert (tracks == kind).sum() == len(frames[layer]) > 0
    assert (tracks == "left out").sum() == len(frames["excluded_ground"]) > 0
    drawn = len(frames["break_lines"]) + len(frames["break_areas"])
    assert (tracks == "break of the map").sum() == drawn > 0
    assert (tracks == "mower pass").sum() == len(frames["mow_passes"]) > 0
    kinds = set(frames["firebreaks"]["kind"].dropna())
    assert kinds == {t.partition(": ")[2] for t in tracks if t.startswith("existing break: ")}
    assert {"to prepare", "gap"} <= set(tracks)
    places = pyogrio.read_dataframe(path, layer="waypoints")
    assert set(map(code_words, frames["tie_ins"]["kind"])) <= set(places["type"])
    gates = [f"G{row.gate_id} {row.name}" for row in frames["gates"].itertuples(index=False)]
    assert list(places.loc[places["type"] == "gate", "name"]) == gates
    assert {"stop and ask", "keep smoke off", "hazard"} <= set(places["type"])
    assert set(places["sym"]) == set(SYMBOLS.values())
    lengths = frames["firebreaks"].length.sum()
    lines = tracks[tracks.str.contains("existing break|to prepare|^gap")].index
    drawn = pyogrio.read_dataframe(path, layer="tracks").iloc[lines].to_crs(sample_run.crs)
    assert drawn.length.sum() == pytest.approx(lengths, rel=1e-3)


def test_places_of_the_packet_are_found_by_the_names_that_it_gives_them(sample_run, sample):
    found = {word for name in texts(sample, "wpt/name") for word in re.split("[ ,]+", name)}
    for block in sample_run.frames["burn_blocks"].to_dict("records"):
        named = {place.name for place in places_of_block(block, sample_run.frames)} - {""}
        assert named
        assert named <= found


def test_no_point_stands_twice(sample):
    for name in ("trkseg", "rte"):
        for node in sample.iter(f"{GPX}{name}"):
            found = points(node, "trkpt" if name == "trkseg" else "rtept")
            assert len(found) >= 2
            assert all(a != b for a, b in itertools.pairwise(found))
    places = [
        (n.findtext(f"{GPX}type"), n.get("lat"), n.get("lon")) for n in sample.iter(f"{GPX}wpt")
    ]
    assert len(set(places)) == len(places) > 0


@pytest.mark.parametrize("thin_ft", [0.0, 0.5, 5.0])
def test_lines_stay_within_the_told_tolerance(thin_ft, sample_run, tmp_path):
    tree = tree_of(with_gps(sample_run, thin_ft=thin_ft, passes_as="tracks"), tmp_path)
    found = [t for t in tree.iter(f"{GPX}trk") if t.findtext(f"{GPX}type") == "mower pass"]
    passes = sample_run.frames["mow_passes"]
    named = {
        f"{row.strip_id} pass {row.pass_number}, mower 6 ft": row.geometry
        for row in passes.itertuples()
    }
    assert {t.findtext(f"{GPX}name") for t in found} == set(named)
    for track in found:
        line = in_meters(sample_run, points(track, "trkpt"))
        far = shapely.hausdorff_distance(line, named[track.findtext(f"{GPX}name")])
        assert far <= thin_ft * M_PER_FT + ROUNDED_M
    (told,) = texts(tree, "metadata/desc")
    assert f"thinned by up to {thin_ft:g} ft" in told


@pytest.mark.parametrize("most", [2, 7, 60])
def test_long_tracks_and_routes_are_split_and_nothing_is_lost(most, sample, sample_run, tmp_path):
    limits = {"points_per_track": most, "points_per_route": most}
    tree = tree_of(with_gps(sample_run, **limits), tmp_path)
    for outer, name, kind in (("trk", "trkpt", "mower pass"), ("rte", "rtept", "mower route")):
        parts, whole = (
            [points(n, name) for n in t.iter(f"{GPX}{outer}") if n.findtext(f"{GPX}type") == kind]
            for t in (tree, sample)
        )
        assert max(map(len, parts)) <= most
        sides = {frozenset(side) for part in parts for side in itertools.pairwise(part)}
        wanted = {frozenset(side) for part in whole for side in itertools.pairwise(part)}
        assert sides == wanted
    for path in ("trk/name", "rte/name"):
        names = texts(tree, path)
        assert len(set(names)) == len(names)


def test_routes_lead_through_the_passes_in_order_and_direction(sample_run, sample):
    passes = sample_run.frames["mow_passes"]
    ends = points_of(passes.geometry, sample_run.crs)
    for block, rows in passes.reset_index(drop=True).groupby("block"):
        mine = [r for r in sample.iter(f"{GPX}rte") if r.findtext(f"{GPX}name").startswith(block)]
        stops = [p for route in mine for p in route.iter(f"{GPX}rtept")]
        named = [p for p in stops if p.find(f"{GPX}name") is not None]
        assert [p.findtext(f"{GPX}name").split(" of ")[0] for p in named] == [
            str(n) for n in rows["drive_order"]
        ]
        where = [(p.get("lon"), p.get("lat")) for p in stops]
        places = [n for n, p in enumerate(stops) if p.find(f"{GPX}name") is not None]
        for row, start, after in zip(rows.index, places, [*places[1:], len(stops)], strict=True):
            assert where[start] == ends[row][0]
            assert ends[row][-1] in where[start + 1 : after + 1]
        names = [route.findtext(f"{GPX}name") for route in mine]
        said = rf"{block} mow \d+-\d+ of \d+, mower 6 ft"
        assert all(re.fullmatch(said, name) for name in names)
        for before, after in itertools.pairwise(mine):
            assert points(before, "rtept")[-1] == points(after, "rtept")[0]


def test_route_ends_where_the_mower_would_leave_the_block(sample_run, tmp_path):
    moves = sample_run.frames["mow_moves"]
    block = moves["block"].iloc[0]
    left = moves.assign(on_ground=(moves["block"] != block) | (moves["to_order"] != 10))
    run = with_gps(with_frames(sample_run, mow_moves=left), points_per_route=100_000)
    names = texts(tree_of(run, tmp_path), "rte/name")
    count = int(sample_run.frames["mow_passes"].query("block == @block")["drive_order"].max())
    assert [name for name in names if name.startswith(f"{block} ")] == [
        f"{block} mow 1-9 of {count}, mower 6 ft",
        f"{block} mow 10-{count} of {count}, mower 6 ft",
    ]


@pytest.mark.parametrize(("choice", "routes", "tracks"), [("routes", 1, 0), ("tracks", 0, 1)])
def test_passes_may_be_routes_or_tracks_alone(choice, routes, tracks, sample_run, tmp_path):
    tree = tree_of(with_gps(sample_run, passes_as=choice), tmp_path)
    assert bool(texts(tree, "rte/name")) == routes
    assert ("mower pass" in texts(tree, "trk/type")) == tracks


def test_short_pass_stands_in_the_track_beside_it(sample_run):
    passes = sample_run.frames["mow_passes"]
    strip = passes["strip_id"].iloc[0]
    of_strip = passes[passes["strip_id"] == strip]
    stub = (passes["strip_id"] == strip) & (passes["pass_number"] == 2)
    shorter = passes.assign(length_ft=passes["length_ft"].mask(stub, 13.0))
    run = with_frames(sample_run, mow_passes=shorter)
    mine = [one for one in mow_tracks(run.frames, 20.0) if one.name.startswith(f"{strip} ")]
    assert [one.name for one in mine][:2] == [
        f"{strip} passes 1-2, mower 6 ft",
        f"{strip} pass 3, mower 6 ft",
    ]
    assert sum(len(one.lines) for one in mine) == len(of_strip)
    first = with_frames(run, mow_passes=passes.assign(length_ft=13.0))
    (whole,) = (one for one in mow_tracks(first.frames, 1e6) if one.name.startswith(f"{strip} "))
    assert len(whole.lines) == len(of_strip)


def test_coordinates_have_seven_decimals_and_no_power_of_ten(sample):
    numbers = re.findall(r'(?:lat|lon)="([^"]*)"', etree.tostring(sample).decode())
    assert numbers
    assert all(re.fullmatch(r"-?\d{1,3}\.\d{7}", number) for number in numbers)


def test_parts_come_in_the_order_of_the_schema(sample):
    order = [node.tag.removeprefix(GPX) for node in sample.getroot()]
    assert order == sorted(order, key=["metadata", "wpt", "rte", "trk"].index)


def test_markup_in_names_stays_text(sample_run, tmp_path):
    tree = tree_of(named_harmfully(sample_run), tmp_path)
    text = "".join(tree.getroot().itertext())
    assert "<b>&amp;</b>" in text
    assert "שלום" in text
    assert "\u202e" not in text
    assert "\u0007" not in text
    assert not list(tree.iter(f"{GPX}b", "b"))


def test_same_run_gives_the_same_bytes(sample_run, sample, tmp_path):
    again = tree_of(sample_run, tmp_path)
    assert etree.tostring(again) == etree.tostring(sample)


def test_no_place_is_written_where_there_is_none(sample_run, schema, tmp_path):
    bare = {name: sample_run.frames[name].iloc[:0] for name in (*SYMBOLS, "mow_moves")}
    tree = tree_of(with_frames(sample_run, **bare), tmp_path)
    schema.assertValid(tree)
    assert not texts(tree, "wpt/name")


def test_meters_are_not_taken_for_degrees():
    # 4,325,025 m north is a usual UTM coordinate, and GDAL's GPX writer takes it for a latitude.
    mislabeled = [shapely.LineString([(480000, 4325025), (480100, 4325025)])]
    with pytest.raises(ValueError, match="degrees"):
        points_of(mislabeled, 4326)


def test_a_pass_near_the_meridian_is_written_plainly(sample_run, schema, tmp_path):
    # 0.00001 degree: str() of the number would be 1e-05, which is no xsd:decimal.
    line = gpd.GeoSeries([shapely.LineString([(1e-5, 0.0), (2e-5, 1e-5)])], crs=4326)
    row = {"block": "S", "drive_order": 1, "strip_id": "S1", "pass_number": 1, "part": 1}
    rows = pd.DataFrame([{**row, "length_ft": 5.0}])
    passes = conform(gpd.GeoDataFrame(rows, geometry=line), LAYERS["mow_passes"])
    strips = sample_run.frames["mow_strips"].iloc[:1].assign(strip_id="S1")
    none = {name: sample_run.frames[name].iloc[:0] for name in ("mow_moves", "made_lines")}
    run = with_frames(
        sample_run, mow_passes=passes.to_crs(sample_run.crs), mow_strips=strips, **none
    )
    tree = tree_of(run, tmp_path)
    schema.assertValid(tree)
    assert 'lat="0.0000100" lon="0.0000200"' in etree.tostring(tree).decode()
    assert "S1 pass 1, mower 6 ft" in texts(tree, "trk/name")


def test_line_is_split_so_that_its_pieces_meet():
    line = [(str(n), "0") for n in range(10)]
    assert split(line, 4) == [line[0:4], line[3:7], line[6:10]]
    assert split(line, 10) == [line]
    assert [len(piece) for piece in split(line, 2)] == [2] * 9


def test_route_goes_on_with_a_leg_where_that_can_be():
    begins = {1: 0, 2: 3, 3: 10}
    legs = [[Stop((str(b + n), "0"), order) for n in range(4)] for order, b in begins.items()]
    parts = in_parts(legs, 8)
    assert [[int(stop.point[0]) for stop in part] for part in parts] == [
        [0, 1, 2, 3, 4, 5, 6],
        [6, 10, 11, 12, 13],
    ]
    assert next([s.order for s in part][1:] for part in in_parts(legs, 3)) == [1, 1]
