"""The tests' own maker of layers: what it fills in, and what it refuses."""

import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from tests.literal_layers import literal_layer


def test_cells_left_out_are_empty_and_dates_may_be_text():
    row = literal_layer("treatments", [{"unit_id": "A", "start": "2026-04-10", "kind": "burn"}])
    assert row["start"].tolist() == [pd.Timestamp("2026-04-10")]
    assert row["end"].isna().all()
    assert row["head"].isna().all()


def test_no_rows_are_the_empty_layer():
    assert list(literal_layer("species").columns) == LAYERS["species"].column_names
    assert literal_layer("units", crs=5070).crs == 5070


def test_shapes_stand_beside_their_rows():
    place = literal_layer("smoke_points", [{"kind": "house"}], [shapely.Point(1, 2)], 5070)
    assert place.geometry.tolist() == [shapely.Point(1, 2)]


def test_misspelled_column_does_not_pass_for_an_empty_cell():
    with pytest.raises(ValueError, match="treatments has no column"):
        literal_layer("treatments", [{"unit_id": "A", "strat": "2026-04-10", "kind": "burn"}])
