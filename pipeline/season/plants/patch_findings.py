"""Findings of the patches: ground outside the units, edges, water and natives near, the law."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import less, united
from pipeline.season.plants.findings import WEED_LAW
from pipeline.season.plants.patch_surroundings import native_places
from pipeline.season.plants.patches import SLIVER_AC, SLIVER_SHARE, drawn_ground, newest_ground
from pipeline.season.plants.settings import PatchSettings
from pipeline.season.settings import CommunitySettings


def find_patches(
    units: gpd.GeoDataFrame,
    patches: gpd.GeoDataFrame,
    patch_ground: gpd.GeoDataFrame,
    settings: PatchSettings,
) -> gpd.GeoDataFrame:
    """Findings of the patches; those that speak of a place count for the newest visit alone."""
    if patches.empty:
        return findings_frame([], units.crs)
    now = newest_ground(patch_ground).to_dict("records")
    findings = [
        *_outside(units, patches),
        *(found for row in now for found in _cautions(row, settings)),
        *_not_seen_lately(patch_ground),
        _told("note", "patch_law", f"patches are records, not orders: {WEED_LAW}"),
    ]
    return findings_frame(findings, units.crs)


def find_plant_places(
    units: gpd.GeoDataFrame,
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    settings: CommunitySettings,
) -> gpd.GeoDataFrame:
    """Findings of plant records whose place lies outside the unit that they name."""
    places = native_places(plants, plant_species, settings, units.crs)
    outlines = places["unit_id"].map(dict(zip(units["unit_id"], units.geometry, strict=True)))
    away = places[~shapely.covers(outlines.to_numpy(), places.geometry.to_numpy())]
    findings = [
        Finding(
            severity="warning",
            code="plant_place_outside",
            source="plants",
            subject=str(unit_id),
            message=f"{len(there)} records have a place outside the unit that they name: look at "
            "latitude and longitude",
            geometry=shapely.MultiPoint(list(there.geometry)),
        )
        for unit_id, there in away.groupby("unit_id")
    ]
    return findings_frame(findings, units.crs)


def _told(severity: str, code: str, message: str, subject: str | None = None) -> Finding:
    return Finding(severity=severity, code=code, source="patches", subject=subject, message=message)


def _outside(units: gpd.GeoDataFrame, patches: gpd.GeoDataFrame) -> list[Finding]:
    """Ground of patches that lies in no unit: counted nowhere."""
    drawn = drawn_ground(patches)
    whole_ac = area_ac(drawn.geometry)
    property_ground = united(units.geometry.to_numpy())
    left = gpd.GeoSeries(
        [shapely.MultiPolygon(_polygons(less(g, property_ground))) for g in drawn.geometry],
        crs=units.crs,
    )
    left_ac = area_ac(left)
    wholly = left_ac >= whole_ac * (1 - SLIVER_SHARE)
    partly = ~wholly & ((left_ac >= SLIVER_AC) | (left_ac >= SLIVER_SHARE * whole_ac))
    findings = []
    if wholly.any():
        rows = listed(np.flatnonzero(wholly) + 1)
        words = f"{int(wholly.sum())} patches lie in no unit and count nowhere (rows {rows})"
        findings.append(_told("warning", "patches_outside", words))
    if partly.any():
        ac = half_up(float(left_ac[partly].sum()), 2)
        words = f"{int(partly.sum())} patches go on outside all units; {ac} ac there count nowhere"
        findings.append(_told("note", "patches_partly_outside", words))
    return findings


def _polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]


def _cautions(row: dict[str, object], settings: PatchSettings) -> list[Finding]:
    """What is near the newest ground of one kind in one unit."""
    what = f"{row['kind']} of {row['date']:%Y-%m-%d}, {half_up(float(str(row['area_ac'])), 2)} ac"
    unit, told = str(row["unit_id"]), []
    if row["over_the_edge"]:
        told.append(("patch_over_the_edge", "goes on outside the unit, as drawn: look there too"))
    elif _near(row["edge_ft"], settings.near_edge_ft):
        told.append(("patch_near_the_edge", f"is {_feet(row['edge_ft'])} from the unit's edge"))
    if _near(row["water_ft"], settings.near_water_ft):
        place = f"is {_feet(row['water_ft'])} from water ({row['water']})"
        told.append(("patch_near_water", f"{place}: labels keep products away from water"))
    if row["natives_told"] == "recorded":
        words = f"has natives recorded within: {row['native_names']}. What is done to all of the "
        told.append(
            ("natives_in_patch", f"{words}ground would be done to them: they would be lost")
        )
    return [_told("warning", code, f"{what}: {words}", unit) for code, words in told]


def _near(distance_ft: object, limit_ft: float) -> bool:
    return bool(pd.notna(distance_ft) and float(str(distance_ft)) < limit_ft)


def _feet(distance_ft: object) -> str:
    return f"{half_up(float(str(distance_ft)), 0)} ft"


def _not_seen_lately(patch_ground: gpd.GeoDataFrame) -> list[Finding]:
    """Kinds of a unit that the newest year on record has nothing of."""
    last = patch_ground.groupby(["unit_id", "kind"])["date"].max().dt.year
    return [
        _told(
            "note",
            "patch_not_seen_lately",
            f"{kind} was last recorded in {year}: gone, or not looked at",
            str(unit_id),
        )
        for (unit_id, kind), year in last.items()
        if year < last.max()
    ]
