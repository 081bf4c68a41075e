"""How much of a burned unit burned in a comparison: the dose that its change is the answer to."""

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.ground.overlays import common, united

LEAST_BURNED_PCT = 30.0
"""A unit that burned less is not judged: its change would be blown up; judgment, no source."""


WIDE_PCT = 50.0
"""Bounds of a measured share that lie further apart leave it unknown; judgment, no source."""


DOSE_COLUMNS = ["burned_pct", "burned_from", "burned_known"]


def burned_doses(
    rows: pd.DataFrame,
    units: gpd.GeoDataFrame,
    burned_shares: pd.DataFrame,
    treatment_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
) -> pd.DataFrame:
    """Burned share [percent] of the burned units of a comparison, and where it is from.

    By the pictures around the burn; else by the acres in the log; else by the burned ground that
    was drawn; else the whole unit. Of several burns between the pictures the greatest share counts.
    A measured share whose bounds are wide is not known. Columns: ``burned_pct``, ``burned_from``
    and ``burned_known``; other rows are empty.
    """
    burned = rows[rows["role"] == "burned"]
    told = [
        _measured(burned, burned_shares),
        _logged(burned, units, treatment_log),
        _drawn(burned, units, burned_areas),
    ]
    table = pd.DataFrame(index=rows.index, columns=DOSE_COLUMNS, dtype=object)
    table.loc[burned.index] = [100.0, "assumed", True]
    for source in reversed(told):
        known = source["burned_pct"].notna()
        table.loc[source.index[known]] = source[known].to_numpy(dtype=object)
    return table.astype({"burned_pct": float})


def _between(burned: pd.DataFrame, events: pd.DataFrame, day: str) -> pd.DataFrame:
    """Events of the burned units between their pictures, with the index of the unit's row."""
    both = burned[["unit_id", "before", "after"]].reset_index().merge(events, on="unit_id")
    return both[(both[day] > both["before"]) & (both[day] < both["after"])]


def _measured(burned: pd.DataFrame, shares: pd.DataFrame) -> pd.DataFrame:
    """Shares that the pictures around a burn tell."""
    columns = ["unit_id", "burned", "burned_pct", "low_pct", "high_pct"]
    measured = shares.loc[shares["verdict"] == "measured", columns]
    found = _between(burned, measured, "burned").sort_values("burned_pct")
    last = found.groupby("index").tail(1).set_index("index")
    narrow = (last["high_pct"] - last["low_pct"]) <= WIDE_PCT
    return last[["burned_pct"]].assign(burned_from="pictures", burned_known=narrow)


def _logged(burned: pd.DataFrame, units: pd.DataFrame, log: pd.DataFrame) -> pd.DataFrame:
    """Shares by the acres that the log tells of a burn, less what stayed inside."""
    burns = log[(log["kind"] == "burn") & log["acres_treated_ac"].notna()]
    found = _between(burned, burns, "start")
    acres = found["unit_id"].map(units.set_index("unit_id")["burnable_ac"])
    left = 1.0 - found["unburned_inside_pct"].astype(float).fillna(0.0) / 100.0
    pct = (100.0 * found["acres_treated_ac"] / acres).clip(upper=100.0) * left
    return _greatest(pct.groupby(found["index"]).max(), "log")


def _drawn(burned: pd.DataFrame, units: gpd.GeoDataFrame, areas: gpd.GeoDataFrame) -> pd.DataFrame:
    """Shares by the burned ground that was drawn, all parts of a day together."""
    found = _between(burned, areas[["unit_id", "date", "geometry"]], "date")
    shapes = units.set_index("unit_id").geometry
    pct: dict[object, float] = {}
    for (row, unit_id, _), parts in found.groupby(["index", "unit_id", "date"]):
        inside = common(united(parts["geometry"].to_numpy()), shapes[unit_id])
        pct[row] = max(pct.get(row, 0.0), 100.0 * inside.area / shapes[unit_id].area)
    return _greatest(pd.Series(pct, dtype=float), "map")


def _greatest(pct: pd.Series, source: str) -> pd.DataFrame:
    """Shares as a table of their source."""
    frame = pd.DataFrame({"burned_pct": pct.astype(float)})
    return frame.assign(burned_from=source, burned_known=np.ones(len(pct), dtype=bool))
