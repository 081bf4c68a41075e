"""Perimeter and ground of blocks, which must not change with the way a property is drawn.

The truth is a plain union of undisturbed units, whose sides coincide by construction.
"""

import numpy as np
import pytest
import shapely
from shapely import affinity

from tests import made_unit_maps
from tests.benchmarks import bench_blocks
from tests.made_unit_maps import KINDS, true_blocks, walked_blocks

# Vertices go onto a grid of a millimeter, on sides of 100 m and more; on curves those within 5 cm
# of the straight line are left out.
CLEAN = 1e-4

# Worst error of a block's perimeter in percent, for drawings whose vertices are farther apart than
# they miss by; the error of the drawing itself may come on top.
WORST_PCT = {0.0: 0.1, 2.0: 0.6, 5.0: 1.2, 8.0: 2.5, 12.0: 4.3, 15.0: 5.5}


def blocks_of(cells, seed=4):
    """Each unit in one of three blocks or left alone, so that some touch in corners only."""
    numbers = np.random.default_rng(seed).integers(0, 4, len(cells))
    return [["A", "B", "C", None][number] for number in numbers]


TRUTH = {kind: true_blocks(cells, blocks_of(cells)) for kind, cells in KINDS.items()}


def assert_same(found, truth, share):
    assert found.keys() == truth.keys()
    for block, figures in truth.items():
        assert found[block] == pytest.approx(figures, rel=share)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("from_deg", range(0, 360, 60))
def test_turning_the_property_changes_nothing(kind, from_deg):
    for turn_deg in (from_deg, from_deg + 15, from_deg + 35, from_deg + 50):
        cells = [affinity.rotate(cell, turn_deg, origin=(3e3, 1e3)) for cell in KINDS[kind]]
        found, model = walked_blocks(cells, blocks_of(cells))
        assert_same(found, TRUTH[kind], CLEAN)
        assert all(model.ground(name).is_valid for name in model.names)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", made_unit_maps.SYSTEMS)
def test_reference_system_changes_nothing(kind, system):
    shapes = made_unit_maps.in_system(KINDS[kind], system)
    blocks = blocks_of(shapes)
    # Areas are kept by the working plane, lengths to some parts in a hundred thousand; sides that
    # a system bends come back as chords.
    assert_same(walked_blocks(shapes, blocks)[0], TRUTH[kind], 1e-3)
    assert_same(walked_blocks(shapes, blocks)[0], true_blocks(shapes, blocks), CLEAN)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("east_m", "north_m"), [(0.0004, -0.0003), (137.7, -9.1), (-4e4, 6e4)])
def test_moving_the_property_changes_nothing(kind, east_m, north_m):
    cells = [affinity.translate(cell, east_m, north_m) for cell in KINDS[kind]]
    assert_same(walked_blocks(cells, blocks_of(cells))[0], TRUTH[kind], CLEAN)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(3))
def test_order_of_the_rows_changes_nothing(kind, seed):
    random = np.random.default_rng(seed)
    cells, blocks = KINDS[kind], blocks_of(KINDS[kind])
    drawn = np.array([made_unit_maps.redrawn(cell, 2.0, random) for cell in cells])
    order = random.permutation(len(cells))
    one, _ = walked_blocks(drawn, blocks)
    other, _ = walked_blocks(drawn[order], [blocks[number] for number in order])
    assert_same(other, one, 1e-9)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("miss_m", WORST_PCT)
def test_drawing_by_hand_adds_no_more_than_its_own_error(kind, miss_m):
    cells = KINDS[kind]
    spacing_m = (max(20.0, 2.5 * miss_m), max(60.0, 5 * miss_m))
    for seed in range(3):
        random = np.random.default_rng(seed)
        drawn = np.array([made_unit_maps.redrawn(c, miss_m, random, spacing_m) for c in cells])
        found, model = walked_blocks(drawn, blocks_of(cells), max(4.9, 1.5 * miss_m + 0.5))
        itself = np.abs(shapely.length(drawn) / shapely.length(cells) - 1).max()
        for block, (around_m, area_m2) in TRUTH[kind].items():
            assert model.ground(block).is_valid
            share = WORST_PCT[miss_m] / 100 + itself
            assert found[block][0] == pytest.approx(around_m, rel=share)
            # The outline as a whole moves by no more than half of what units miss by; curves are
            # redrawn with the vertices left out that lie within 50 cm of the straight line.
            moved_m = 0.5 * miss_m + 0.1
            assert found[block][1] == pytest.approx(area_m2, abs=moved_m * around_m)


def test_benchmark_prints_errors_by_slop_and_finds_nothing_lost(capsys):
    bench_blocks.main(8, [9])
    told = capsys.readouterr().out
    assert "units lost: 0 of" in told
    assert "strips lost: 0 of" in told
    assert "9 units: edge graph" in told
