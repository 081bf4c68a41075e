"""Acres and edges of blocks, against squares whose figures are known."""

import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.fire import burn_blocks
from pipeline.ground.acreage import measure_units
from tests import made_properties as made


def blocks_of(shapes, block_of, *, exclusions=None, strips=None, lines=None):
    """Layer burn_blocks of made units."""
    left_out = made.exclusions_frame() if exclusions is None else exclusions
    units = conform(
        measure_units(made.units_frame(shapes, list(block_of)), left_out), LAYERS["units"], made.CRS
    )
    return burn_blocks.measure_blocks(
        made.burns_frame(block_of), units, left_out,
        empty(LAYERS["firebreaks"], made.CRS) if lines is None else lines,
        empty(LAYERS["mow_strips"], made.CRS) if strips is None else strips,
    ).set_index("block")  # fmt: skip


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
    lines = pd.DataFrame({"block": ["A", "A", "B"], "neighbor_block": [None, "B", None],
                          "length_ft": [3.0, 5.0, 7.0]})  # fmt: skip
    assert burn_blocks.edge_ft(lines, pd.Series(["A", "B", "C"])).tolist() == [8.0, 12.0, 0.0]
