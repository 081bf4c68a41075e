"""Burns against smoke and wind: places downwind, the owner's limits, what past weather offered."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.names import listed
from pipeline.core.units import FT_PER_MI, half_up
from pipeline.fire.settings import FirebreakSettings
from pipeline.fire.smoke.burn_weather import days_in_prescription, prescription_needs
from pipeline.fire.smoke.settings import WeatherSettings
from pipeline.fire.words import compass_point
from pipeline.ground.overlays import united
from pipeline.work.clashes import Clash

MOST_NAMED = 4
"""Places named in one sentence; how many more there are is told."""


def smoke_clashes(
    blocks: pd.DataFrame,
    smoke_places: gpd.GeoDataFrame,
    winds_left: pd.DataFrame,
    weather: WeatherSettings,
    near_ft: float,
) -> Iterator[Clash]:
    """What smoke and wind have against planned blocks: one row a ``work_id`` of ``blocks``.

    Each place within ``near_ft`` in the smoke of the planned wind is one clash, all farther ones
    together are one.
    """
    none_left = set(winds_left.loc[winds_left["from_deg"].isna(), "block"])
    reached = smoke_places[smoke_places["planned_smoke"] == "reached"]
    for block in blocks.to_dict("records"):
        found = [
            *_places(reached[reached["block"] == block["block"]], near_ft),
            *_wind(block["wind_from_deg"], weather),
        ]
        if block["block"] in none_left:
            found.append(Clash(code="no_wind_fits", figure=weather.smoke_distance_mi))
        for clash in found:
            yield Clash(work_id=block["work_id"], unit_id=None) | clash


def _places(places: gpd.GeoDataFrame, near_ft: float) -> Iterator[Clash]:
    """Places in the smoke of the planned wind: the near ones each, the others as one."""
    by_distance = places.sort_values("distance_mi")
    distance_ft = by_distance["distance_mi"] * FT_PER_MI
    for place in by_distance[distance_ft <= near_ft].to_dict("records"):
        yield Clash(
            code="smoke_on_near_place",
            figure=place["distance_mi"] * FT_PER_MI,
            bearing_deg=place["bearing_deg"],
            names=place["kind"],
            geometry=place["geometry"],
        )
    far = by_distance[~(distance_ft <= near_ft)]
    if far.empty:
        return
    words = [
        f"{place['kind']} {half_up(place['distance_mi'], 2)} mi "
        f"{compass_point(place['bearing_deg'])}"
        for place in far.to_dict("records")
    ]
    nearest = far.iloc[0]
    yield Clash(
        code="smoke_on_place",
        figure=nearest["distance_mi"],
        bearing_deg=nearest["bearing_deg"],
        names=listed(words, MOST_NAMED),
        geometry=united(far.geometry.to_numpy()),
    )


def _wind(wind_from_deg: float, weather: WeatherSettings) -> Iterator[Clash]:
    """The planned wind against the winds of the owner's limits."""
    if pd.isna(wind_from_deg):
        yield Clash(code="wind_not_planned")
        return
    first, last = weather.wind_range_deg
    if last - first < 360 and (wind_from_deg - first) % 360 > (last - first) % 360:
        limits = f"{half_up(first, 0)} to {half_up(last, 0)}"
        yield Clash(code="wind_outside_limits", figure=wind_from_deg, names=limits)


def weather_clashes(
    burns: pd.DataFrame,
    hourly_weather: pd.DataFrame,
    weather: WeatherSettings,
    firebreaks: FirebreakSettings,
    few_days: float,
) -> Iterator[Clash]:
    """Blocks whose planned days had no or few days in past weather that the owner would burn on.

    A day counts that has enough hours on end inside the owner's limits with a wind within
    ``wind_arc_deg`` of the planned one, which is what the breaks are laid out for. The days of a
    block are those that all its units may burn on, as far as they are known.
    """
    if prescription_needs(weather) or hourly_weather.empty:
        return
    for work_id, rows in burns.dropna(subset=["block", "wind_from_deg"]).groupby("work_id"):
        first, last = rows["first_day"].max(), rows["last_day"].min()
        if pd.isna(first) or pd.isna(last) or first > last:
            continue
        wind = float(rows["wind_from_deg"].iloc[0])
        arc = np.array([[wind - firebreaks.wind_arc_deg, wind + firebreaks.wind_arc_deg]])
        days = days_in_prescription(hourly_weather, first, last, arc, weather)
        if days.empty:
            continue
        told = Clash(
            work_id=str(work_id), unit_id=None, names=listed(days.index), figure=days.mean()
        )
        if days.sum() == 0:
            yield told | Clash(code="no_past_day")
        elif days.mean() < few_days:
            yield told | Clash(code="few_past_days")
