"""Acres and edges of blocks, against squares whose figures are known."""

import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.fire import burn_blocks
from pipeline.fire.settings import MowingSettings
from pipeline.ground.acreage import measure_units
from tests import made_properties as made
from tests.made_fire import mosaic_layers, two_forties


def blocks_of(shapes, block_of, *, exclusions=None, strips=None):
    """Layer burn_blocks of made units."""
    left_out = made.exclusions_frame() if exclusions is None else exclusions
    units = conform(
        measure_units(made.units_frame(shapes, list(block_of)), left_out), LAYERS["units"], made.CRS
    )
    lines = empty(LAYERS["firebreaks"], made.CRS)
    mown = empty(LAYERS["mow_strips"], made.CRS) if strips is None else strips
    made_lines = empty(LAYERS["made_lines"], made.CRS)
    blocks = burn_blocks.measure_blocks(
        made.burns_frame(block_of), units, left_out, lines, mown, made_lines
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
    assert both["covered_ac"] == pytest.approx(80, rel=1e-5)
    assert both["burnable_ac"] == pytest.approx(80, rel=1e-5)
    assert both["unit_ids"] == "E, W"


def test_overlap_counts_in_the_sum_and_once_in_the_cover():
    # The east square drawn a tenth too far west: 4 acres are in both.
    west, east = made.grid(2, 1)
    east = shapely.transform(east, lambda xy: xy - [made.QUARTER_M / 10, 0])
    both = blocks_of([west, east], {"W": "both", "E": "both"}).loc["both"]
    assert both["gross_ac"] - both["covered_ac"] == pytest.approx(4, rel=1e-4)


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


def test_mown_strip_is_the_exact_formula_and_burnable_ground_is_what_is_left():
    # Square of 1,320 ft, 20 ft inside: P w - 4 w2 = 104,000 sq ft.
    blocks = two_forties(mow=MowingSettings(order=()))["burn_blocks"]
    assert blocks["break_ac"].to_numpy() * 43560 == pytest.approx([104000] * 2, rel=1e-5)
    assert blocks["burnable_ac"].to_numpy() == pytest.approx([40 - 104000 / 43560] * 2, rel=1e-5)


def test_strip_outside_takes_nothing_from_the_block():
    blocks = two_forties(mow=MowingSettings(side="outside", order=()))["burn_blocks"]
    assert blocks["break_ac"].to_numpy() == pytest.approx([0, 0], abs=1e-6)
