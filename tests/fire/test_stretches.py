"""Stretches of whole made properties: what must hold whatever the map."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.core.units import M_PER_FT
from pipeline.fire import stretches
from pipeline.fire.block_model import BlockModel
from tests import made_properties as made
from tests.made_fire import (
    BLOCK_OF,
    BURNS,
    DRAWN,
    NAMES,
    ROADS,
    UNITS,
    fire_layers,
    mosaic_layers,
    two_forties,
)


def test_stretches_close_around_the_ground_of_each_block():
    for block in ("A", "B"):
        found = mosaic_layers(True)
        parts = found["stretches"]
        around = parts[(parts["block"] == block) | (parts["neighbor_block"] == block)]
        ground = BlockModel.of(found["edges"], found["checked_burns"]).ground(block)
        # Sum of stretches is the perimeter, to less than a millimeter.
        assert shapely.length(around.geometry.to_numpy()).sum() == pytest.approx(
            ground.length, abs=1e-3
        )
        pairs = zip(DRAWN, NAMES, strict=True)
        drawn = shapely.union_all([shape for shape, name in pairs if BLOCK_OF[name] == block])
        assert ground.area == pytest.approx(drawn.area, rel=0.005)


@pytest.mark.parametrize("with_roads", [False, True])
def test_no_stretch_has_a_side_that_is_only_rounding(with_roads):
    # Such a side points anywhere, and the strip along the stretch would end that way.
    for line in mosaic_layers(with_roads)["stretches"].geometry:
        sides_m = np.hypot(*np.diff(shapely.get_coordinates(line), axis=0).T)
        assert sides_m.min() > stretches.ROUNDING_M


def test_ground_with_holes_that_touch_in_a_point_is_whole():
    frame, one, two = (
        shapely.box(0, 0, 900, 900),
        shapely.box(100, 100, 300, 300),
        shapely.box(300, 300, 500, 500),
    )
    units = made.units_frame([frame, one, two], ["all", "one", "two"])
    found = fire_layers(units, made.burns_frame({"all": "B"}))
    ground = BlockModel.of(found["edges"], found["checked_burns"]).ground("B")
    assert ground.area == pytest.approx(810_000 - 2 * 40_000)


def test_roads_change_status_and_no_length():
    before, after = mosaic_layers(False)["burn_blocks"], mosaic_layers(True)["burn_blocks"]
    assert after["perimeter_ft"].to_numpy() == pytest.approx(before["perimeter_ft"].to_numpy())
    assert (before["existing_ft"] == 0).all()
    assert (after["existing_ft"] > 0).any()


def test_edge_between_two_blocks_stands_once_and_counts_in_both():
    lines = two_forties()["firebreaks"]
    assert lines["length_ft"].sum() == pytest.approx(9240, abs=0.1)
    shared = lines[lines["neighbor_block"].notna()]
    assert shared["length_ft"].to_numpy() == pytest.approx([1320], abs=0.05)
    assert made.block_ft(lines) == pytest.approx({"west": 5280, "east": 5280}, abs=0.1)
    # Wind from the west: the line between them is downwind of the west block.
    assert shared[["block", "wind_side", "neighbor_wind_side"]].to_numpy().tolist() == [
        ["east", "upwind", "downwind"]
    ]


def test_two_units_of_one_block_need_no_line_between_them():
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    lines = fire_layers(units, made.burns_frame({"W": "both", "E": "both"}))["firebreaks"]
    assert lines["length_ft"].sum() == pytest.approx(6 * 1320, abs=0.1)


def test_moving_a_unit_out_of_the_burn_takes_its_outer_edges_along():
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    alone = fire_layers(units, made.burns_frame({"W": "west", "E": None}))["firebreaks"]
    assert alone["length_ft"].sum() == pytest.approx(4 * 1320, abs=0.1)
    assert sorted(set(", ".join(alone["adjoining"]).split(", "))) == ["E", "outside"]


def test_hole_in_a_road_is_listed_and_never_credited():
    road = [shapely.LineString([(-50, -6), (190, -6)]), shapely.LineString([(210, -6), (900, -6)])]
    found = two_forties(roads=road)
    lines = found["firebreaks"]
    gap = lines[lines["status"] == "gap"]
    assert gap["length_ft"].to_numpy() == pytest.approx([made.feet(20)], abs=0.1)
    assert set(found["tie_ins"]["kind"]) == {"gap", "tie_in"}
    existing = lines.loc[lines["status"] == "existing", "length_ft"].sum()
    assert existing == pytest.approx(2640 - made.feet(20), abs=0.2)


@pytest.mark.parametrize("kind", ["exclusion", "in-holding"])
def test_hole_in_a_block_is_an_inner_break_with_its_perimeter(kind):
    (square,) = made.grid(1, 1)
    hole = shapely.box(100, 100, 160, 140)
    held = kind == "in-holding"
    units = made.units_frame([square, hole] if held else [square], ["W", "H"] if held else ["W"])
    exclusions = made.exclusions_frame([] if held else [hole])
    lines = fire_layers(units, made.burns_frame({"W": "west"}), exclusions=exclusions)["firebreaks"]
    by_ring = lines.groupby("ring")["length_ft"].sum()
    assert by_ring["outer"] == pytest.approx(5280, abs=0.1)
    assert by_ring["inner"] == pytest.approx(made.feet(200), abs=0.1)
    inner = lines[lines["ring"] == "inner"]
    assert set(inner["adjoining"]) == {"H" if held else "wetland"}
    # Outward of the block is into the hole: its north side faces south, where the wind comes from.
    north = inner.loc[inner.geometry.centroid.y.idxmax()]
    assert set(inner["wind_side"]) == {"downwind", "upwind"}
    assert north["wind_side"] == "upwind"


def test_bearing_is_the_outward_direction_and_not_the_one_along():
    lines = two_forties()["firebreaks"]
    outer = lines[lines["neighbor_block"].isna() & (lines["block"] == "east")]
    # Wind from 270 goes to 90: the side that faces east is downwind.
    facing = outer.set_index("wind_side")["bearing_deg"]
    assert facing["downwind"] == pytest.approx(90, abs=0.5)


@settings(max_examples=12, deadline=None, phases=[Phase.generate])
@given(st.permutations(range(8)))
def test_order_and_names_of_units_do_not_matter(order):
    names = [NAMES[i][::-1] for i in order]
    units = made.units_frame([DRAWN[i] for i in order], names)
    burns = made.burns_frame({name[::-1]: block for name, block in BLOCK_OF.items()})
    stretches = made.stretches_of(units, burns, breaks=made.breaks_frame(ROADS))
    for status in ("existing", "prepare"):
        assert made.block_ft(stretches, where=lambda f: f["status"] == status) == pytest.approx(  # noqa: B023
            made.block_ft(mosaic_layers(True)["stretches"], where=lambda f: f["status"] == status),  # noqa: B023
            abs=1e-3,
        )


@settings(max_examples=12, deadline=None, phases=[Phase.generate])
@given(st.integers(-50, 3050), st.integers(-50, 3050), st.integers(0, 179))
def test_one_more_road_never_lowers_what_exists(east_m, north_m, angle_deg):
    road = affinity.rotate(shapely.LineString([(-900, 0), (900, 0)]), angle_deg)
    road = affinity.translate(road, east_m, north_m)
    more = made.stretches_of(UNITS, BURNS, breaks=made.breaks_frame([*ROADS, road]))
    existing = made.block_ft(more, where=lambda f: f["status"] == "existing")
    before = made.block_ft(
        mosaic_layers(True)["stretches"], where=lambda f: f["status"] == "existing"
    )
    for block, length in before.items():
        assert existing.get(block, 0.0) >= length - 1.0


@settings(max_examples=12, deadline=None, phases=[Phase.generate])
@given(st.integers(3, 20), st.integers(0, 20))
def test_existing_grows_with_the_tolerance(along_ft, more_ft):
    roads, lengths = made.breaks_frame(ROADS), []
    for tolerance in (along_ft, along_ft + more_ft):
        found = made.stretches_of(UNITS, BURNS, breaks=roads, along_ft=tolerance)
        existing = made.block_ft(found, where=lambda f: f["status"] == "existing")
        lengths.append(sum(existing.values()))
    assert lengths[1] >= lengths[0] - 1.0


@pytest.mark.parametrize(
    ("epsg", "within_ft"),
    [
        pytest.param(4269, 0.5, id="degrees"),
        pytest.param(26914, 0.5, id="UTM 14"),
        pytest.param(26915, 0.5, id="UTM 15"),
        pytest.param(3857, 0.5, id="Web Mercator"),
        pytest.param(2278, 0.5, id="US survey feet"),
    ],
)
def test_the_property_measures_the_same_from_every_crs(epsg, within_ft):
    there = gpd.GeoSeries(DRAWN, crs=made.CRS).to_crs(epsg)
    back = there.to_crs(made.CRS)
    stretches = made.stretches_of(made.units_frame(back.to_numpy(), NAMES), BURNS)
    assert made.block_ft(stretches) == pytest.approx(
        made.block_ft(mosaic_layers(False)["stretches"]), abs=within_ft
    )


def test_no_burns_no_rows_and_no_fuss():
    found = fire_layers(UNITS, made.burns_frame({}))
    for name in ("stretches", "firebreaks", "tie_ins", "mow_strips", "mow_passes", "burn_blocks"):
        assert found[name].empty


@pytest.mark.parametrize(("away_ft", "credited"), [(35.8, True), (36.2, False)])
def test_road_counts_within_the_inner_reach_and_no_farther(away_ft, credited):
    south_m = -away_ft * M_PER_FT
    found = two_forties(roads=[shapely.LineString([(-50, south_m), (900, south_m)])])
    lines = found["firebreaks"]
    existing = lines.loc[lines["status"] == "existing", "length_ft"].sum()
    assert existing == pytest.approx(2640 * credited, abs=0.2)
    # Out of the inner reach it is told with its feet, not passed over.
    told = found["firebreak_findings"].query("code == 'break_beside'")["message"]
    assert (
        [message.split(" off")[0] for message in told] == []
        if credited
        else ["a lane runs beside 1,320 ft of edge, up to 36 ft"] * 2
    )
