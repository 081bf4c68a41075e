"""Where smoke would go: the places near units and burn blocks, and the winds that reach them.

Drawn from the map alone: no plume, no spread, no terrain.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.layer import empty
from pipeline.core.names import listed
from pipeline.core.units import M_PER_MI, half_up
from pipeline.fire.smoke.arcs import (
    WHOLE_DEG,
    arcs_holding,
    between_arcs,
    merged_arcs,
    smoke_arcs,
    wind_in,
)
from pipeline.fire.smoke.layers import SMOKE_ARCS, SMOKE_PLACES, WINDS, WINDS_LEFT
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.fire.wind_sides import bearings_deg
from pipeline.fire.words import arcs_words, compass_point, degrees_words

DIRECTIONS_DEG = np.arange(0.0, 360.0, 22.5)


SOME_PLACE = "place"
"""What a place is called whose kind is not told."""


def draw_smoke_arcs(
    units: gpd.GeoDataFrame,
    burn_blocks: gpd.GeoDataFrame,
    smoke_points: gpd.GeoDataFrame,
    settings: WeatherSettings,
) -> pd.DataFrame:
    """Table ``smoke_arcs``: for each unit and each block the winds that reach each place."""
    if smoke_points.empty:
        return empty(SMOKE_ARCS)
    places = smoke_points.geometry.to_numpy()
    kinds = smoke_points["kind"].fillna(SOME_PLACE).to_numpy()
    near = shapely.STRtree(places)
    reach_m = settings.smoke_distance_mi * M_PER_MI
    rows = []
    for column, frame in (("unit_id", units), ("block", burn_blocks)):
        turned = zip(frame[column], frame.geometry, north_of(frame), strict=True)
        for name, shape, north_deg in turned:
            for n in np.sort(near.query(shape, predicate="dwithin", distance=reach_m)):
                arcs = smoke_arcs(
                    shape,
                    places[n],
                    reach_m=reach_m,
                    half_angle_deg=settings.smoke_half_angle_deg,
                    north_deg=north_deg,
                )
                row = {"unit_id": None, "block": None, column: name}
                row |= {"place_id": n + 1, "kind": kinds[n], **_way(shape, places[n], north_deg)}
                rows += [{**row, **arc} for arc in _arc_rows(arcs)]
    return pd.DataFrame(rows) if rows else empty(SMOKE_ARCS)


def north_of(frame: gpd.GeoDataFrame) -> np.ndarray:
    """Direction [degree from true north] in which the plane's own north points at each shape."""
    middles = shapely.get_coordinates(shapely.centroid(frame.geometry.to_numpy()))
    return bearings_deg(middles, middles + np.array([0.0, 1.0]), frame.crs)


def _way(ground: shapely.Geometry, place: shapely.Geometry, north_deg: float) -> dict[str, float]:
    """Distance and direction of a place from the nearest point of some ground."""
    first, last = shapely.get_coordinates(shapely.shortest_line(ground, place))
    east, north = last - first
    length_mi = np.hypot(east, north) / M_PER_MI
    bearing = np.mod(np.degrees(np.arctan2(east, north)) + north_deg, WHOLE_DEG)
    return {"distance_mi": length_mi, "bearing_deg": bearing if length_mi > 0 else np.nan}


def _arc_rows(arcs: np.ndarray) -> list[dict[str, float]]:
    """Arcs as cells: numbered, their last direction within one turn."""
    return [
        {"arc": n, "from_deg": first, "to_deg": last if last <= WHOLE_DEG else last - WHOLE_DEG}
        for n, (first, last) in enumerate(arcs.tolist(), start=1)
    ]


def told_arcs(rows: pd.DataFrame) -> np.ndarray:
    """Arcs [degree] of rows of a table, merged: rows of first and last."""
    first, last = _spans(rows[rows["from_deg"].notna()]).T
    return merged_arcs(first, last - first) if len(first) else np.empty((0, 2))


def _spans(rows: pd.DataFrame) -> np.ndarray:
    """First and last direction of each row, the last up to a turn beyond the first."""
    first, last = (rows[name].to_numpy("float64") for name in ("from_deg", "to_deg"))
    width = np.where(last - first >= WHOLE_DEG, WHOLE_DEG, np.mod(last - first, WHOLE_DEG))
    return np.column_stack([first, first + width])


def list_winds(
    units: gpd.GeoDataFrame, smoke_points: gpd.GeoDataFrame, smoke_arcs: pd.DataFrame
) -> pd.DataFrame:
    """Table ``winds``: for each unit and each of 16 directions, the places in its smoke."""
    if smoke_points.empty or units.empty:
        return empty(WINDS)
    of_units = smoke_arcs[smoke_arcs["unit_id"].notna()]
    row, wind = np.nonzero(arcs_holding(_spans(of_units), DIRECTIONS_DEG))
    reached = of_units.iloc[row].assign(wind_from_deg=DIRECTIONS_DEG[wind])
    found = reached.groupby(["unit_id", "wind_from_deg"]).agg(
        places=("place_id", "nunique"),
        nearest_mi=("distance_mi", "min"),
        kinds=("kind", lambda kinds: ", ".join(sorted(set(kinds)))),
    )
    every = pd.MultiIndex.from_product(
        [units["unit_id"], DIRECTIONS_DEG], names=["unit_id", "wind_from_deg"]
    )
    winds = found.reindex(every).reset_index()
    places = winds["places"].fillna(0).astype(int)
    return winds.assign(places=places, allowed=places == 0)


def list_smoke_places(
    burn_blocks: gpd.GeoDataFrame, smoke_points: gpd.GeoDataFrame, smoke_arcs: pd.DataFrame
) -> gpd.GeoDataFrame:
    """Layer ``smoke_places``: each place by block, and whether the planned wind reaches it."""
    if smoke_points.empty:
        return empty(SMOKE_PLACES, smoke_points.crs)
    wind_of = burn_blocks.set_index("block")["wind_from_deg"]
    rows = []
    for (place_id, block), arcs in smoke_arcs.groupby(["place_id", "block"]):
        first = arcs.iloc[0]
        row = {"place_id": place_id, "kind": first["kind"], "block": block}
        row |= {name: first[name] for name in ("distance_mi", "bearing_deg")}
        rows.append(row | {"planned_smoke": _planned_smoke(arcs, wind_of[block])})
    alone = set(range(1, len(smoke_points) + 1)) - {row["place_id"] for row in rows}
    kinds = smoke_points["kind"].fillna(SOME_PLACE)
    rows += [{"place_id": n, "kind": kinds.iloc[n - 1]} for n in sorted(alone)]
    frame = pd.DataFrame(rows, columns=SMOKE_PLACES.column_names)
    shapes = smoke_points.geometry.iloc[frame["place_id"] - 1].to_numpy()
    return gpd.GeoDataFrame(frame, geometry=shapes, crs=smoke_points.crs)


def _planned_smoke(arcs: pd.DataFrame, wind_from_deg: float) -> str:
    """Code of the column ``planned_smoke`` for the arcs of one block and place."""
    if pd.isna(wind_from_deg):
        return "no_wind_planned"
    reaches = wind_in(told_arcs(arcs), np.array([float(wind_from_deg)]))[0]
    return "reached" if reaches else "not_reached"


def list_winds_left(
    burn_blocks: gpd.GeoDataFrame,
    smoke_points: gpd.GeoDataFrame,
    smoke_arcs: pd.DataFrame,
    settings: WeatherSettings,
) -> pd.DataFrame:
    """Table ``winds_left``: for each block the winds set that carry its smoke to no place."""
    if smoke_points.empty or burn_blocks.empty:
        return empty(WINDS_LEFT)
    rows = []
    for block in burn_blocks["block"]:
        taken = told_arcs(smoke_arcs[smoke_arcs["block"] == block])
        left = _arc_rows(between_arcs(taken, *settings.wind_range_deg))
        rows += [{"block": block, **arc} for arc in left or [{"arc": 1}]]
    return pd.DataFrame(rows, columns=WINDS_LEFT.column_names)


def find_smoke(
    burn_blocks: gpd.GeoDataFrame,
    smoke_places: gpd.GeoDataFrame,
    winds_left: pd.DataFrame,
    settings: WeatherSettings,
) -> gpd.GeoDataFrame:
    """Findings of smoke: places in the planned wind of a block, and blocks that no wind fits."""
    findings = [
        *_planned_onto(burn_blocks, smoke_places, winds_left, settings),
        *_no_wind_fits(burn_blocks, winds_left, settings),
    ]
    return findings_frame(findings, burn_blocks.crs)


def _planned_onto(
    burn_blocks: gpd.GeoDataFrame,
    smoke_places: gpd.GeoDataFrame,
    winds_left: pd.DataFrame,
    settings: WeatherSettings,
) -> Iterator[Finding]:
    """Blocks whose planned wind carries smoke onto places, the nearest of them first."""
    reached = smoke_places[smoke_places["planned_smoke"] == "reached"]
    for block in burn_blocks.itertuples():
        places = reached[reached["block"] == block.block].sort_values("distance_mi")
        if places.empty:
            continue
        named = listed([_place_words(place) for place in places.to_dict("records")], 4)
        left = told_arcs(winds_left[winds_left["block"] == block.block])
        message = (
            f"planned wind {degrees_words(block.wind_from_deg)} would carry smoke onto the {named}"
        )
        if len(left):
            message += (
                f"; of {_range_words(settings)}, those from {arcs_words(left, inward=True)} reach "
                "none of the places named"
            )
        yield Finding(
            severity="warning",
            source="smoke",
            subject=block.block,
            message=message,
            code="smoke_on_place",
            amount=block.gross_ac,
            geometry=places.geometry.iloc[0],
        )


def _place_words(place: Mapping[str, Any]) -> str:
    """A place with its distance and direction."""
    if pd.isna(place["bearing_deg"]):
        return f"{place['kind']} that touches it"
    point = compass_point(place["bearing_deg"])
    return f"{place['kind']} {half_up(place['distance_mi'], 2)} mi {point}"


def _range_words(settings: WeatherSettings) -> str:
    """The winds asked for, in words."""
    if settings.first_wind_from_deg is None:
        return "all winds"
    first, last = (half_up(degrees, 0) for degrees in settings.wind_range_deg)
    return f"your {first} to {last} degrees"


def _no_wind_fits(
    burn_blocks: gpd.GeoDataFrame, winds_left: pd.DataFrame, settings: WeatherSettings
) -> Iterator[Finding]:
    """Blocks for which every wind of the weather limits carries smoke onto some place."""
    none = set(winds_left.loc[winds_left["from_deg"].isna(), "block"])
    facts = (burn_blocks["block"], burn_blocks["gross_ac"], burn_blocks.geometry)
    for block, gross_ac, shape in zip(*facts, strict=True):
        if block in none:
            message = (
                f"no wind fits: of {_range_words(settings)}, every wind carries smoke onto a place "
                f"within {half_up(settings.smoke_distance_mi, 2).normalize():f} mi (smoke_points)"
            )
            yield Finding(
                severity="warning",
                source="smoke",
                subject=block,
                message=message,
                code="no_wind_fits",
                amount=gross_ac,
                geometry=shape,
            )
