"""A report for each burn on record, from the rows of its units."""

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import natural_key
from pipeline.ground.overlays import united
from pipeline.records.layers import ACRES_FROM, BURN_REPORTS, TOLD_OF_BURNS

COMMA = ", "


def report_burns(record_book: gpd.GeoDataFrame, units: pd.DataFrame) -> gpd.GeoDataFrame:
    """Layer ``burn_reports``: rows of the same first day and permit are one burn.

    A burn without a first day or unit is in the record book alone.
    """
    usable = record_book["start"].notna() & record_book["unit_id"].notna()
    burns = record_book[usable & record_book["kind"].eq("burn")]
    if burns.empty:
        return empty(BURN_REPORTS, record_book.crs)
    gross = units.set_index("unit_id")["gross_ac"]
    names = burns["start"].dt.strftime("%Y-%m-%d") + (" " + burns["permit"]).fillna("")
    rows = [_report(str(name), of_it, gross) for name, of_it in burns.groupby(names, sort=True)]
    return gpd.GeoDataFrame(rows, geometry="geometry", crs=record_book.crs)


def _report(name: str, burn: gpd.GeoDataFrame, gross: pd.Series) -> dict[str, object]:
    """One burn; acres with an unknown part are unknown."""
    unit_ids = sorted(set(burn["unit_id"]), key=natural_key)
    shapes = burn.geometry[burn.geometry.notna()].to_numpy()
    return {
        "burn": name,
        "start": burn["start"].min(),
        "end": burn["end"].max(),
        "unit_ids": COMMA.join(unit_ids),
        "burned_ac": burn["record_ac"].sum(skipna=False),
        "units_ac": gross.reindex(unit_ids).sum(skipna=False),
        "acres_from": max(burn["acres_from"], key=ACRES_FROM.index),
        **{column: _told(burn, column) for column in TOLD_OF_BURNS},
        "geometry": united(shapes) if len(shapes) else None,
    }


def _told(burn: pd.DataFrame, name: str) -> object:
    """What the rows of a burn tell in one column: once where they agree.

    A text that differs stands with the units that it is of; a figure that differs is left out.
    """
    told = burn[burn[name].notna()]
    values = list(dict.fromkeys(told[name]))
    if len(values) <= 1:
        return values[0] if values else None
    if BURN_REPORTS.column(name).kind != "text":
        return None
    units = told.groupby(name, sort=False)["unit_id"].agg(
        lambda ids: COMMA.join(dict.fromkeys(ids))
    )
    return "; ".join(f"{units[value]}: {value}" for value in values)
