"""What lies in and around a patch: natives on record within it, water near it."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.names import listed, spelling
from pipeline.core.species_names import species_value
from pipeline.core.units import M_PER_FT
from pipeline.season.plants.surveys import usable_rows
from pipeline.season.settings import CommunitySettings

NOT_WATER_BODIES = ("wet line",)
"""Kinds of the class water that are made on the day of a burn."""


MOST = 200
"""Names of natives that are told at most."""


def water_bodies(
    breaks: gpd.GeoDataFrame,
    break_credits: pd.DataFrame,
    exclusions: gpd.GeoDataFrame,
    break_kinds: pd.DataFrame,
) -> gpd.GeoDataFrame:
    """Water on the map, by the table of kinds: breaks, and exclusions whose kind it lists.

    A line with a width is as wide as that.
    """
    kinds = break_kinds[break_kinds["break_class"] == "water"]
    kinds = kinds[~kinds["break_kind"].isin(NOT_WATER_BODIES)]
    credited = break_credits[break_credits["break_kind"].isin(kinds["break_kind"])]
    wet = breaks.merge(credited[["source_id", "source_row"]], on=["source_id", "source_row"])
    half_m = wet["width_ft"].astype("float64").fillna(0.0).to_numpy() * M_PER_FT / 2
    is_line = shapely.get_dimensions(wet.geometry.to_numpy()) == 1
    shapes = shapely.buffer(wet.geometry.to_numpy(), np.where(is_line, half_m, 0.0))
    shapes = np.where(is_line & (half_m > 0), shapes, wet.geometry.to_numpy())
    words = {spelling(word) for cell in kinds["words"].dropna() for word in cell.split(";")}
    named = exclusions[exclusions["kind"].map(spelling).isin(words)]
    return gpd.GeoDataFrame(
        {"kind": [*wet["kind"], *named["kind"]]},
        geometry=[*shapes, *named.geometry],
        crs=breaks.crs,
    )


def native_places(
    plants: pd.DataFrame, plant_species: pd.DataFrame, settings: CommunitySettings, crs: object
) -> gpd.GeoDataFrame:
    """Plants of records that have a place, each with its unit, and whether it is native."""
    rows = usable_rows(plants, plant_species, settings)
    rows = rows[rows["latitude_deg"].notna() & rows["longitude_deg"].notna() & (rows["cover"] > 0)]
    places = gpd.GeoSeries.from_xy(
        rows["longitude_deg"].astype("float64"), rows["latitude_deg"].astype("float64"), crs=4326
    ).to_crs(crs)
    native = species_value(rows["species"], plant_species, "nativity") == "native"
    return gpd.GeoDataFrame(
        rows[["unit_id", "species"]].assign(native=native), geometry=places, crs=crs
    )


def natives_within(ground: shapely.Geometry, places: gpd.GeoDataFrame) -> dict[str, object]:
    """Native species recorded within a patch; without places in it nothing is known of them."""
    inside = places[shapely.covers(ground, places.geometry.to_numpy())]
    if inside.empty:
        told = "none_recorded" if len(places) else "no_places"
        return {"natives_told": told, "natives": None, "native_names": None}
    names = sorted(set(inside.loc[inside["native"], "species"]))
    return {
        "natives_told": "recorded" if names else "none_recorded",
        "natives": len(names),
        "native_names": listed(names, MOST) or None,
    }
