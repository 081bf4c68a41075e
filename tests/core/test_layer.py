"""The exit gate: what a step returns must be what its layer declares."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import LineString, Point, box

from pipeline.core.layer import Column, Layer, conform, empty

LAYER = Layer(
    "fields",
    "MultiPolygon",
    "Fields.",
    (
        Column("unit_id", "text", "Name."),
        Column("net_ac", "number", "Acres.", lowest=0),
        Column("share_pct", "number", "Share.", nullable=True, lowest=0, highest=100),
        Column("kind", "text", "Kind.", nullable=True, choices=("wet", "dry")),
        Column("rows", "integer", "Count.", nullable=True),
        Column("seen", "date", "Day.", nullable=True),
        Column("closed", "flag", "Yes or no.", nullable=True),
    ),
    key=("unit_id",),
)


def frame():
    return gpd.GeoDataFrame(
        {
            "rows": [2, None],
            "unit_id": ["B", "A"],
            "net_ac": [1, 2],
            "share_pct": [np.nan, 12.5],
            "kind": ["wet", None],
            "seen": [pd.Timestamp("2026-05-01"), pd.NaT],
            "closed": [True, None],
        },
        geometry=[box(0, 0, 1, 1), box(1, 0, 2, 1)],
        crs=26914,
    )


def test_columns_types_and_order_are_as_declared():
    layer = conform(frame(), LAYER, 26914)
    assert list(layer.columns) == [*LAYER.column_names, "geometry"]
    assert list(layer["unit_id"]) == ["A", "B"]
    kinds = "object float64 float64 object Int64 datetime64[s] boolean"
    assert " ".join(map(str, layer.dtypes[:-1])) == kinds
    assert set(layer.geom_type) == {"MultiPolygon"}


def test_the_frame_that_came_in_is_left_alone():
    before = frame()
    conform(before, LAYER, 26914)
    assert before.equals(frame())


def test_empty_layers_of_two_properties_have_each_their_own_reference_system():
    """The blank frame is made once, and a batch comes through many systems."""
    first, second, bare = empty(LAYER, 26914), empty(LAYER, 26915), empty(LAYER)
    first["note"] = []
    assert (first.crs, second.crs, bare.crs) == (26914, 26915, None)
    assert list(second.columns) == list(bare.columns) == [*LAYER.column_names, "geometry"]


def test_empty_layer_conforms():
    layer = conform(empty(LAYER, 26914), LAYER, 26914)
    assert len(layer) == 0
    assert layer.crs == 26914


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda f: f.drop(columns="net_ac"), "missing"),
        (lambda f: f.assign(extra=1), "not declared"),
        (lambda f: f.assign(net_ac=[1, np.nan]), "empty"),
        (lambda f: f.assign(net_ac=[1, -1]), "below"),
        (lambda f: f.assign(net_ac=[1, np.inf]), "infinity"),
        (lambda f: f.assign(share_pct=[1, 101]), "above"),
        (lambda f: f.assign(kind=["wet", "green"]), "not among"),
        (lambda f: f.assign(unit_id=["A", "A"]), "twice"),
        (lambda f: f.assign(rows=["two", "3"]), "rows"),
        (lambda f: f.set_geometry([Point(0, 0)] * 2, crs=26914), "Point"),
        (lambda f: f.set_geometry([None, box(0, 0, 1, 1)], crs=26914), "null"),
        (lambda f: f.set_geometry([LineString([(0, 0), (1, 1)])] * 2, crs=26914), "LineString"),
        (lambda f: f.set_crs(26915, allow_override=True), "expected"),
    ],
)
def test_what_does_not_fit_is_refused_by_name(change, said):
    with pytest.raises(ValueError, match=rf"layer fields.*{said}"):
        conform(change(frame()), LAYER, frame().crs)
