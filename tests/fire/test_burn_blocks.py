"""Acres and edges of blocks, against squares whose figures are known."""

import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.core.units import M2_PER_AC, M_PER_FT
from pipeline.fire import burn_blocks
from pipeline.fire.block_model import BlockModel
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.ground.acreage import measure_units
from pipeline.ground.edge_graph import draw_edges
from pipeline.ground.gap_faces import is_wider
from pipeline.ground.settings import AcreageSettings
from tests import made_properties as made
from tests.made_fire import fire_layers, mosaic_layers, two_forties

SLOP_M = AcreageSettings().slop_ft * M_PER_FT


def blocks_of(shapes, block_of, *, exclusions=None, strips=None):
    """Layer burn_blocks of made units."""
    left_out = made.exclusions_frame() if exclusions is None else exclusions
    units = conform(
        measure_units(made.units_frame(shapes, list(block_of)), left_out), LAYERS["units"], made.CRS
    )
    lines = empty(LAYERS["firebreaks"], made.CRS)
    mown = empty(LAYERS["mow_strips"], made.CRS) if strips is None else strips
    made_lines = empty(LAYERS["made_lines"], made.CRS)
    burns, acreage = made.burns_frame(block_of), AcreageSettings()
    edges = draw_edges(made.units_frame(shapes, list(block_of)), left_out, acreage)
    blocks = burn_blocks.measure_blocks(
        burns, units, left_out, lines, mown, made_lines, BlockModel.of(edges, burns), SLOP_M
    )
    return blocks.set_index("block")


def strip(block, shape):
    frame = empty(LAYERS["mow_strips"], made.CRS)
    frame.loc[0, ["strip_id", "block"]] = ["1", block]
    return frame.set_geometry([shape], crs=made.CRS)


# A square of 1,320 ft is 40 acres.
def test_two_forties_in_one_block_are_eighty_acres():
    both = blocks_of(made.grid(2, 1), {"W": "both", "E": "both"}).loc["both"]
    assert both["gross_ac"] == pytest.approx(80, rel=1e-5)
    assert both["units_ac"] == pytest.approx(80, rel=1e-5)
    assert both["overlap_ac"] == pytest.approx(0, abs=1e-6)
    assert both["burnable_ac"] == pytest.approx(80, rel=1e-5)
    assert both["unit_ids"] == "E, W"


ACRES = ["units_ac", "overlap_ac", "gross_ac", "excluded_ac", "break_ac", "burnable_ac"]


def test_overlap_counts_in_the_sum_and_once_in_the_ground():
    # The east square drawn a tenth too far west: 4 acres are in both, a pond lies in them.
    west, east = made.grid(2, 1)
    east = shapely.transform(east, lambda xy: xy - [made.QUARTER_M / 10, 0])
    tenth = made.QUARTER_M / 10
    pond = made.exclusions_frame([shapely.box(9 * tenth, 0, 10 * tenth, 5 * tenth)])
    both = blocks_of([west, east], {"W": "both", "E": "both"}, exclusions=pond).loc["both"]
    assert both[ACRES].tolist() == pytest.approx([80, 4, 76, 2, 0, 74], rel=1e-4)


# Four forties, of which the middle 10 acres are another unit: an in-holding, drawn over the
# pasture, left out of it as a hole, or drawn over half a hole.
MIDDLE = shapely.box(*[made.QUARTER_M * 0.75] * 2, *[made.QUARTER_M * 1.25] * 2)
PASTURE = shapely.box(0, 0, 2 * made.QUARTER_M, 2 * made.QUARTER_M)
HALF = shapely.box(*[made.QUARTER_M * 0.75] * 2, made.QUARTER_M, made.QUARTER_M * 1.25)


@pytest.mark.parametrize(
    ("pasture", "expected"),
    [
        (PASTURE, [160, 10, 150, 0, 0, 150]),
        (PASTURE - MIDDLE, [150, 0, 150, 0, 0, 150]),
        (PASTURE - HALF, [155, 5, 150, 0, 0, 150]),
    ],
)
@pytest.mark.parametrize("other", [None, "house"])
def test_in_holding_of_another_is_not_in_the_acres_of_a_block(pasture, expected, other):
    blocks = blocks_of([pasture, MIDDLE], {"P": "big", "H": other})
    assert blocks.loc["big", ACRES].tolist() == pytest.approx(expected, rel=1e-4)
    assert shapely.intersection(blocks.loc["big", "geometry"], MIDDLE).area == pytest.approx(0)
    if other:
        assert blocks.loc[other, ACRES].tolist() == pytest.approx([10, 0, 10, 0, 0, 10], rel=1e-4)


def test_in_holding_that_burns_with_the_pasture_is_in_its_acres_once():
    both = blocks_of([PASTURE, MIDDLE], {"P": "all", "H": "all"}).loc["all"]
    assert both[ACRES].tolist() == pytest.approx([170, 10, 160, 0, 0, 160], rel=1e-4)


def test_unit_that_a_block_names_twice_counts_once():
    units = made.units_frame(made.grid(2, 1), ["W", "E"])
    once = made.burns_frame({"W": "both", "E": "both"}, wind_from_deg=float("nan"))
    twice = pd.concat([once, once[:1].assign(wind_from_deg=200.0)])
    none = made.exclusions_frame()
    names = ("firebreaks", "mow_strips", "made_lines")
    made_none = [empty(LAYERS[name], made.CRS) for name in names]
    model = BlockModel.of(draw_edges(units, none, AcreageSettings()), twice)
    block = burn_blocks.measure_blocks(
        twice, measure_units(units, none), none, *made_none, model, SLOP_M
    ).iloc[0]
    assert block[ACRES].tolist() == pytest.approx([80, 0, 80, 0, 0, 80], rel=1e-4, abs=1e-6)
    assert (block["unit_ids"], block["wind_from_deg"]) == ("E, W", 200)


def test_blocks_that_overlap_share_no_ground():
    # Three squares, each over a part of the next: every acre is in one block, the smallest unit's.
    shapes = [shapely.box(n * 200, 0, n * 200 + 500 - 60 * n, 500 - 60 * n) for n in range(3)]
    blocks = blocks_of(shapes, {"A": "one", "B": "two", "C": "three"})
    covered = shapely.union_all(shapes).area
    assert blocks.area.sum() == pytest.approx(covered, rel=1e-9)
    assert blocks["overlap_ac"].gt(0).tolist() == [True, False, True]


def test_mown_ground_that_is_excluded_already_is_not_taken_twice():
    # A quarter of the square is left out; a strip over its south half takes another quarter.
    (square,) = made.grid(1, 1)
    half = made.QUARTER_M / 2
    pond = made.exclusions_frame([shapely.box(0, 0, half, half)])
    mown = strip("A", shapely.box(0, 0, 2 * half, half))
    block = blocks_of([square], {"W": "A"}, exclusions=pond, strips=mown).loc["A"]
    assert block[["excluded_ac", "break_ac", "burnable_ac"]].tolist() == pytest.approx(
        [10, 10, 20], rel=1e-4
    )


def test_strip_outside_the_block_takes_none_of_its_ground():
    (square,) = made.grid(1, 1)
    mown = strip("A", shapely.box(-10, 0, 0, made.QUARTER_M))
    assert blocks_of([square], {"W": "A"}, strips=mown).loc["A", "break_ac"] == pytest.approx(0)


def test_edge_between_two_blocks_counts_in_both():
    rows = [("A", None, 3.0), ("A", "B", 5.0), ("B", None, 7.0)]
    lines = pd.DataFrame(rows, columns=["block", "neighbor_block", "length_ft"])
    assert burn_blocks.edge_ft(lines, pd.Series(["A", "B", "C"])).tolist() == [8.0, 12.0, 0.0]


@pytest.mark.parametrize("with_roads", [False, True])
def test_sum_rules_hold_in_full_precision(with_roads):
    found = mosaic_layers(with_roads)
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


def test_irregular_fields_redrawn_by_hand_leave_no_narrow_hole_in_their_blocks():
    blocks = mosaic_layers(False)["burn_blocks"]
    assert (blocks["slivers"] > 0).all()
    for shape in blocks.geometry:
        holes = [shapely.Polygon(ring) for part in shape.geoms for ring in part.interiors]
        assert all(is_wider(np.array([hole]), SLOP_M).all() for hole in holes)


def test_mown_strip_is_the_exact_formula_and_burnable_ground_is_what_is_left():
    # Square of 1,320 ft, 20 ft inside: P w - 4 w2 = 104,000 sq ft.
    blocks = two_forties(mow=MowingSettings(order=()))["burn_blocks"]
    assert blocks["break_ac"].to_numpy() * 43560 == pytest.approx([104000] * 2, rel=1e-5)
    assert blocks["burnable_ac"].to_numpy() == pytest.approx([40 - 104000 / 43560] * 2, rel=1e-5)


def test_strip_outside_takes_nothing_from_the_block():
    blocks = two_forties(mow=MowingSettings(side="outside", order=()))["burn_blocks"]
    assert blocks["break_ac"].to_numpy() == pytest.approx([0, 0], abs=1e-6)


def enclosed_ac(breaks):
    """Ground [acre] that stretches enclose with the block on their left hand (Green's theorem)."""
    twice = 0.0
    for line in breaks.geometry:
        (x1, y1), (x2, y2) = (shapely.get_coordinates(line)[part].T for part in PARTS)
        twice += float(np.sum(x1 * y2 - x2 * y1))
    return twice / 2 / M2_PER_AC


PARTS = (slice(None, -1), slice(1, None))


@pytest.mark.parametrize("pasture", [PASTURE, PASTURE - MIDDLE, PASTURE - HALF])
def test_acres_of_a_block_are_what_its_own_lines_enclose(pasture):
    # The in-holding is left out by a ring of its own, and out of the acres, however it is drawn.
    units = made.units_frame([pasture, MIDDLE], ["P", "H"])
    found = fire_layers(units, made.burns_frame({"P": "big", "H": None}))
    (block,) = found["burn_blocks"].itertuples()
    assert set(found["firebreaks"]["ring"]) == {"outer", "inner"}
    assert enclosed_ac(found["firebreaks"]) == pytest.approx(150, rel=1e-4)
    assert block.gross_ac == pytest.approx(enclosed_ac(found["firebreaks"]), rel=1e-5)
