"""Tasks of photo points: those that are due on nearly the same days are one round."""

from typing import Any

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import listed, natural_key
from pipeline.core.units import half_up
from pipeline.season.photos.settings import PhotoSettings
from pipeline.work.layers import PHOTO_TASKS
from pipeline.work.tasks.task_rows import TaskRow, task_frame

MOST = 40
"""Points that one task names at most."""


def list_photo_tasks(
    photo_windows: pd.DataFrame, photo_points: gpd.GeoDataFrame, settings: PhotoSettings
) -> gpd.GeoDataFrame:
    """Layer ``photo_tasks``: the points that are due on the same days and not yet taken."""
    due = photo_windows[~photo_windows["taken"]]
    points = photo_points.set_index("point")
    rows = []
    for group in rounds(due, settings.due_days):
        first, last = group["first_day"].max(), group["last_day"].min()
        names = sorted(group["point"], key=natural_key)
        units = group["unit_id"].unique()
        row = TaskRow(
            f"take_photo:{first:%Y-%m-%d}",
            "take_photo",
            "crew",
            f"the days of earlier photos, {settings.due_days} days more or less",
            unit_id=units[0] if len(units) == 1 and pd.notna(units[0]) else None,
            first_day=first,
            due=last,
            amount=float(len(names)),
            amount_unit="points",
            names=listed((_view(name, points.loc[name]) for name in names), MOST),
        )
        rows.append((row, shapely.MultiPoint(list(points.loc[names, "geometry"]))))
    return task_frame(rows, PHOTO_TASKS, photo_points.crs)


def rounds(due: pd.DataFrame, least_days: int) -> list[pd.DataFrame]:
    """Windows that share so many days, each point once: one way around the property."""
    groups: list[list[int]] = []
    last = pd.Timestamp.max
    points: set[str] = set()
    ordered = due.sort_values(["first_day", "point"], ignore_index=True)
    for place, row in enumerate(ordered.to_dict("records")):
        apart = (min(last, row["last_day"]) - row["first_day"]).days < least_days
        if not groups or apart or row["point"] in points:
            groups.append([])
            last, points = row["last_day"], set()
        groups[-1].append(place)
        last = min(last, row["last_day"])
        points.add(row["point"])
    return [ordered.iloc[group] for group in groups]


def _view(name: str, point: Any) -> str:
    """A point and where to look from it."""
    bearing = point["bearing_deg"]
    return name if pd.isna(bearing) else f"{name} looking {half_up(float(bearing), 0)}°"
