"""Photo points: the unit of each, the way it looks, its years; and which days are due."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.errors import Fault
from pipeline.core.layer import empty
from pipeline.core.names import listed, natural_key, spelling, suggestion
from pipeline.core.units import M_PER_FT
from pipeline.log.days import day_of
from pipeline.season.photos.layers import PHOTO_POINTS, PHOTO_WINDOWS, PHOTO_YEARS
from pipeline.season.photos.settings import PhotoSettings

LOOK_FT = 100.0
"""Ground so far in front of a camera is what it looks at: own choice."""


MOST_YEARS = 100
"""Years that are told at most, which is all of them."""


def photo_faults(
    drawn_photo_points: pd.DataFrame, photo_files: pd.DataFrame, photo_list: pd.DataFrame
) -> list[Fault]:
    """Points of one name, photos without any point, and a list that names points not on the map."""
    points = list(drawn_photo_points["point"])
    spelled = pd.Series([spelling(point) for point in points], dtype=object)
    faults = [
        Fault(
            "[sources.photo_points] point",
            f'"{points[first]}" stands {count} times',
            "a name of its own for each place and direction",
            "rename one of them",
        )
        for first, count in _repeated(spelled)
    ]
    for point in photo_list["point"].dropna().unique():
        if spelling(point) not in set(spelled):
            found, do = f'point "{point}" is not on the map', suggestion(point, points)
            expected = "a point of [sources.photo_points]"
            faults.append(Fault("[sources.photo_list]", found, expected, do))
    if len(photo_files) and not points:
        found, do = "photos, and no points", "mark where each was taken: [sources.photo_points]"
        faults.append(Fault("[sources.photos]", found, "photos of photo points", do))
    if len(photo_list) and not len(photo_files):
        found, do = "a list of photos, and no photos", "name their folder: [sources.photos]"
        faults.append(Fault("[sources.photo_list]", found, "a folder with the photos", do))
    return faults


def _repeated(spelled: "pd.Series[str]") -> Iterator[tuple[int, int]]:
    """First position and count of each value that stands more than once."""
    for _, alike in spelled.groupby(spelled, sort=False):
        if len(alike) > 1:
            yield int(alike.index[0]), len(alike)


def placed_points(
    units: gpd.GeoDataFrame, drawn: gpd.GeoDataFrame, settings: PhotoSettings
) -> pd.DataFrame:
    """Point, unit, how it comes to it, and the units that it stands in or at the border of."""
    rows = []
    for point in drawn.to_dict("records"):
        away_m = shapely.distance(units.geometry.to_numpy(), point["geometry"])
        is_near = away_m <= settings.border_ft * M_PER_FT
        near = sorted(units.loc[is_near, "unit_id"], key=natural_key)
        unit_id, placed = _unit_of(point, near, units)
        told = listed(near, MOST_YEARS) or None
        rows.append(
            {"point": point["point"], "unit_id": unit_id, "placed": placed, "near_units": told}
        )
    columns = ["point", "unit_id", "placed", "near_units"]
    return pd.DataFrame(rows, columns=columns)


def _unit_of(
    point: dict[Any, Any], near: Sequence[str], units: gpd.GeoDataFrame
) -> tuple[str | None, str]:
    """The unit of one point and how it comes to it; a unit that is told stays, wherever it is."""
    told = point["unit_id"]
    if pd.notna(told):
        return told, "as_told" if told in near else "elsewhere"
    if len(near) < 2:
        return (near[0], "by_place") if near else (None, "outside")
    ahead = looked_at(point["geometry"], point["bearing_deg"])
    seen = units.loc[shapely.covers(units.geometry.to_numpy(), ahead), "unit_id"]
    seen = [unit_id for unit_id in seen if unit_id in near]
    return (seen[0], "by_view") if len(seen) == 1 else (None, "on_border")


def looked_at(place: shapely.Point, bearing_deg: float, feet: float = LOOK_FT) -> shapely.Point:
    """The place so many feet ahead [in a plane of meters, north up]; none without a bearing."""
    if pd.isna(bearing_deg):
        return shapely.Point()
    angle, reach = np.radians(bearing_deg), feet * M_PER_FT
    return shapely.Point(place.x + reach * np.sin(angle), place.y + reach * np.cos(angle))


def measure_photo_points(
    units: gpd.GeoDataFrame,
    drawn_photo_points: gpd.GeoDataFrame,
    photos: pd.DataFrame,
    photo_years: pd.DataFrame,
    settings: PhotoSettings,
) -> gpd.GeoDataFrame:
    """Layer ``photo_points``: where to stand and look, and which years are there.

    *Source* of the compass: a magnetic bearing is the true one less an east declination (U.S.
    Geological Survey, maps and compasses, from memory).
    """
    if drawn_photo_points.empty:
        return empty(PHOTO_POINTS, units.crs)
    placed = placed_points(units, drawn_photo_points, settings)
    frame = drawn_photo_points.drop(columns="unit_id").merge(placed, on="point")
    counted = photos[photos["standing"] == "counts"]
    newest = dict(counted.groupby("point")["date"].max())
    there = photo_years[photo_years["photos"] > 0]
    declination = settings.declination_deg
    turned = np.nan if declination is None else declination
    return frame.assign(
        compass_deg=(frame["bearing_deg"].astype("float64") - turned) % 360,
        photos=[int((counted["point"] == point).sum()) for point in frame["point"]],
        years=[_years(there, point) for point in frame["point"]],
        missed=[_years(photo_years.drop(there.index), point) for point in frame["point"]],
        newest=pd.Series(
            [newest.get(point, pd.NaT) for point in frame["point"]], dtype="datetime64[s]"
        ),
    )


def _years(photo_years: pd.DataFrame, point: str) -> str | None:
    return listed(photo_years.loc[photo_years["point"] == point, "year"], MOST_YEARS) or None


def count_photo_years(
    photos: pd.DataFrame, photo_windows: pd.DataFrame, property: pd.DataFrame
) -> pd.DataFrame:
    """Table ``photo_years``: photos of each point by year, those without one included."""
    counted = photos[photos["standing"] == "counts"]
    as_of = property["as_of"].iloc[0]
    rows = []
    for point, of_point in counted.groupby("point"):
        by_year = of_point["date"].dt.year.value_counts()
        over = _last_year_over(photo_windows[photo_windows["point"] == point], as_of)
        rows += [
            {"point": point, "unit_id": of_point["unit_id"].iloc[0], "year": year}
            | {"photos": int(by_year.get(year, 0))}
            for year in range(by_year.index.min(), max(over, by_year.index.max()) + 1)
        ]
    return pd.DataFrame(rows) if rows else empty(PHOTO_YEARS)


def _last_year_over(windows: pd.DataFrame, as_of: pd.Timestamp) -> int:
    """Last year whose usual days of a point are all over on the day the plan is looked at from."""
    last = windows["last_day"].max()
    if pd.isna(as_of) or pd.isna(last):
        return 0
    return int(as_of.year if day_of(as_of.year, f"{last:%m-%d}") < as_of else as_of.year - 1)


class Window(NamedTuple):
    """Days of the year around which a point is photographed, and the years that have been."""

    middle: int
    years: frozenset[int]


def usual_windows(days: Sequence[pd.Timestamp], due_days: int) -> list[Window]:
    """Times of the year of some photos: days further apart than two spans are different times."""
    by_day = sorted((day.day_of_year, day.year) for day in days)
    groups: list[list[tuple[int, int]]] = []
    for one in by_day:
        if groups and one[0] - groups[-1][-1][0] <= 2 * due_days:
            groups[-1].append(one)
        else:
            groups.append([one])
    return [
        Window(int(np.median([n for n, _ in group])), frozenset(year for _, year in group))
        for group in groups
    ]


def list_photo_windows(
    photos: pd.DataFrame, property: pd.DataFrame, settings: PhotoSettings
) -> pd.DataFrame:
    """Table ``photo_windows``: the days of the season on which each point is due again."""
    season, due = int(property["season"].iloc[0]), settings.due_days
    counted = photos[photos["standing"] == "counts"]
    rows = []
    for point, of_point in counted.groupby("point"):
        earlier = of_point[of_point["date"].dt.year < season]
        for window in usual_windows(list(earlier["date"]), due):
            middle = pd.Timestamp(season, 1, 1) + pd.Timedelta(days=window.middle - 1)
            first, last = (middle + pd.Timedelta(days=days) for days in (-due, due))
            rows.append(
                {
                    "point": point,
                    "unit_id": of_point["unit_id"].iloc[0],
                    "first_day": first,
                    "last_day": last,
                    "years": len(window.years),
                    "taken": bool(of_point["date"].between(first, last).any()),
                }
            )
    if not rows:
        return empty(PHOTO_WINDOWS)
    frame = pd.DataFrame(rows)
    days = {name: frame[name].astype("datetime64[s]") for name in ("first_day", "last_day")}
    return frame.assign(**days)
