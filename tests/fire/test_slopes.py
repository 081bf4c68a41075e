"""Slopes of stretches and units on surfaces whose derivatives are known, and what is told of them.

*Source* of what is expected: the derivatives of the formulas in tests/made_heights.py.
"""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.core.layer import conform, empty
from pipeline.fire.slope.findings import find_slopes
from pipeline.fire.slope.layers import BREAK_SLOPES, UNIT_SLOPES
from pipeline.fire.slope.settings import SlopeSettings
from pipeline.fire.slope.slopes import measure_break_slopes, measure_unit_slopes
from pipeline.ground.geometry import area_ac, length_ft
from pipeline.intake.layers import ELEVATION
from tests.made_heights import cone, plane, saddle, write_heights
from tests.made_properties import CRS

SIDES = {  # of a square block, which lies on the left hand
    "south": [(-200, -200), (200, -200)],
    "east": [(200, -200), (200, 200)],
    "north": [(200, 200), (-200, 200)],
    "west": [(-200, 200), (-200, -200)],
}


def elevation_of(folder, surface, grid="utm_10m", **more):
    row = write_heights(folder / "heights.tif", surface, grid, **more)
    return conform(pd.DataFrame([row]), ELEVATION)


def stretches(neighbor=None):
    lines = gpd.GeoSeries([shapely.LineString(line) for line in SIDES.values()], crs=CRS)
    columns = {
        "break_id": list(SIDES),
        "block": "B",
        "neighbor_block": neighbor,
        "status": "prepare",
        "length_ft": length_ft(lines),
        "make_mown_ft": [20.0, 0.0, 20.0, 0.0],
    }
    return gpd.GeoDataFrame(columns, geometry=lines, crs=CRS)


def break_slopes(elevation, neighbor=None, **settings):
    made = measure_break_slopes(stretches(neighbor), elevation, SlopeSettings(**settings))
    return conform(made, BREAK_SLOPES, CRS).set_index("break_id")


def units(**shapes):
    frame = gpd.GeoDataFrame({"unit_id": list(shapes)}, geometry=list(shapes.values()), crs=CRS)
    frame["gross_ac"] = area_ac(frame.geometry)
    return frame.assign(geometry=frame.geometry.map(lambda s: shapely.MultiPolygon([s])))


def unit_slopes(elevation, shapes, **settings):
    made = measure_unit_slopes(units(**shapes), elevation, SlopeSettings(**settings))
    return conform(made, UNIT_SLOPES).set_index("unit_id")


@pytest.mark.parametrize("grid", ["utm_10m", "us_feet", "rotated", "web_mercator"])
def test_stretches_on_a_plane(tmp_path, grid):
    rows = break_slopes(elevation_of(tmp_path, plane, grid))
    assert list(rows.loc[list(SIDES), "across_pct"]) == pytest.approx([-5, 12, 5, -12], abs=0.006)
    assert list(rows.loc[list(SIDES), "rise_pct"]) == pytest.approx([-5, 12, 5, -12], abs=0.006)
    assert list(rows.loc[list(SIDES), "along_mean_pct"]) == pytest.approx([12, 5, 12, 5], abs=0.006)
    ratio = rows["surface_ft"] / rows["length_ft"]
    assert ratio["north"] == pytest.approx(np.hypot(1, 0.12), abs=1e-6)
    assert ratio["east"] == pytest.approx(np.hypot(1, 0.05), abs=1e-6)
    assert (rows["known_pct"] == 100).all()
    assert rows["neighbor_rise_pct"].isna().all()


def test_a_shared_edge_is_seen_from_both_sides(tmp_path):
    rows = break_slopes(elevation_of(tmp_path, plane), neighbor="C", steep_pct=10)
    assert list(rows["neighbor_rise_pct"]) == pytest.approx(list(-rows["rise_pct"]), abs=1e-6)
    heads = rows["uphill_ft"] / rows["length_ft"]
    assert dict(heads) == {"south": 0, "east": 1, "north": 0, "west": 0}
    others = rows["neighbor_uphill_ft"] / rows["length_ft"]
    assert dict(others) == {"south": 0, "east": 0, "north": 0, "west": 1}


def test_feet_at_the_head_of_a_slope_on_a_saddle(tmp_path):
    # Height x y / 4000: along the north side (y = 200 m) the ground rises outward by x / 4000,
    # which is 3 % or more over the last 80 m of its 400.
    rows = break_slopes(elevation_of(tmp_path, saddle), steep_pct=3)
    assert rows.loc["north", "uphill_ft"] == pytest.approx(80 / 0.3048, abs=10 / 0.3048)
    assert rows.loc["north", "across_pct"] == pytest.approx(0, abs=0.01)
    assert rows.loc["north", "across_most_pct"] == pytest.approx(100 * 195 / 4000, abs=0.01)


def test_feet_above_the_limit_of_the_mower(tmp_path):
    steep = break_slopes(elevation_of(tmp_path, plane), mower_limit_pct=12.9)
    assert list(steep["over_mower_ft"]) == pytest.approx(list(steep["length_ft"]))
    none = break_slopes(elevation_of(tmp_path, plane), mower_limit_pct=13.1)
    assert (none["over_mower_ft"] == 0).all()


def test_units_on_a_plane_and_on_a_cone(tmp_path):
    square = shapely.box(-200, -200, 200, 200)
    row = unit_slopes(elevation_of(tmp_path, plane), {"A": square}).loc["A"]
    assert [row["least_pct"], row["most_pct"]] == pytest.approx([13, 13], abs=0.006)
    # Falls west by south: atan2(-0.12, -0.05) from north, and the plane's grid north is true north
    # at its middle.
    assert row["aspect_deg"] == pytest.approx(np.degrees(np.arctan2(-12, -5)) % 360, abs=0.05)
    low, high = plane(-195, -195) / 0.3048, plane(195, 195) / 0.3048
    assert [row["lowest_ft"], row["highest_ft"]] == pytest.approx([low, high], abs=0.3)
    around = unit_slopes(elevation_of(tmp_path, cone), {"A": square}, mower_limit_pct=19).loc["A"]
    assert np.isnan(around["aspect_deg"]), "it falls every way"
    assert around["median_pct"] == pytest.approx(20, abs=0.05)
    assert around["over_mower_pct"] == pytest.approx(100, abs=2), "all but the tip"
    assert around["over_drill_pct"] == 0


def test_share_above_a_limit(tmp_path):
    # Saddle: slope is distance from the middle / 4000, above 2.5 % outside a circle of 100 m.
    row = unit_slopes(
        elevation_of(tmp_path, saddle),
        {"A": shapely.box(-200, -200, 200, 200)},
        mower_limit_pct=2.5,
        drill_limit_pct=5,
    ).loc["A"]
    assert row["over_mower_pct"] == pytest.approx(100 * (1 - np.pi * 100**2 / 400**2), abs=0.5)
    outside = 1 - np.pi * 200**2 / 400**2
    assert row["over_drill_pct"] == pytest.approx(100 * outside, abs=0.5)


def test_a_unit_smaller_than_a_pixel_has_one_place(tmp_path):
    small = {"A": shapely.box(10, 10, 13, 13)}
    row = unit_slopes(elevation_of(tmp_path, plane), small).loc["A"]
    assert row["most_pct"] == pytest.approx(13, abs=0.006)


def test_nothing_is_made_without_heights():
    none = empty(ELEVATION)
    assert measure_break_slopes(stretches(), none, SlopeSettings()).empty
    assert measure_unit_slopes(units(A=shapely.box(0, 0, 9, 9)), none, SlopeSettings()).empty


def found(elevation, shapes, *, drilled=(), **settings):
    told = SlopeSettings(**settings)
    lines = stretches()
    seedings = [{"area": "S", "unit_id": unit, "method": "drill"} for unit in drilled]
    findings = find_slopes(
        units(**shapes),
        pd.DataFrame(seedings, columns=["area", "unit_id", "method"]),
        lines,
        conform(measure_unit_slopes(units(**shapes), elevation, told), UNIT_SLOPES),
        conform(measure_break_slopes(lines, elevation, told), BREAK_SLOPES, CRS),
        told,
    )
    return findings.set_index("code")


def test_one_finding_a_block_with_the_total(tmp_path):
    square = {"A": shapely.box(-200, -200, 200, 200)}
    rows = found(elevation_of(tmp_path, plane), square, steep_pct=4, mower_limit_pct=10)
    # East (12 %) and north (5 %) sides, 400 m each; mown are the south and the north side.
    assert rows.loc["head_of_slope", "message"].startswith("2,625 ft of edge")
    assert "up to 12 %" in rows.loc["head_of_slope", "message"]
    assert "widths are unchanged" in rows.loc["head_of_slope", "message"]
    assert rows.loc["too_steep_to_mow", "message"].startswith("2,625 ft of edge to be mown")
    assert list(rows["subject"]) == ["B", "B"]
    assert list(rows["amount"]) == pytest.approx([2624.67, 2624.67], abs=1)


def test_drilled_units_above_the_limit_of_the_drill(tmp_path):
    shapes = {"A": shapely.box(-200, -200, 200, 200), "C": shapely.box(200, -200, 300, 200)}
    rows = found(elevation_of(tmp_path, plane), shapes, drilled=["C"], drill_limit_pct=10)
    assert rows.loc["too_steep_to_drill", "subject"] == "C"
    # 100 by 400 m, all of it steeper: 9.88 acres of 4,046.86 square meters.
    assert rows.loc["too_steep_to_drill", "amount"] == pytest.approx(9.88, abs=0.1)


def test_units_without_heights_are_told_once(tmp_path):
    shapes = {"A": shapely.box(-200, -200, 200, 200), "C": shapely.box(500, -200, 900, 200)}
    elevation = elevation_of(tmp_path, plane)
    rows = found(elevation, shapes)
    assert "C (" in rows.loc["heights_unknown", "message"]
    assert "A (" not in rows.loc["heights_unknown", "message"]
    nothing = elevation_of(tmp_path, lambda x, y: np.full_like(x, np.nan))
    assert (
        "no height is known on any unit" in found(nothing, shapes).loc["heights_unknown", "message"]
    )
