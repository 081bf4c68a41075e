"""Acres that a file states, told apart by how they were measured.

Planar areas are computed with pyproj and shapely on their own; Web Mercator stretches ground at
latitude B by about 1 / cos² B (J. P. Snyder, Map Projections: A Working Manual, USGS Professional
Paper 1395, 1987, chapter 7).
"""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Transformer
from shapely import box

from pipeline.ground.geometry import area_ac
from pipeline.intake.repair import Drawn
from pipeline.intake.stated_acres import (
    GEODESIC,
    areas_by_measure,
    find_stated_acres,
    read_stated,
    rounding_step,
)

M2_PER_AC = 4046.8564224
SIDES = (402.336, 311.0, 750.5, 90.25)
SQUARES = gpd.GeoSeries(
    [box(7e5 + n * 1000, 4.43e6, 7e5 + n * 1000 + s, 4.43e6 + s) for n, s in enumerate(SIDES)],
    crs="EPSG:26914",
)


def planar_ac(epsg):
    transformer = Transformer.from_crs(26914, epsg, always_xy=True)
    there = shapely.transform(SQUARES.to_numpy(), transformer.transform, interleaved=False)
    return shapely.area(there) / M2_PER_AC


STATED = {
    "ellipsoid": (area_ac(SQUARES), "4 of 4 are acres on the ellipsoid", "note"),
    "own grid": (planar_ac(26914), "4 of 4 are acres on the grid of the file's own", "note"),
    "Web Mercator": (planar_ac(3857), r"4 of 4 are Web Mercator acres (+70.", "warning"),
    "World Mercator": (planar_ac(3395), r"4 of 4 are World Mercator acres (+69.", "warning"),
    "square meters": (
        SQUARES.area.to_numpy(),
        "4 of 4 are square meters on the grid of the file's",
        "warning",
    ),
    "hectares": (area_ac(SQUARES) * M2_PER_AC / 1e4, "4 of 4 are hectares", "warning"),
    "nothing known": (area_ac(SQUARES) * 1.005, "4 of 4 are none of the usual", "warning"),
}


def find(stated):
    drawn = Drawn(SQUARES, "MultiPolygon", "u.shp", "units", unit_ids=["A", "B", "C", "D"])
    return find_stated_acres(SQUARES, np.asarray(stated, "float64"), drawn)


@pytest.mark.parametrize("kind", STATED)
def test_measure_is_named(kind):
    stated, words, severity = STATED[kind]
    summary, *rows = find(stated)
    assert words in summary["message"], summary["message"]
    assert summary["severity"] == severity
    assert not rows


def test_utm_is_named_where_the_file_is_in_degrees():
    areas = areas_by_measure(SQUARES.to_crs(4326))
    name = next(measure for measure in areas if "UTM" in measure.words)
    assert areas[name] == pytest.approx(SQUARES.area / M2_PER_AC, rel=1e-4)


def test_figures_rounded_to_a_hundredth_are_still_told():
    summary, *rows = find(np.round(planar_ac(3857), 2))
    assert "4 of 4 are Web Mercator acres" in summary["message"]
    assert not rows


def test_column_of_two_measures_is_taken_apart():
    # Seen in a published layer: most acres geodesic, some left over from a World Mercator map.
    stated = area_ac(SQUARES)
    stated[3] = planar_ac(3395)[3]
    summary, *rows = find(stated)
    assert "3 of 4 are acres on the ellipsoid" in summary["message"]
    assert "1 of 4 are World Mercator acres" in summary["message"]
    assert [row["row"] for row in rows] == [4]
    assert 'row 4, unit "D": the file states' in rows[0]["message"]


def test_stale_row_is_listed_and_empty_cells_are_passed_over():
    stated = area_ac(SQUARES)
    stated[1], stated[2] = stated[1] * 1.05, np.nan
    summary, row = find(stated)
    assert "2 of 3 are acres on the ellipsoid" in summary["message"]
    assert (row["row"], row["subject"]) == (2, "B")
    assert "(+5.0%)" in row["message"]
    assert not find([np.nan] * 4)


def test_a_stated_0_is_no_figure_as_a_blank_is_none():
    stated = area_ac(SQUARES)
    stated[1], stated[2] = 0.0, np.nan
    (summary,) = find(stated)
    assert "2 of 2 are acres on the ellipsoid" in summary["message"]
    assert summary["severity"] == "note"
    assert not find([0.0, np.nan, 0.0, 0.0])


def test_acres_off_are_the_amount_of_the_finding():
    stated = area_ac(SQUARES)
    stated[1] += 3.0
    _, row = find(stated)
    assert row["code"] == "acres_stated_off"
    assert row["amount"] == pytest.approx(3.0)


def test_coarse_figures_prove_nothing():
    stated = np.array([0.0, 1.0, 2.0, 3.0])
    assert rounding_step(list(stated)) == 1.0
    areas = {GEODESIC: np.array([0.4, 1.4, 2.4, 3.4])}
    assert not read_stated(stated, areas)


@pytest.mark.parametrize(("figures", "step"), [([40, 41.5], 0.1), ([40.25], 0.01), ([40, 7], 1)])
def test_rounding_step(figures, step):
    assert rounding_step(figures) == pytest.approx(step)
