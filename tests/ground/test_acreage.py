"""Acres of units, gross and net."""

import geopandas as gpd
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.core.units import M2_PER_AC, M_PER_FT
from pipeline.ground import acreage
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.geometry import working_crs
from pipeline.ground.outline_findings import find_acreage
from pipeline.ground.settings import AcreageSettings
from tests.made_properties import exclusions_frame

CRS = working_crs(gpd.GeoSeries([shapely.box(-96.01, 39.99, -95.99, 40.01)], crs=4326))
QUARTER_M = 2640 * M_PER_FT
"""Side of a quarter section: 160 acres, half a mile (43 U.S.C. 751-753, the public land survey)."""


def drawn(*shapes):
    return gpd.GeoDataFrame(
        {
            "unit_id": [f"U{n}" for n in range(len(shapes))],
            "name": None,
            "cover": None,
            "stated_ac": float("nan"),
        },
        geometry=list(shapes),
        crs=CRS,
    )


def excluded(*shapes_and_purposes):
    rows = [
        {"exclusion_id": n, "kind": "pond", "applies_to": purpose, "geometry": shape}
        for n, (shape, purpose) in enumerate(shapes_and_purposes)
    ]
    if not rows:
        return empty(LAYERS["exclusions"], CRS)
    return gpd.GeoDataFrame(rows, crs=CRS)


def measured(units, exclusions):
    return conform(acreage.measure_units(units, exclusions), LAYERS["units"], CRS).iloc[0]


def test_quarter_section_is_160_acres_and_two_miles_around():
    unit = measured(drawn(shapely.box(0, 0, QUARTER_M, QUARTER_M)), excluded())
    assert unit["gross_ac"] == pytest.approx(160, rel=1e-6)
    assert unit["perimeter_ft"] == pytest.approx(2 * 5280, rel=1e-6)
    assert unit["burnable_ac"] == unit["gross_ac"]


def test_exclusion_counts_only_for_its_purpose_and_overlaps_count_once():
    acre_m = M2_PER_AC**0.5
    one = shapely.box(10, 10, 10 + acre_m, 10 + acre_m)
    half = shapely.box(10, 10, 10 + acre_m, 10 + acre_m / 2)
    seed_only = shapely.box(300, 300, 300 + acre_m, 300 + acre_m)
    outside = shapely.box(-acre_m, 0, 0, acre_m)
    unit = measured(
        drawn(shapely.box(0, 0, QUARTER_M, QUARTER_M)),
        excluded((one, "both"), (half, "burn"), (seed_only, "seed"), (outside, "both")),
    )
    assert unit["no_burn_ac"] == pytest.approx(1, rel=1e-6)
    assert unit["no_seed_ac"] == pytest.approx(2, rel=1e-6)
    assert unit["gross_ac"] == unit["burnable_ac"] + unit["no_burn_ac"]


# Found by chance: coordinates so near zero that the overlay gives up on them.
@example([((0, 0, 1, 1), "burn"), ((1.1e-308, 1, 1, 1), "burn"), ((-1e-323, 0, 1, 1.25), "burn")])
@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.tuples(*[st.floats(-200, 900)] * 2, *[st.floats(1, 500)] * 2),
            st.sampled_from(["burn", "seed", "both"]),
        ),
        max_size=5,
    )
)
def test_parts_always_add_up_to_the_whole(boxes):
    exclusions = excluded(
        *((shapely.box(x, y, x + w, y + h), purpose) for (x, y, w, h), purpose in boxes)
    )
    unit = measured(drawn(shapely.box(0, 0, QUARTER_M, QUARTER_M)), exclusions)
    assert unit["burnable_ac"] + unit["no_burn_ac"] == pytest.approx(unit["gross_ac"], rel=1e-12)
    assert unit["seedable_ac"] + unit["no_seed_ac"] == pytest.approx(unit["gross_ac"], rel=1e-12)


def squares(*corners_m):
    """Forties whose lower left corners lie so far along the diagonal of the property."""
    side = QUARTER_M / 2
    return drawn(*(shapely.box(at, at, at + side, at + side) for at in corners_m))


@pytest.mark.parametrize(
    ("units", "exclusions", "expected"),
    [
        (squares(0, QUARTER_M), [], [80, 0, 80, 0, 80]),
        # Half a side along the diagonal: a quarter of a forty is in both.
        (squares(0, QUARTER_M / 4), [], [80, 10, 70, 0, 70]),
        (squares(0, QUARTER_M / 4, QUARTER_M / 4), [], [120, 50, 70, 0, 70]),
        # The ground that both cover is left out of burning: once.
        (squares(0, QUARTER_M / 4), [shapely.box(400, 400, 600, 600)], None),
    ],
)
def test_totals_are_the_units_summed_the_ground_and_what_is_counted_twice(
    units, exclusions, expected
):
    left_out = excluded(*((shape, "burn") for shape in exclusions))
    measured_units = conform(acreage.measure_units(units, left_out), LAYERS["units"], CRS)
    totals = conform(acreage.sum_ground(measured_units, left_out), LAYERS["ground_totals"]).iloc[0]
    columns = ["units_ac", "overlap_ac", "ground_ac", "no_burn_ac", "burnable_ac"]
    if expected is None:
        pond = 200 * 200 / M2_PER_AC
        expected = [80, 10, 70, pond, 70 - pond]
    assert totals["units"] == len(units)
    assert totals[columns].tolist() == pytest.approx(expected, rel=1e-5, abs=1e-5)


def test_tiny_separate_piece_is_told_with_its_place():
    crumb = shapely.box(900, 900, 905, 905)
    units = drawn(shapely.MultiPolygon([shapely.box(0, 0, 500, 500), crumb]))
    layer = conform(acreage.measure_units(units, excluded()), LAYERS["units"], CRS)
    found = find_acreage(
        layer, units, draw_edges(units, exclusions_frame(), AcreageSettings()), AcreageSettings()
    )
    assert list(found["subject"]) == ["U0"]
    assert "0.0062 ac" in found["message"].iloc[0]
    assert found.geometry.iloc[0].within(crumb)


def test_no_finding_for_a_unit_in_one_piece():
    units = drawn(shapely.box(0, 0, 100, 100))
    layer = conform(acreage.measure_units(units, excluded()), LAYERS["units"], CRS)
    assert find_acreage(
        layer, units, draw_edges(units, exclusions_frame(), AcreageSettings()), AcreageSettings()
    ).empty
