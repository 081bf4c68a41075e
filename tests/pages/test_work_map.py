"""The map of the season's work and the marks of conflicts: by hand on made units.

Outside judges: contrast after the Web Content Accessibility Guidelines 2.2 (1.4.11 asks for 3:1).
"""

import itertools
import re

import geopandas as gpd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from lxml import html

from pipeline.pages import palette
from pipeline.pages.map_frame import MapFrame, frame_around
from pipeline.pages.map_svg import draw_map
from pipeline.pages.map_themes import map_themes
from pipeline.pages.maps.conflict_marks import SHAPES, conflict_marks, conflict_places
from pipeline.pages.maps.map_names import name_places, shared_places
from pipeline.pages.maps.work_looks import kinds_by_unit, work_texture, work_textures
from pipeline.pages.maps.work_map import draw_work_map
from pipeline.work.codes import WORK_KINDS
from pipeline.work.layers import SERIOUSNESS
from tests.literal_layers import literal_layer
from tests.made_plan import conflicts, planned, with_work
from tests.made_report import grid_layers
from tests.pages.test_palette import contrast

FRAME = MapFrame(west=0.0, north=1000.0, width_m=1000.0, height_m=1000.0)


@pytest.fixture(scope="module")
def ground():
    return grid_layers(8, scenes=0)


def drawn(frames):
    return html.fromstring(f"<main>{draw_work_map(frames)}</main>")


def test_each_kind_of_work_has_a_texture_of_its_own_that_stands_out_from_its_tint():
    tiles = [str(marks) for _, marks in work_textures().values()]
    shapes = [re.sub(r"#[0-9a-f]{6}", "", tile) for tile in tiles]
    assert len(set(shapes)) == len(WORK_KINDS), "apart in black and white"
    for kind in WORK_KINDS:
        assert contrast(palette.WORK_INKS[kind], palette.WORK_TINTS[kind]) >= 3
        assert contrast(palette.INK, palette.WORK_TINTS[kind]) >= 7, "names stand on it"


def test_marks_are_told_apart_by_shape_and_the_first_kind_is_dark():
    for one, other in itertools.combinations(SERIOUSNESS, 2):
        assert [end[:2] for end in SHAPES[one]] != [end[:2] for end in SHAPES[other]]
    assert contrast(palette.INK, "#ffffff") >= 7


def test_kinds_of_work_on_one_unit_stand_side_by_side_and_no_texture_lies_on_another(ground):
    frames, crs = ground
    work = planned(frames["units"], crs, kinds=("burn", "graze"))
    work["unit_id"] = work["unit_id"].replace("U001", "U000")
    assert kinds_by_unit(work.to_dict("records"))["U000"] == ["burn", "graze"]
    told = {**frames, "planned_work": work}
    page = drawn(told)
    fills = [path.get("fill") for path in page.xpath("//svg/g[2]/use")]
    assert fills[:2] == [palette.WORK_TINTS["burn"], "url(#work_burn_graze-season)"]
    key = ["".join(i.itertext()).strip() for i in page.xpath('//ul[@class="mapkey"]/li')]
    assert "Strips: each on the whole unit" in key
    (tile,) = page.xpath('//pattern[@id="work_burn_graze-season"]')
    bands = [(r.get("fill"), float(r.get("x")), float(r.get("width"))) for r in tile.iter("rect")]
    half = float(tile.get("width")) / 2
    tints = palette.WORK_TINTS
    assert bands == [(tints["burn"], 0, half), (tints["graze"], half, half)]
    for n, kind in enumerate(("burn", "graze")):
        marks = tile.xpath(f'.//path[@stroke="{palette.WORK_INKS[kind]}"]/parent::g/@transform')
        places = [float(re.search(r"translate\(([\d.]+)", place)[1]) for place in marks]
        assert places
        assert all(n * half <= place < (n + 1) * half for place in places)
    theme = next(t for t in map_themes(told) if t.name == "work")
    assert [(a.color, a.texture, a.words) for a in theme.areas[:1]] == [
        (palette.WORK_TINTS["burn"], "work_burn_graze", "burn, grazing"),
    ]
    assert 'id="work_burn_graze"' in draw_map(told)
    keyed = {texture for _, texture, _ in theme.key if texture}  # ground without work has none
    assert keyed == {work_texture(k) for k in ("burn", "graze")}


def test_the_window_is_around_the_work_alone(ground):
    frames, crs = ground
    far = planned(frames["units"], crs).iloc[-1:]
    box = drawn({**frames, "planned_work": gpd.GeoDataFrame(far)}).find(".//svg").get("viewbox")
    width, height = map(int, box.split()[2:])
    assert width / height == pytest.approx(1.4, rel=1e-3)
    assert width < 10 * 2 * 180.37 * 2, "not around all eight units, which are 3 km wide"


def test_what_lies_beyond_the_map_stands_at_its_edge_and_is_named(ground):
    frames, crs = ground
    far, west = shapely.Point(9000, 9000), shapely.Point(-9000, 0)
    places = literal_layer(
        "smoke_places",
        [{"place_id": 1, "kind": "house", "block": b} for b in ("A", "B")],
        [far, far],
        crs,
    )
    gates = literal_layer("gates", [{"gate_id": 4, "name": "north gate"}], [west], crs)
    told = with_work({**frames, "smoke_places": places, "gates": gates}, crs)
    page = drawn(told)
    assert [t.text for t in page.iter("text") if t.text and t.text[0] in "GS"].count("S1") == 1
    titles = [t.text for t in page.iter("title")]
    assert any(re.search(r"^S1: .*house.*, beyond the edge of this map$", t) for t in titles)
    assert any(t.startswith("G4: ") for t in titles)
    assert "Beyond the edge of this map: S1." in "".join(page.itertext())


def test_nothing_to_do_leaves_its_key_out(ground):
    frames, crs = ground
    page = drawn(with_work(frames, crs, counts=(1, 0, 4)))
    key = ["".join(i.itertext()).strip() for i in page.xpath('//ul[@class="mapkey"]/li')]
    assert key == ["Burn", "Stop and ask"]
    assert not draw_work_map(frames)


def test_a_reader_who_does_not_see_the_map_is_told_what_it_shows(ground):
    frames, crs = ground
    page = drawn(with_work(frames, crs, counts=(1, 1, 1)))
    spoken = page.find(".//svg").get("aria-label")
    assert "Burn: U000, U001" in spoken
    assert "Conflicts marked: 1, 2." in spoken


def test_every_conflict_of_the_property_has_its_mark_or_is_counted_beside_one(ground):
    frames, crs = ground
    told = conflicts(planned(frames["units"], crs), crs, (9, 9, 4))
    frame = frame_around(frames["units"])
    marks = conflict_marks(told, frame, pixel=frame.width / 960)
    page = html.fromstring(f"<main>{''.join(marks)}</main>")
    texts = [t.text for t in page.iter("text")]
    shared = sum(int(t) for t in texts if t.startswith("+"))
    assert len(marks) + shared == 22
    titles = "\n".join(t.text for t in page.iter("title"))
    assert set(map(int, re.findall(r"^(\d+), ", titles, re.MULTILINE))) == set(range(1, 23))
    assert 'data-layer="conflicts"' in draw_map({**frames, "conflicts": told})


def test_a_mark_stands_in_its_unit_and_beside_a_small_place():
    crs = grid_layers(1, scenes=0)[1]
    unit, house = shapely.box(100, 100, 500, 500), shapely.box(795, 295, 805, 305)
    told = conflicts(
        gpd.GeoDataFrame(
            {
                "work_id": ["burn:A", "burn:A"],
                "kind": "burn",
                "unit_id": "A",
                "first_day": None,
                "last_day": None,
            },
            geometry=[unit, house],
            crs=crs,
        ),
        crs,
        (2, 0, 0),
    )
    _, (inside, beside) = conflict_places(told, FRAME, pixel=10.0)
    at = [(x / 10, 1000 - y / 10) for x, y in (inside, beside)]
    assert unit.contains(shapely.Point(at[0]))
    assert at[0][1] > 350, "above the name in the middle"
    assert house.distance(shapely.Point(at[1])) == pytest.approx(21, abs=0.2)


@given(st.lists(st.tuples(st.integers(0, 500), st.integers(0, 500)), max_size=40))
def test_marks_that_stand_are_apart_and_every_other_one_shares_one_near_it(places):
    shared = shared_places(places, (60.0, 30.0))
    kept = sorted(set(shared))
    for one, other in itertools.combinations(kept, 2):
        (x, y), (across, down) = places[one], places[other]
        assert abs(x - across) >= 60 or abs(y - down) >= 30
    for number, first in enumerate(shared):
        assert shared[first] == first <= number
        assert abs(places[number][0] - places[first][0]) < 60 or number == first


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900)), min_size=1, max_size=30))
def test_names_that_are_drawn_do_not_lie_on_each_other(places):
    em = 20.0
    found = name_places(["Unit"] * len(places), places, [40.0] * len(places), em, [], 0.0)
    assert found[0] is not None
    for one, other in itertools.combinations([place for place in found if place], 2):
        assert abs(one[0] - other[0]) >= 4 * 0.6 * em or abs(one[1] - other[1]) >= em
    for place, wanted in zip(found, places, strict=True):
        assert place is None or abs(place[1] - wanted[1]) <= 40


def test_a_mark_is_kept_clear_of_names():
    (place,) = name_places(["A"], [(100, 100)], [100.0], 20.0, [(100, 95)], 30.0)
    assert place[1] > 100
    assert name_places(["A"], [(100, 100)], [0.0], 20.0, [(100, 95)], 30.0) == [None]
