"""Invalid polygons mended: areas by hand, and the even-odd reading beside them where it differs."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from pipeline.intake.repair import made_valid, repair_polygons

LOCAL = "+proj=laea +lat_0=40 +lon_0=-96 +datum=WGS84 +units=m"
M2_PER_AC = 4046.8564224  # NIST SP 811 (2008), appendix B, of the international foot


def mend(shape):
    shapes, repairs = repair_polygons(gpd.GeoSeries([shape], crs=LOCAL))
    assert len(repairs) == 1
    return shapes.iloc[0], repairs[0]


# Areas that can be counted on squared paper [m²]: as drawn, mended.
COUNTED = {
    "ring traced twice": (
        Polygon([*box(0, 0, 100, 100).exterior.coords[:-1], *box(0, 0, 100, 100).exterior.coords]),
        20_000,
        10_000,
    ),
    "ring traced three times": (
        Polygon(
            [*box(0, 0, 100, 100).exterior.coords[:-1]] * 2 + [*box(0, 0, 100, 100).exterior.coords]
        ),
        30_000,
        10_000,
    ),
    "parts that overlap": (
        MultiPolygon([box(0, 0, 100, 100), box(50, 0, 150, 100)]),
        20_000,
        15_000,
    ),
    "same part twice": (MultiPolygon([box(0, 0, 100, 100)] * 2), 20_000, 10_000),
    "part inside another": (
        MultiPolygon([box(0, 0, 100, 100), box(20, 20, 40, 40)]),
        10_400,
        10_000,
    ),
    "part with a hole, drawn twice": (
        MultiPolygon([box(0, 0, 100, 100).difference(box(20, 20, 40, 40))] * 2),
        19_200,
        9_600,
    ),
    "hole that reaches out": (
        Polygon(box(0, 0, 100, 100).exterior, [box(95, 50, 105, 52).exterior]),
        9_980,
        9_990,
    ),
    "small loop at a corner": (
        Polygon([(0, 0), (100, 0), (100, 100), (0, 100), (0, 1), (1, -1), (-1, 1)]),
        None,
        None,
    ),
}


@pytest.mark.parametrize("kind", COUNTED)
def test_mended_area_is_the_ground_enclosed(kind):
    shape, before, after = COUNTED[kind]
    mended, repair = mend(shape)
    assert repair.refused is None
    assert mended.is_valid
    if before is not None:
        assert repair.before_ac == pytest.approx(before / M2_PER_AC, rel=1e-5)
        assert repair.after_ac == pytest.approx(after / M2_PER_AC, rel=1e-5)


def test_ring_that_crosses_itself_names_both_readings():
    # A square of 100 m whose outline passes a strip of 10 m by 10 m twice: 10,000 m² enclosed,
    # 9,900 m² by the even-odd rule.
    strip = [(40, 0), (40, 10), (50, 10), (50, 0), (40, 0), (40, 10), (50, 10), (50, 0)]
    shape = Polygon([(0, 0), *strip, (100, 0), (100, 100), (0, 100)])
    _, repair = mend(shape)
    assert repair.after_ac != pytest.approx(repair.before_ac, rel=1e-4)
    assert repair.other_ac is None or repair.other_ac != pytest.approx(repair.after_ac)


BY_HAND = {
    "bow-tie of 1.24 acres": Polygon([(0, 0), (100, 100), (100, 0), (0, 100)]),
    "hole outside": Polygon(box(0, 0, 100, 100).exterior, [box(200, 0, 300, 100).exterior]),
    "hole around": Polygon(box(0, 0, 100, 100).exterior, [box(-9, -9, 109, 109).exterior]),
    "line": Polygon([(0, 0), (100, 0), (50, 0)]),
}


@pytest.mark.parametrize("kind", BY_HAND)
def test_ambiguous_outline_is_refused(kind):
    assert mend(BY_HAND[kind])[1].refused


def test_small_bow_tie_is_mended():
    _, repair = mend(Polygon([(0, 0), (20, 20), (20, 0), (0, 20)]))
    assert repair.refused is None
    assert repair.before_ac == pytest.approx(0, abs=1e-5)
    assert repair.after_ac == pytest.approx(200 / M2_PER_AC, rel=1e-4)


def test_valid_polygons_are_left_as_they_are():
    shapes = gpd.GeoSeries(
        [box(0, 0, 9, 9), Polygon(box(0, 0, 9, 9).exterior, [box(1, 1, 2, 2).exterior])], crs=LOCAL
    )
    mended, repairs = repair_polygons(shapes)
    assert not repairs
    assert list(mended) == list(shapes)


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=4, max_size=12))
def test_whatever_is_drawn_comes_out_valid_and_no_larger_than_its_hull(points):
    shape = Polygon(points)
    mended = made_valid(shape)
    assert mended.is_valid
    assert mended.area <= shape.convex_hull.area + 1e-9
    assert {part.geom_type for part in shapely.get_parts(mended)} <= {"Polygon"}


@given(st.integers(0, 3), st.booleans())
def test_repair_does_not_depend_on_where_the_ring_starts(start, backwards):
    points = [(0, 0), (50, 0), (51, 1), (50, 2), (51, -1), (100, 0), (100, 100), (0, 100)]
    turned = np.roll(points, start, axis=0)[:: -1 if backwards else 1]
    _, repair = mend(Polygon(turned))
    _, plain = mend(Polygon(points))
    assert repair.after_ac == pytest.approx(plain.after_ac, rel=1e-12)
