"""The record book: each row of the log with its acres, its owner and its ground."""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.log.treatment_log import why_left_out
from pipeline.records.layers import RECORD_BOOK

Row = Mapping[Any, Any]


def keep_records(
    treatments: pd.DataFrame,
    units: gpd.GeoDataFrame,
    drawn_units: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    property: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Layer ``record_book``: every row of the log but plans and days still to come.

    A row that no figure can use is here all the same: a spraying is kept by law, whether or not
    its unit is still on the map. Of a row that goes on, the days until the day looked at from.
    """
    as_of = property["as_of"].iloc[0]
    numbered = treatments.assign(
        number=range(1, len(treatments) + 1),
        left_out=why_left_out(treatments, units).map(lambda codes: codes[0] if codes else None),
    )
    told = numbered[numbered["start"].notna() | numbered["planned_start"].isna()]
    if pd.notna(as_of):
        told = told[~(told["start"] > as_of)]
        told = told.assign(end=told["end"].mask(told["end"] > as_of, as_of))
    if told.empty:
        return empty(RECORD_BOOK, units.crs)
    ground = dict(zip(units["unit_id"], units.geometry, strict=True))
    owners = dict(zip(drawn_units["unit_id"], drawn_units["owner"], strict=True))
    gross = dict(zip(units["unit_id"], units["gross_ac"], strict=True))
    drawn = [_drawn_burn(row, ground, burned_areas) for row in told.to_dict("records")]
    drawn_ac = area_ac(
        gpd.GeoSeries([shape or shapely.MultiPolygon() for shape in drawn], crs=units.crs)
    )
    own, whole = told["acres_treated_ac"].to_numpy(), told["unit_id"].map(gross).astype(float)
    is_drawn = np.array([shape is not None for shape in drawn])
    sources = [~np.isnan(own), is_drawn, whole.notna()]
    acres = np.select(sources, [own, drawn_ac, whole], default=np.nan)
    shapes = [shape or ground.get(unit) for shape, unit in zip(drawn, told["unit_id"], strict=True)]
    book = told.assign(
        end=told["end"].fillna(told["start"]),
        year=told["start"].dt.year.astype("Int64"),
        record_ac=acres,
        acres_from=np.select(sources, ["told", "drawn", "whole_unit"], default="unknown"),
        unit_pct=100 * acres / whole,
        owner=told["unit_id"].map(owners),
    )
    return gpd.GeoDataFrame(book, geometry=gpd.GeoSeries(shapes, book.index, units.crs))


def _drawn_burn(
    row: Row, ground: Mapping[str, shapely.Geometry], burned_areas: gpd.GeoDataFrame
) -> shapely.Geometry | None:
    """Part of the unit that a burn took, where it was drawn."""
    unit = ground.get(row["unit_id"])
    if row["kind"] != "burn" or unit is None:
        return None
    of_it = burned_areas["unit_id"].eq(row["unit_id"]) & burned_areas["date"].eq(row["start"])
    if not of_it.any():
        return None
    return polygonal(common(unit, united(burned_areas.loc[of_it, "geometry"].to_numpy())))
