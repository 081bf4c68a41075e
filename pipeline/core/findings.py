"""Findings: what a person should look at. Made by the steps, gathered here."""

from typing import TypedDict

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from pipeline.core.layer import empty
from pipeline.core.layers import FINDINGS


class Finding(TypedDict, total=False):
    """One finding. ``severity``, ``source`` and ``message`` are always there."""

    severity: str
    source: str
    row: int | None
    subject: str | None
    message: str
    code: str | None
    geometry: BaseGeometry | None


def findings_frame(findings: list[Finding], crs: object = None) -> gpd.GeoDataFrame:
    """Frame of the layer ``findings`` from single ones, in their order."""
    if not findings:
        return empty(FINDINGS, crs)
    columns = [*FINDINGS.column_names, "geometry"]
    rows = pd.DataFrame([{name: f.get(name) for name in columns} for f in findings])
    return gpd.GeoDataFrame(rows.drop(columns="geometry"), geometry=list(rows["geometry"]), crs=crs)


def gather_findings(frames: list[gpd.GeoDataFrame]) -> gpd.GeoDataFrame:
    """All findings of a run: warnings first, then notes, each in the order of the steps."""
    crs = next((frame.crs for frame in frames if frame.crs is not None), None)
    present = [frame.set_crs(crs, allow_override=True) for frame in frames if len(frame)]
    if not present:
        return empty(FINDINGS, crs)
    together = pd.concat(present, ignore_index=True)
    warnings = together["severity"] == "warning"
    return pd.concat([together[warnings], together[~warnings]], ignore_index=True)
