"""Outlines drawn onto one another, on boxes whose ground is known."""

import numpy as np
import pytest
import shapely

from pipeline.ground.snapping import aligned_outlines

SLOP_M = 5.0


def aligned(shapes, slop_m):
    """The shapes after their outlines were drawn onto one another; these have one ring each."""
    outlines = aligned_outlines(shapes, slop_m)
    return [shapely.Polygon(ring) for ring in outlines.rings]


def test_earlier_outline_stays_and_the_later_one_moves_onto_it():
    first, second = shapely.box(0, 0, 400, 400), shapely.box(403, 0, 800, 400)
    stays, moves = aligned(np.array([first, second]), SLOP_M)
    assert stays.equals(first)
    assert moves.equals(shapely.box(400, 0, 800, 400))


def test_outline_farther_than_the_slop_stays():
    shapes = np.array([shapely.box(0, 0, 400, 400), shapely.box(405.1, 0, 800, 400)])
    assert [a.equals(b) for a, b in zip(aligned(shapes, SLOP_M), shapes, strict=True)] == [True] * 2


def test_outline_passes_the_mouth_of_a_slot_and_does_not_go_around_it():
    # A slot 6 m wide and 200 m deep in the south field: 406 m around for 6 m across.
    slot = shapely.box(197, 200, 203, 400)
    south, north = shapely.box(0, 0, 400, 400) - slot, shapely.box(0, 402, 400, 800)
    stays, moves = aligned(np.array([south, north]), SLOP_M)
    assert stays.area == pytest.approx(400 * 400 - 6 * 200)
    assert moves.area == pytest.approx(400 * 400)
    assert not moves.intersects(slot.buffer(-0.1))


def test_unit_that_folds_up_under_its_slop_encloses_nothing():
    field, thread = shapely.box(0, 0, 400, 400), shapely.box(400, 0, 402, 400)
    folded = aligned(np.array([field, thread]), SLOP_M)[1:]
    assert [shape.area for shape in folded] in ([], [0.0])
