"""Findings: what a person should look at. Made by the steps, gathered here."""

from collections.abc import Iterable
from typing import Required, TypedDict

import geopandas as gpd
import pandas as pd
from shapely.geometry.base import BaseGeometry

from pipeline.core.causes import Cause
from pipeline.core.layer import empty
from pipeline.core.layers import FINDINGS


class Finding(TypedDict, total=False):
    """One finding. ``amount`` is what is at stake, in the unit that its cause declares."""

    severity: Required[str]
    source: Required[str]
    row: int | None
    subject: str | None
    message: Required[str]
    code: Required[str]
    amount: float | None
    geometry: BaseGeometry | None


def findings_frame(findings: list[Finding], crs: object = None) -> gpd.GeoDataFrame:
    """Frame of the layer ``findings`` from single ones, in their order."""
    if not findings:
        return empty(FINDINGS, crs).drop(columns="unit")
    columns = [*FINDINGS.column_names[:-1], "geometry"]
    rows = pd.DataFrame([{name: f.get(name) for name in columns} for f in findings])
    return gpd.GeoDataFrame(rows.drop(columns="geometry"), geometry=list(rows["geometry"]), crs=crs)


def gather_findings(frames: list[gpd.GeoDataFrame], causes: Iterable[Cause]) -> gpd.GeoDataFrame:
    """All findings of a run: warnings first, then notes, each in the order of the steps.

    Amounts get the unit of their cause; where that counts nothing, they are left out.
    """
    crs = next((frame.crs for frame in frames if frame.crs is not None), None)
    present = [frame.set_crs(crs, allow_override=True) for frame in frames if len(frame)]
    if not present:
        return empty(FINDINGS, crs)
    together = pd.concat(present, ignore_index=True)
    units = together["code"].map({cause.code: cause.unit for cause in causes})
    together["amount"] = together["amount"].astype(float).where(units.notna())
    together["unit"] = units.where(together["amount"].notna(), None)
    warnings = together["severity"] == "warning"
    return pd.concat([together[warnings], together[~warnings]], ignore_index=True)
