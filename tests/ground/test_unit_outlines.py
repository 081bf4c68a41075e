"""Gaps, overlaps, narrow units and stepped outlines, against figures of plane geometry."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.core.units import M2_PER_AC, M_PER_FT
from pipeline.ground import unit_outlines
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.outline_findings import outline_findings
from pipeline.ground.settings import AcreageSettings
from tests import made_properties as made
from tests import made_unit_maps

SLOP_M, NEAR_M = 5.0, 15.0


def drawn(*shapes):
    return unit_outlines.DrawnPlane.of(made.units_frame(shapes).geometry)


def told(shapes, **choices):
    """Findings about the outlines of units U00, U01 and so on."""
    units, chosen = made.units_frame(shapes), AcreageSettings(**choices)
    return list(outline_findings(units, draw_edges(units, made.exclusions_frame(), chosen), chosen))


def side_by_side(gap_m):
    return [shapely.box(0, 0, 400, 300), shapely.box(400 + gap_m, 0, 900, 300)]


# A lane between two parallel sides of 300 m, open at both ends: width times length.
@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 14.5), st.floats(0, 90))
def test_open_gap_has_the_ground_of_its_length_and_width(gap_m, angle_deg):
    shapes = [affinity.rotate(s, angle_deg, origin=(0, 0)) for s in side_by_side(gap_m)]
    found = unit_outlines.gaps(drawn(*shapes), SLOP_M, NEAR_M)
    assert [(m.one, m.other, m.wide) for m in found] == [(0, 1, gap_m > SLOP_M)]
    # Vertices are rounded to a millimeter: half of one on either side.
    assert found[0].shape.area == pytest.approx(300 * gap_m, rel=1e-4, abs=300 * 0.001)


def test_gap_wider_than_the_near_miss_distance_is_ground_of_its_own():
    assert unit_outlines.gaps(drawn(*side_by_side(15.5)), SLOP_M, NEAR_M) == []


def test_units_that_meet_have_no_gap():
    assert unit_outlines.gaps(drawn(*made.grid(3, 3)), SLOP_M, NEAR_M) == []
    assert not [m for m in unit_outlines.overlaps(drawn(*made.grid(3, 3)), SLOP_M) if m.wide]


def test_outline_that_only_touches_the_window_around_both_units_is_no_trouble():
    # An arm of the west unit ends right where the window around both, three times 15 m, begins.
    west, east = side_by_side(12.0)
    arm = shapely.box(400 - 100, 345, 420, 400)
    joined = shapely.union_all([west, shapely.box(300, 300, 320, 345), arm])
    (found,) = unit_outlines.gaps(drawn(joined, east), SLOP_M, NEAR_M)
    assert found.shape.area == pytest.approx(300 * 12, rel=1e-4)


@pytest.mark.parametrize("kind", made_unit_maps.KINDS)
def test_map_without_a_misfit_tells_none_whatever_system_it_was_kept_in(kind):
    for system in (4326, 26914, 3857):
        shapes = made_unit_maps.in_system(made_unit_maps.KINDS[kind], system)
        plane = drawn(*shapes)
        assert unit_outlines.gaps(plane, SLOP_M, NEAR_M) == []
        assert unit_outlines.overlaps(plane, SLOP_M) == []
        assert unit_outlines.enclosed_gaps(plane, SLOP_M) == []


def test_curved_gap_has_the_ground_between_two_circles():
    # Rings of 200 and 208 m radius drawn with vertices of their own.
    inner = shapely.Point(0, 0).buffer(200, quad_segs=61)
    outer = shapely.Point(0, 0).buffer(400) - shapely.Point(0, 0).buffer(208, quad_segs=97)
    assert unit_outlines.enclosed_gaps(drawn(inner, outer), SLOP_M)[0].area == pytest.approx(
        np.pi * (208**2 - 200**2), rel=0.01
    )
    found = unit_outlines.gaps(drawn(inner, outer), SLOP_M, NEAR_M)
    assert sum(m.shape.area for m in found) == pytest.approx(np.pi * (208**2 - 200**2), rel=0.01)


def test_notch_in_one_outline_is_no_gap_between_units():
    notched = shapely.box(0, 0, 400, 300) - shapely.box(100, 250, 108, 300)
    assert unit_outlines.gaps(drawn(notched, shapely.box(400, 0, 800, 300)), SLOP_M, NEAR_M) == []


def test_third_unit_in_the_gap_takes_its_ground():
    west, east = side_by_side(12.0)
    strip = shapely.box(400, 0, 412, 200)
    found = unit_outlines.gaps(drawn(west, east, strip), SLOP_M, NEAR_M)
    between = [m for m in found if (m.one, m.other) == (0, 1)]
    assert sum(m.shape.area for m in between) == pytest.approx(12 * 100, rel=1e-4)


@pytest.mark.parametrize(("over_m", "wide"), [(3.0, False), (12.0, True)])
def test_overlap_has_the_ground_of_its_length_and_width(over_m, wide):
    found = unit_outlines.overlaps(drawn(*side_by_side(-over_m)), SLOP_M)
    assert [(m.wide, round(m.shape.area, 6)) for m in found] == [(wide, 300 * over_m)]


def test_open_gap_wider_than_the_slop_is_told_with_its_place_and_acres():
    gap_m = 30 * M_PER_FT
    found = told(side_by_side(gap_m))
    acres = 300 * gap_m / M2_PER_AC
    assert [finding["subject"] for finding in found] == ["U00, U01"]
    assert found[0]["message"].startswith(f"{acres:.2f} ac lie between these units")
    assert shapely.box(400, 0, 400 + gap_m, 300).buffer(0.1).covers(found[0]["geometry"])
    assert told(side_by_side(gap_m), near_miss_ft=25.0) == []


def test_slivers_of_a_pair_are_one_note_with_their_number_and_acres():
    # One gap and one overlap of 2 m along 150 m each: 600 m2, 0.148 ac.
    west = shapely.box(0, 0, 400, 300)
    east = shapely.Polygon([(402, 0), (402, 150), (398, 150), (398, 300), (900, 300), (900, 0)])
    found = told([west, east])
    assert [(f["severity"], f["subject"]) for f in found] == [("note", "U00, U01")]
    whole, half = f"{600 / M2_PER_AC:.3f} ac", f"{300 / M2_PER_AC:.3f} ac"
    assert found[0]["message"].startswith(f"2 slivers, {whole} in all")
    assert found[0]["message"].endswith(
        f"The largest has {half}. By pairs of units: 2 between U00 and U01 ({whole})"
    )
    assert found[0]["geometry"].area == pytest.approx(600, rel=0.01)


def test_slivers_of_all_pairs_are_one_note_with_the_largest_pair_first():
    # Gaps of 1, 3 and 2 m beside a side of 300 m: 300, 900 and 600 m2.
    west = np.cumsum([0, 401, 403, 402])
    (found,) = told([shapely.box(x, 0, x + 400, 300) for x in west])
    acres = [f"{m2 / M2_PER_AC:.3f} ac" for m2 in (1800, 900, 600, 300)]
    assert found["subject"] is None
    assert found["message"].startswith(f"3 slivers, {acres[0]} in all")
    assert found["message"].endswith(
        f"1 between U01 and U02 ({acres[1]}), 1 between U02 and U03 ({acres[2]}), "
        f"1 between U00 and U01 ({acres[3]})"
    )
    areas = [part.area for part in found["geometry"].geoms]
    assert areas == pytest.approx([900, 600, 300], rel=0.01)


def test_tiny_slivers_are_told_and_not_lost():
    # Gaps of 1 cm along 300 m: 3 m2, or 0.0007 ac, each.
    shapes = [shapely.box(400 * k + 0.01, 0, 400 * (k + 1), 300) for k in range(4)]
    (found,) = told(shapes)
    assert found["message"].startswith(f"3 slivers, {9 / M2_PER_AC:.3f} ac in all")
    assert "The largest has less than 0.001 ac" in found["message"]
    assert found["geometry"].area == pytest.approx(9, rel=0.01)


def test_slop_above_a_quarter_of_the_narrowest_unit_is_told_with_the_figures():
    # A strip of 50 ft beside a field; a quarter of it is 12.5 ft.
    strip = shapely.box(0, 0, 50 * M_PER_FT, 400)
    field = shapely.box(50 * M_PER_FT, 0, 500, 400)
    found = told([strip, field])
    assert [finding["subject"] for finding in found] == ["U00"]
    assert "at most 50 ft wide" in found[0]["message"]
    assert "lower slop_ft to 12.5" in found[0]["message"]
    assert told([strip, field], slop_ft=12.4) == []


def test_what_looks_left_over_from_drawing_is_to_be_deleted_first():
    # 3 m by 200 m: narrower than the slop of 16 ft. 14 m by 14 m: 0.0484 ac of 4,046.86 m2.
    wide, strip, scrap = (
        shapely.box(0, 0, 400, 300),
        *(shapely.box(1000 * n, 0, 1000 * n + w, h) for n, w, h in ((1, 3, 200), (2, 14, 14))),
    )
    found = [f for f in told([wide, strip, scrap]) if f["code"] == "left_over_unit"]
    assert [f["subject"] for f in found] == ["U01", "U02"]
    assert all("delete it if it is left over" in f["message"] for f in found)
    assert found[1]["amount"] == pytest.approx(0.0484, abs=1e-4)
    (larger,) = told([wide, shapely.box(1000, 0, 1015, 200)])
    assert larger["code"] == "narrow_unit"
    assert "delete" not in larger["message"]


def stepped(cell_m, count):
    """Outline of a triangle, its long side in steps of a cell, as traced from pixels."""
    stairs = [(k // 2 + k % 2, k // 2) for k in range(2 * count)]
    return shapely.Polygon(cell_m * np.array([*stairs, (count, count), (0, count)]))


@pytest.mark.parametrize("cell_m", [10.0, 30.0])
def test_outline_traced_from_pixels_is_told_with_the_size_of_its_steps(cell_m):
    outline = stepped(cell_m, 20)
    assert unit_outlines.step_m(outline) == pytest.approx(cell_m)
    assert unit_outlines.step_m(affinity.rotate(outline, 33)) == pytest.approx(cell_m)
    (found,) = told([outline])
    step_ft = cell_m / M_PER_FT
    assert f"steps of about {step_ft:.0f} ft" in found["message"]
    assert (
        f"unless smoothing_ft of [firebreaks] is at least {step_ft + 0.5:.0f}" in (found["message"])
    )


def test_length_of_a_stepped_side_is_41_percent_too_much():
    # A diagonal in steps is as long as the two sides of its right angle: the square root of 2.
    stairs = stepped(30.0, 50).length - 2 * 50 * 30.0
    assert stairs / np.hypot(1500, 1500) == pytest.approx(2**0.5, rel=1e-9)


@pytest.mark.parametrize(
    "shape",
    [
        shapely.box(0, 0, 400, 400),
        shapely.segmentize(shapely.box(0, 0, 400, 400), 5),
        shapely.Point(0, 0).buffer(200, quad_segs=32),
        made.mosaic(8, 5)[0],
        made.redrawn(made.mosaic(8, 5)[0], 2.0, "jitter", np.random.default_rng(7)),
    ],
    ids=["square", "square with vertices", "circle", "field", "field drawn by hand"],
)
def test_plain_outlines_are_not_taken_for_traced_ones(shape):
    assert unit_outlines.step_m(shape) is None


def test_overlap_and_gap_wider_than_the_slop_are_told_with_their_acres():
    corners = [
        (0, 0, 400, 400),
        (380, 0, 800, 400),
        (0, 420, 800, 800),
        (-100, 0, 0, 800),
        (800, 0, 900, 800),
    ]
    found = {finding["code"]: finding for finding in told([shapely.box(*c) for c in corners])}
    common, closed = 20 * 400 / M2_PER_AC, 20 * 800 / M2_PER_AC
    assert found["overlap"]["message"].startswith(f"both cover the same {common:.2f} ac")
    assert found["enclosed_gap"]["message"].startswith(f"{closed:.2f} ac between units")
