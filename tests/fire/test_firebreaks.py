"""Stretches, blocks and strips of whole made properties: what must hold whatever the map."""

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import affinity

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire import break_widths, burn_blocks, mowing, tie_ins
from pipeline.fire import findings as firebreak_findings
from pipeline.fire import stretches as firebreaks
from pipeline.fire.settings import FirebreakSettings, MowingSettings
from pipeline.ground import acreage
from pipeline.ground import edge_graph as edges
from pipeline.ground.outline_findings import find_acreage
from pipeline.ground.settings import AcreageSettings
from tests import made_properties as made

CELLS = made.mosaic(8, 5)
DRAWN = [made.redrawn(cell, 2.0, "jitter", np.random.default_rng(7)) for cell in CELLS]
NAMES = [f"U{number}" for number in range(8)]
BLOCK_OF = dict(zip(NAMES, ["A", "A", "B", None, "B", "A", None, "B"], strict=True))
UNITS = made.units_frame(DRAWN, NAMES)
BURNS = made.burns_frame(BLOCK_OF)
ROADS = [
    shapely.LineString([(-100, 1200), (3100, 1450)]),
    shapely.LineString([(1500, -100), (1500, 3100)]),
    shapely.LineString([(-3, -100), (-3, 1400)]),
    shapely.box(-500, 2000, 5, 3500),
]


def whole_run(units=UNITS, burns=BURNS, *, roads=(), exclusions=None, mow=None, **choices):
    """Every layer of the firebreak steps, conformed."""
    chosen, mow, ground = FirebreakSettings(**choices), mow or MowingSettings(), AcreageSettings()
    exclusions = exclusions if exclusions is not None else made.exclusions_frame()
    breaks = made.breaks_frame(roads, widths=[20.0] * len(roads))
    found = {}

    def keep(name, frame):
        found[name] = conform(frame, LAYERS[name], made.CRS)
        return found[name]

    measured = keep("units", acreage.measure_units(units, exclusions))
    drawn = keep("edges", edges.draw_edges(units, exclusions, ground))
    keep("acreage_findings", find_acreage(measured, units, drawn, ground))
    parts = keep("stretches", firebreaks.trace_stretches(drawn, breaks, burns, chosen))
    lines = keep("firebreaks", break_widths.measure_firebreaks(parts, breaks, burns, chosen, mow))
    places = keep("tie_ins", tie_ins.mark_tie_ins(parts, breaks, chosen, ground))
    shapes = keep("strip_shapes", mowing.draw_strips(parts, lines, mow))
    passes = keep("mow_passes", mowing.draw_passes(shapes, parts, mow))
    strips = keep("mow_strips", mowing.measure_strips(shapes, passes, mow))
    blocks = keep(
        "burn_blocks", burn_blocks.measure_blocks(burns, measured, exclusions, lines, strips)
    )
    keep("firebreak_findings", firebreak_findings.find_firebreaks(
        units, breaks, burns, lines, places, strips, blocks, chosen))  # fmt: skip
    return found


WITHOUT_ROADS = whole_run()
WITH_ROADS = whole_run(roads=ROADS)


@pytest.mark.parametrize("found", [WITHOUT_ROADS, WITH_ROADS], ids=["no roads", "roads"])
def test_sum_rules_hold_in_full_precision(found):
    blocks = found["burn_blocks"]
    assert len(blocks) == 2
    for block in blocks.itertuples():
        assert block.gross_ac == pytest.approx(
            block.excluded_ac + block.break_ac + block.burnable_ac, rel=1e-12
        )
        parts = block.existing_ft + block.gap_ft + block.prepare_ft
        assert block.perimeter_ft == pytest.approx(parts, rel=1e-12)
        assert block.perimeter_ft == pytest.approx(
            made.block_ft(found["firebreaks"])[block.block], rel=1e-12
        )


def test_stretches_close_around_the_ground_of_each_block():
    for block in ("A", "B"):
        parts = WITH_ROADS["stretches"]
        around = parts[(parts["block"] == block) | (parts["neighbor_block"] == block)]
        ground = firebreaks.block_ground(around.geometry.to_numpy())
        # Sum of stretches is the perimeter, to less than a millimeter.
        assert shapely.length(around.geometry.to_numpy()).sum() == pytest.approx(
            ground.length, abs=1e-3
        )
        drawn = shapely.union_all([s for s, n in zip(DRAWN, NAMES, strict=True)
                                   if BLOCK_OF[n] == block])  # fmt: skip
        assert ground.area == pytest.approx(drawn.area, rel=0.005)


@pytest.mark.parametrize("found", [WITHOUT_ROADS, WITH_ROADS], ids=["no roads", "roads"])
def test_no_stretch_has_a_side_that_is_only_rounding(found):
    # Such a side points anywhere, and the strip along the stretch would end that way.
    for line in found["stretches"].geometry:
        sides_m = np.hypot(*np.diff(shapely.get_coordinates(line), axis=0).T)
        assert sides_m.min() > firebreaks.ROUNDING_M


def test_ground_with_holes_that_touch_in_a_point_is_whole():
    frame, one, two = shapely.box(0, 0, 9, 9), shapely.box(1, 1, 3, 3), shapely.box(3, 3, 5, 5)
    lines = np.array([shapely.LineString(s.exterior.coords) for s in (frame, one, two)])
    assert firebreaks.block_ground(lines).area == pytest.approx(81 - 4 - 4)


def test_roads_change_status_and_no_length():
    before, after = WITHOUT_ROADS["burn_blocks"], WITH_ROADS["burn_blocks"]
    assert after["perimeter_ft"].to_numpy() == pytest.approx(before["perimeter_ft"].to_numpy())
    assert (before["existing_ft"] == 0).all()
    assert (after["existing_ft"] > 0).any()


def two_forties(**choices):
    """Two adjoining 40-acre squares burned as two blocks."""
    return whole_run(
        made.units_frame(made.grid(2, 1), ["W", "E"]),
        made.burns_frame({"W": "west", "E": "east"}, wind_from_deg=270.0), **choices,
    )  # fmt: skip


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
    lines = whole_run(units, made.burns_frame({"W": "both", "E": "both"}))["firebreaks"]
    assert lines["length_ft"].sum() == pytest.approx(6 * 1320, abs=0.1)


def test_moving_a_unit_out_of_the_burn_takes_its_outer_edges_along():
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    alone = whole_run(units, made.burns_frame({"W": "west", "E": None}))["firebreaks"]
    assert alone["length_ft"].sum() == pytest.approx(4 * 1320, abs=0.1)
    assert sorted(set(", ".join(alone["beyond"]).split(", "))) == ["E", "outside"]


def test_hole_in_a_road_is_listed_and_never_credited():
    road = [shapely.LineString([(-50, -6), (190, -6)]), shapely.LineString([(210, -6), (900, -6)])]
    found = two_forties(roads=road)
    lines = found["firebreaks"]
    gap = lines[lines["status"] == "gap"]
    assert gap["length_ft"].to_numpy() == pytest.approx([made.feet(20)], abs=0.1)
    assert set(found["tie_ins"]["kind"]) == {"gap", "tie-in"}
    existing = lines.loc[lines["status"] == "existing", "length_ft"].sum()
    assert existing == pytest.approx(2640 - made.feet(20), abs=0.2)


def test_line_between_two_blocks_is_tied_to_the_road_it_meets():
    found = two_forties(roads=[shapely.LineString([(-50, -6), (900, -6)])])
    places = found["tie_ins"]
    corner = shapely.Point(made.QUARTER_M, 0)
    near = places[shapely.distance(places.geometry.to_numpy(), corner) < 0.1]
    assert set(near["kind"]) == {"tie-in"}
    assert set(near["block"]) == {"east", "west"}
    assert near["distance_ft"].to_numpy() == pytest.approx(made.feet(6.0))


def test_mown_strip_is_the_exact_formula_and_burnable_ground_is_what_is_left():
    # Square of 1,320 ft, 20 ft inside: P w - 4 w2 = 104,000 sq ft.
    blocks = two_forties()["burn_blocks"]
    assert blocks["break_ac"].to_numpy() * 43560 == pytest.approx([104000] * 2, rel=1e-5)
    assert blocks["burnable_ac"].to_numpy() == pytest.approx([40 - 104000 / 43560] * 2, rel=1e-5)


def test_strip_outside_takes_nothing_from_the_block():
    blocks = two_forties(mow=MowingSettings(side="outside"))["burn_blocks"]
    assert blocks["break_ac"].to_numpy() == pytest.approx([0, 0], abs=1e-6)


def test_widths_by_side_and_what_is_missing():
    lines = two_forties()["firebreaks"]
    outer = lines[(lines["block"] == "east") & lines["neighbor_block"].isna()]
    by_side = outer.set_index("wind_side")[["required_ft", "planned_ft", "short_ft"]]
    # Fuel of 6 ft: ten times downwind, mown strip counts; twice elsewhere, it does not.
    assert by_side.loc["downwind"].tolist() == [60, 20, 40]
    assert by_side.loc["flank"].drop_duplicates().to_numpy().tolist() == [[12, 0, 12]]


def test_wind_that_may_shift_asks_for_the_widest():
    lines = two_forties(wind_arc_deg=180.0)["firebreaks"]
    assert (lines["required_ft"] == 60).all()


def test_unknown_wind_or_height_leaves_the_width_unknown_and_says_so():
    units = made.units_frame(made.grid(1, 1), ["W"])
    for missing in ({"wind_from_deg": np.nan}, {"fuel_height_ft": np.nan}):
        found = whole_run(units, made.burns_frame({"W": "west"}, **missing))
        assert found["firebreaks"]["required_ft"].isna().all()
        assert found["firebreak_findings"]["message"].str.contains("unknown, needs").any()


def test_fences_and_public_roads():
    road = shapely.LineString([(-50, -6), (900, -6)])
    breaks = made.breaks_frame([road, road, road], ["Fence", "county road", "private lane"])
    for answer, credited in (("all", [0, 1, 1]), ("private", [0, 0, 1]), ("none", [0, 0, 0])):
        assert firebreaks.credited(breaks, answer).tolist() == [bool(c) for c in credited]


def test_overlap_and_gap_wider_than_the_slop_are_told_with_their_acres():
    shapes = [shapely.box(0, 0, 400, 400), shapely.box(380, 0, 800, 400),
              shapely.box(0, 420, 800, 800), shapely.box(-100, 0, 0, 800),
              shapely.box(800, 0, 900, 800)]  # fmt: skip
    found = whole_run(made.units_frame(shapes, list("abcde")), made.burns_frame({"a": "A"}))
    messages = found["acreage_findings"]["message"]
    acres = 20 * 400 / 4046.8564224
    assert messages.str.contains(f"both cover the same {acres:.2f} ac", regex=False).sum() == 1
    assert messages.str.contains("between units belong to none", regex=False).sum() == 1


def test_strip_on_ground_that_is_not_ours_is_told_with_its_acres():
    # Square of 1,320 ft, 20 ft outside: 4 x 1,320 x 20 ft and round corners, pi 20^2.
    (square,) = made.grid(1, 1)
    units, burns = made.units_frame([square], ["W"]), made.burns_frame({"W": "west"})
    found = whole_run(units, burns, mow=MowingSettings(side="outside"))["firebreak_findings"]
    acres = (4 * 1320 * 20 + np.pi * 20**2) / 43560
    asked = found[found["message"].str.contains("ask the neighbor")]
    assert asked["message"].str.startswith(f"{acres:.2f} ac of the strip lie outside").tolist() == [
        True
    ]
    inside = whole_run(units, burns)["firebreak_findings"]
    assert not inside["message"].str.contains("ask the neighbor").any()


def test_strip_outside_on_a_unit_of_ones_own_is_not_told():
    units = made.units_frame(made.grid(3, 3), [f"U{n}" for n in range(9)])
    burns = made.burns_frame({"U4": "middle"})
    found = whole_run(units, burns, mow=MowingSettings(side="outside"))
    assert found["mow_strips"]["area_ac"].sum() > 2
    assert not found["firebreak_findings"]["message"].str.contains("ask the neighbor").any()


def test_strip_inside_over_a_sliver_within_the_slop_is_not_the_neighbors():
    # The smaller unit's edge is drawn 4 m out, onto the larger one's.
    shapes = [shapely.box(0, 0, 400, 300), shapely.box(404, 0, 904, 300)]
    found = whole_run(made.units_frame(shapes, ["W", "E"]), made.burns_frame({"W": "west"}))
    assert found["mow_strips"].total_bounds[2] == pytest.approx(404, abs=0.01)
    messages = found["firebreak_findings"]["message"]
    assert not messages.str.contains("ask the neighbor").any()


@pytest.mark.parametrize("kind", ["exclusion", "in-holding"])
def test_hole_in_a_block_is_an_inner_break_with_its_perimeter(kind):
    (square,) = made.grid(1, 1)
    hole = shapely.box(100, 100, 160, 140)
    held = kind == "in-holding"
    units = made.units_frame([square, hole] if held else [square], ["W", "H"] if held else ["W"])
    exclusions = made.exclusions_frame([] if held else [hole])
    lines = whole_run(units, made.burns_frame({"W": "west"}), exclusions=exclusions)["firebreaks"]
    by_ring = lines.groupby("ring")["length_ft"].sum()
    assert by_ring["outer"] == pytest.approx(5280, abs=0.1)
    assert by_ring["inner"] == pytest.approx(made.feet(200), abs=0.1)
    inner = lines[lines["ring"] == "inner"]
    assert set(inner["beyond"]) == {"H" if held else "wetland"}
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


def test_narrow_line_is_told_with_the_ground_that_counts():
    messages = two_forties()["firebreak_findings"]["message"]
    flank = messages[messages.str.contains("on the flank side")]
    assert len(flank)
    for message in flank:
        assert "needs 12 ft of bare, wet or burned-out line; planned 0 ft" in message
        assert "the 20 ft mown do not count under this rule" in message
    downwind = messages[messages.str.contains("on the downwind side")]
    assert downwind.str.contains("60 ft of bare, mown and burned-out ground together").all()
    assert not downwind.str.contains("do not count").any()


def test_own_rule_is_used_where_it_is_chosen():
    lines = two_forties(flank_rule="own", own_rule_source="county plan",
                        own_rule_at_least_ft=25.0, own_rule_counts="all")["firebreaks"]  # fmt: skip
    flank = lines[lines["rule"] == "own"]
    assert set(flank["wind_side"]) == {"flank"}
    assert flank[
        ["required_ft", "planned_ft", "short_ft"]
    ].drop_duplicates().to_numpy().tolist() == [[25, 20, 5]]


def test_sharp_corner_is_marked():
    spike = shapely.Polygon([(0, 0), (400, 0), (400, 40)])
    found = whole_run(made.units_frame([spike], ["s"]), made.burns_frame({"s": "S"}))
    corners = found["tie_ins"]
    assert corners["kind"].tolist() == ["sharp corner"]
    assert shapely.distance(corners.geometry.iloc[0], shapely.Point(0, 0)) < 0.01


@settings(max_examples=12, deadline=None, phases=[Phase.generate])
@given(st.permutations(range(8)))
def test_order_and_names_of_units_do_not_matter(order):
    names = [NAMES[i][::-1] for i in order]
    units = made.units_frame([DRAWN[i] for i in order], names)
    burns = made.burns_frame({name[::-1]: block for name, block in BLOCK_OF.items()})
    stretches = made.stretches_of(units, burns, breaks=made.breaks_frame(ROADS))
    for status in ("existing", "prepare"):
        assert made.block_ft(stretches, where=lambda f: f["status"] == status) == pytest.approx(  # noqa: B023
            made.block_ft(WITH_ROADS["stretches"], where=lambda f: f["status"] == status),  # noqa: B023
            abs=1e-3,
        )


@settings(max_examples=12, deadline=None, phases=[Phase.generate])
@given(st.integers(-50, 3050), st.integers(-50, 3050), st.integers(0, 179))
def test_one_more_road_never_lowers_what_exists(east_m, north_m, angle_deg):
    road = affinity.rotate(shapely.LineString([(-900, 0), (900, 0)]), angle_deg)
    road = affinity.translate(road, east_m, north_m)
    more = made.stretches_of(UNITS, BURNS, breaks=made.breaks_frame([*ROADS, road]))
    existing = made.block_ft(more, where=lambda f: f["status"] == "existing")
    before = made.block_ft(WITH_ROADS["stretches"], where=lambda f: f["status"] == "existing")
    for block, length in before.items():
        assert existing.get(block, 0.0) >= length - 1.0


@settings(max_examples=12, deadline=None, phases=[Phase.generate])
@given(st.integers(3, 20), st.integers(0, 20))
def test_existing_grows_with_the_tolerance(along_ft, more_ft):
    lengths = [
        sum(made.block_ft(
            made.stretches_of(UNITS, BURNS, breaks=made.breaks_frame(ROADS), along_ft=tolerance),
            where=lambda f: f["status"] == "existing",
        ).values())
        for tolerance in (along_ft, along_ft + more_ft)
    ]  # fmt: skip
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
        made.block_ft(WITHOUT_ROADS["stretches"]), abs=within_ft
    )


def test_no_burns_no_rows_and_no_fuss():
    found = whole_run(burns=made.burns_frame({}))
    for name in ("stretches", "firebreaks", "tie_ins", "mow_strips", "mow_passes", "burn_blocks"):
        assert found[name].empty
