"""The half-edge model: ground, rings and chains against maps that are known by construction."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.ground.edge_graph import plain_shapes, unit_model
from pipeline.ground.ground_rings import chain_points_m, chains_of, grounds_of, rings_of
from pipeline.ground.half_edges import half_edges_of, half_edges_of_edges
from tests import made_unit_maps
from tests.made_properties import QUARTER_M

FORTY_M2 = QUARTER_M**2


def walked(shapes, label, slop_m=5.0):
    """Plane, ground by label, rings and chains of shapes drawn together."""
    plane, owner = unit_model(np.array(shapes), slop_m)
    of_face = np.append(np.asarray(label), -1)[owner]
    sides = plane.of_faces(of_face)
    rings = rings_of(plane, sides)
    return plane, grounds_of(plane, rings), rings, chains_of(plane, rings, sides)


def around_m(plane, rings, label):
    return sum(plane.length_m[r.half_edges].sum() for r in rings if r.label == label)


@pytest.mark.parametrize("turn_deg", range(0, 360, 5))
def test_two_units_that_touch_in_a_corner_keep_all_their_ground(turn_deg):
    # A 2 x 2 grid of 40-acre squares, the southwest and the northeast one burned together.
    cells = [affinity.rotate(cell, turn_deg, origin=(0, 0)) for cell in made_unit_maps.grid(2, 2)]
    plane, ground, rings, chains = walked(cells, [0, -1, -1, 0])
    assert ground[0].area == pytest.approx(2 * FORTY_M2, rel=1e-5)
    assert ground[0].is_valid
    assert len(ground[0].geoms) == 2
    assert around_m(plane, rings, 0) == pytest.approx(8 * QUARTER_M, rel=1e-5)
    assert [chain.closed for chain in chains] == [True, True]


@settings(max_examples=40, deadline=None)
@given(st.sets(st.integers(0, 24), min_size=1, max_size=24), st.floats(0, 90))
def test_any_squares_of_a_grid_have_the_sides_that_are_counted(chosen, turn_deg):
    cells = [affinity.rotate(cell, turn_deg, origin=(0, 0)) for cell in made_unit_maps.grid(5, 5)]
    plane, ground, rings, _ = walked(cells, [0 if n in chosen else -1 for n in range(25)])
    assert ground[0].is_valid
    assert ground[0].area == pytest.approx(len(chosen) * FORTY_M2, rel=1e-5)
    sides = made_unit_maps.block_side_counts(5, 5, chosen)
    assert around_m(plane, rings, 0) == pytest.approx(sides * QUARTER_M, rel=1e-5)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(list(made_unit_maps.KINDS)), st.sampled_from([0.0, 2.0, 5.0, 12.0]),
    st.integers(0, 10**6), st.integers(2, 4),
)  # fmt: skip
def test_no_unit_is_lost_and_every_ground_is_that_of_its_faces(kind, slop_m, seed, blocks):
    random = np.random.default_rng(seed)
    cells = made_unit_maps.KINDS[kind]
    drawn = np.array([made_unit_maps.redrawn(cell, slop_m, random) for cell in cells])
    tolerance_m = 1.5 * slop_m + 0.5
    plane, ground, rings, _ = walked(drawn, range(len(drawn)), tolerance_m)
    for number, shape in enumerate(drawn):
        moved = 0.5 * shape.length * tolerance_m + 0.001 * shape.area
        assert ground[number].area == pytest.approx(shape.area, abs=moved)
    label = random.integers(-1, blocks, len(drawn))
    plane, owner = unit_model(drawn, tolerance_m)
    of_face = np.append(label, -1)[owner]
    sides = plane.of_faces(of_face)
    rings = rings_of(plane, sides)
    for block, shape in grounds_of(plane, rings).items():
        assert shape.is_valid
        assert shape.area == pytest.approx(plane.area_m2[of_face == block].sum(), rel=1e-9)
        assert around_m(plane, rings, block) == pytest.approx(shape.length, rel=1e-9)


@pytest.mark.parametrize("system", made_unit_maps.SYSTEMS)
@pytest.mark.parametrize("kind", made_unit_maps.KINDS)
def test_clean_maps_lose_nothing_in_any_reference_system(kind, system):
    shapes = made_unit_maps.in_system(made_unit_maps.KINDS[kind], system)
    plane, ground, rings, _ = walked(shapes, range(len(shapes)))
    for number, shape in enumerate(shapes):
        assert ground[number].area == pytest.approx(shape.area, rel=1e-3)
        assert around_m(plane, rings, number) == pytest.approx(shape.length, rel=2e-3)


@pytest.mark.parametrize("from_deg", range(0, 360, 36))
def test_no_unit_of_a_turned_grid_disappears(from_deg):
    for turn_deg in np.arange(from_deg, from_deg + 36, 1.8):
        cells = [affinity.rotate(c, turn_deg, origin=(1e4, 7e3)) for c in made_unit_maps.grid(4, 4)]
        shapes = made_unit_maps.in_system(cells, 26914)
        _, ground, _, _ = walked(shapes, range(16))
        assert [ground[n].area for n in range(16)] == pytest.approx([FORTY_M2] * 16, rel=1e-3)


def test_hole_and_field_in_the_hole_have_a_ring_each():
    plane, ground, rings, chains = walked(made_unit_maps.donuts(1, 1), [0, 1])
    assert [ring.hole for ring in rings if ring.label == 0].count(True) == 1
    assert ground[0].area + ground[1].area == pytest.approx(FORTY_M2, rel=1e-6)
    # The edge between them stands once, for the lower number.
    assert sorted((chain.left, chain.right) for chain in chains) == [(0, -1), (0, 1)]
    assert around_m(plane, rings, 1) == pytest.approx(QUARTER_M, rel=1e-6)


def test_field_whose_ends_touch_in_a_point_goes_around_a_hole():
    # Eight of nine squares around an empty one, less a corner square: the ends meet in a point.
    cells = made_unit_maps.grid(3, 3)
    chosen = [n for n in range(9) if n not in (4, 0)]
    _, ground, rings, _ = walked(cells, [0 if n in chosen else -1 for n in range(9)])
    assert ground[0].is_valid
    assert ground[0].area == pytest.approx(7 * FORTY_M2, rel=1e-6)
    assert sorted(ring.hole for ring in rings) == [False, True]


@pytest.mark.parametrize("far_m", [1e-13, 1e-10, 1e-6, 1e-4])
def test_vertices_a_hair_apart_are_one(far_m):
    # Two squares whose common corner is drawn twice, a hair apart.
    west, east = shapely.box(0, 0, 100, 100), shapely.box(100 + far_m, 100 - far_m, 200, 200)
    _, ground, rings, _ = walked([west, east], [0, 0])
    assert len(rings) == 2
    assert ground[0].is_valid
    assert ground[0].area == pytest.approx(20000, abs=0.1)


def test_ring_with_a_spike_as_thin_as_rounding_keeps_its_ground():
    # Such rings come from drawing outlines onto each other; mending them as polygons lost them.
    spiked = shapely.LinearRing([
        (0, 0), (100, 0), (100, 50), (130, 50 + 1e-13), (100, 50 - 1e-13), (100, 100), (0, 100),
    ])  # fmt: skip
    plane = half_edges_of(np.array([spiked]))
    assert plane.area_m2.tolist() == [10000]
    assert len(plane.start) == 2 * 5


def test_ring_that_crosses_itself_covers_what_it_goes_around_once():
    bow_tie = shapely.Polygon([(0, 0), (100, 100), (100, 0), (0, 100)])
    plane, owner = unit_model(np.array([bow_tie]), 1.0)
    assert plane.area_m2[owner == 0].tolist() == [2500, 2500]


def test_pieces_of_linework_find_the_face_around_them():
    squares = [shapely.box(-r, -r, r, r).exterior for r in (50, 40, 30, 20)]
    plane = half_edges_of(np.array(squares))
    assert sorted(plane.area_m2) == [1600, 2000, 2800, 3600]
    assert all(shape.is_valid for shape in plane.polygons)


def test_model_is_found_again_in_its_own_edges():
    cells = made_unit_maps.KINDS["polyominoes"]
    plane, _, rings, chains = walked(cells, range(len(cells)))
    lines = np.array([shapely.LineString(chain_points_m(plane, c)) for c in chains])
    again, source = half_edges_of_edges(lines)
    left = np.array([(c.left, c.right) for c in chains]).ravel()[source]
    assert grounds_of(again, rings_of(again, left)).keys() == {ring.label for ring in rings}
    for label, shape in grounds_of(again, rings_of(again, left)).items():
        assert shape.area == pytest.approx(cells[label].area, rel=1e-6)


def test_chains_stand_once_and_add_up_to_the_rings():
    cells = made_unit_maps.KINDS["mosaic"]
    plane, _, rings, chains = walked(cells, [n % 3 for n in range(len(cells))])
    outer = sum(plane.length_m[c.half_edges].sum() for c in chains if c.right < 0)
    shared = sum(plane.length_m[c.half_edges].sum() for c in chains if c.right >= 0)
    assert outer + 2 * shared == pytest.approx(sum(around_m(plane, rings, n) for n in range(3)))
    for chain in chains:
        points = chain_points_m(plane, chain)
        steps_m = np.hypot(*np.diff(points, axis=0).T)
        assert steps_m.sum() == pytest.approx(plane.length_m[chain.half_edges].sum())
        assert chain.closed == (points[0] == points[-1]).all()


def test_nothing_drawn_has_no_faces():
    assert not len(half_edges_of(np.empty(0, dtype=object)).area_m2)
    assert not len(plain_shapes(np.empty(0, dtype=object)))
