"""What was done to each unit, and where it burned: from the log of treatments."""

from itertools import pairwise
from typing import TypeAlias

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.core.layer import empty
from pipeline.ground.acreage import polygonal
from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, less, united
from pipeline.log.days import BURN_TIME_BY_MONTH, day_of
from pipeline.log.treatment_log import burns_of, treated_share
from pipeline.season.layers import FIRE_HISTORY, HISTORY
from pipeline.season.settings import SeasonSettings

SLIVER_AC = 0.01
"""Parts smaller than this come from drawing, not from fire, and are not cut off."""


BurnPart: TypeAlias = tuple[shapely.Geometry, tuple[int, ...]]
"""Ground with one and the same record: its shape and the years it burned, oldest first."""


def years_since(last_year: float, as_of_year: int) -> float:
    """Years from a burn to the season; NaN where none is on record."""
    return as_of_year - last_year


def burns_within(years: list[int], as_of_year: int, span_years: int) -> int:
    """Burns in the calendar years that end with ``as_of_year``, so many of them."""
    return sum(as_of_year - span_years < year <= as_of_year for year in years)


def mean_interval_years(years: list[int]) -> float:
    """Mean time [year] between burns, NaN with fewer than two."""
    return (max(years) - min(years)) / (len(years) - 1) if len(years) > 1 else np.nan


def draw_fire_history(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``fire_history``: parts of each burned unit, each with one record of burns.

    A burn takes the polygons given for its unit and day; without any, the whole unit, where the
    acres told of its year come to the greater part. Where less of it burned is not known, so no
    part is cut off for it.
    """
    season = int(property["season"].iloc[0])
    burns = _until(season, burns_of(treatment_log)).assign(
        share=treated_share(treatment_log, units)
    )
    rows: list[dict[str, object]] = []
    for unit_id, unit in zip(units["unit_id"], units.geometry, strict=True):
        of_unit = burns[burns["unit_id"] == unit_id]
        drawn = burned_areas[burned_areas["unit_id"] == unit_id]
        told = of_unit[~of_unit["start"].isin(drawn["date"])]
        told_pct = 100.0 * told.groupby(told["start"].dt.year)["share"].sum()
        whole = set(told_pct.index[told_pct >= settings.whole_unit_pct])
        parts: list[BurnPart] = [(unit, ())] if len(of_unit) else []
        for day in of_unit["start"].drop_duplicates():
            shapes = drawn.loc[drawn["date"] == day, "geometry"].to_numpy()
            if len(shapes):
                parts = _split(parts, united(shapes), day.year, units.crs)
            elif day.year in whole:
                parts = _split(parts, unit, day.year, units.crs)
                whole.remove(day.year)
        rows += [
            {"unit_id": unit_id, "part": number, "geometry": shape}
            | _part_record(list(years), season, settings)
            for number, (shape, years) in enumerate(parts, 1)
        ]
    if not rows:
        return empty(FIRE_HISTORY, units.crs)
    frame = gpd.GeoDataFrame(rows, geometry="geometry", crs=units.crs)
    return frame.assign(area_ac=area_ac(frame.geometry))


def _until(season: int, treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Rows of the log that begin in the season's own year or before."""
    return treatment_log[treatment_log["start"].dt.year <= season]


def _split(
    parts: list[BurnPart], burned: shapely.Geometry, year: int, crs: object
) -> list[BurnPart]:
    """Parts of a unit cut by one burn; what lies inside it gets its year."""
    result = []
    for shape, years in parts:
        inside = polygonal(common(shape, burned))
        outside = polygonal(less(shape, burned))
        small = area_ac(gpd.GeoSeries([inside, outside], crs=crs)) < SLIVER_AC
        if small[1]:
            result.append((shape, (*years, year)))
        elif small[0]:
            result.append((shape, years))
        else:
            result += [(inside, (*years, year)), (outside, years)]
    return result


def _part_record(years: list[int], season: int, settings: SeasonSettings) -> dict[str, object]:
    """Figures of a part from the years it burned, in their order."""
    last = max(years, default=None)
    return {
        "burn_years": ", ".join(map(str, years)) or None,
        "burns": len(years),
        "last_burn_year": last,
        "years_since_burn": None if last is None else int(years_since(last, season)),
        "burned_again_soon": most_close_burns(years, settings.least_interval_years)
        > settings.recovery_burns,
    }


def most_close_burns(years: list[int], least_interval_years: int) -> int:
    """Burns of the longest row of them in which each comes before the least interval is over."""
    most = run = min(len(years), 1)
    for before, year in pairwise(years):
        run = run + 1 if year - before < least_interval_years else 1
        most = max(most, run)
    return most


def tell_history(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    fire_history: gpd.GeoDataFrame,
    grazing: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> gpd.GeoDataFrame:
    """Layer ``history``: what the log says of each unit before the season.

    Events after the season's own year do not count. A unit without a row has nothing on record.
    """
    season = int(property["season"].iloc[0])
    events = treatment_log.assign(share=treated_share(treatment_log, units))
    by_unit = dict(list(_until(season, events).groupby("unit_id")))
    grazed = grazing[grazing["year"] == season - 1]
    rows = [
        _unit_history(by_unit.get(unit_id), season, settings)
        | _burned_shares(
            fire_history[fire_history["unit_id"] == unit_id], by_unit.get(unit_id), season
        )
        | _grazed_before(by_unit.get(unit_id), grazed[grazed["unit_id"] == unit_id], season - 1)
        for unit_id in units["unit_id"]
    ]
    columns = [c for c in HISTORY.column_names if c != "unit_id"]
    history = pd.DataFrame(rows, columns=columns, index=units.index)
    for column in HISTORY.columns:
        if column.kind == "date":
            history[column.name] = pd.to_datetime(history[column.name]).astype("datetime64[s]")
    return units[["unit_id", "geometry"]].join(history)


def _unit_history(
    events: pd.DataFrame | None, season: int, settings: SeasonSettings
) -> dict[str, object]:
    """Burns, rests and last days of one unit."""
    if events is None:
        return {"record": "none_on_record"}
    last = events.groupby("kind")["end"].max().to_dict()
    burns = events.loc[events["kind"] == "burn", "start"].drop_duplicates().sort_values()
    years = list(burns.dt.year)
    seeded = last.get("seed")
    return {
        "record": "on_record",
        "first_record_year": events["start"].dt.year.min(),
        "last_record_year": events["end"].dt.year.max(),
        "last_burn": burns.max() if years else None,
        "burn_dates": ", ".join(burns.dt.strftime("%Y-%m-%d")) or None,
        "last_burn_window": BURN_TIME_BY_MONTH[burns.max().month] if years else None,
        "years_since_burn": years_since(max(years), season) if years else None,
        "burns_in_5_years": burns_within(years, season, 5),
        "burns_in_10_years": burns_within(years, season, 10),
        "mean_interval_years": mean_interval_years(years),
        "last_grazed": last.get("graze"),
        "rested_seasons": rested_seasons(events, season, settings),
        "last_hayed": last.get("hay"),
        "last_sprayed": last.get("spray"),
        "last_seeded": seeded,
        "years_since_seeding": None if seeded is None else season - seeded.year,
    }


def rested_seasons(events: pd.DataFrame, season: int, settings: SeasonSettings) -> int:
    """Growing seasons without animals, hay or mower, counted back from the one before the season.

    Only years that the log speaks of count: a year without a row is not known to be a rest. Work on
    a small part of the unit, such as a mown firebreak, does not end its rest.
    """
    taken = events[events["kind"].isin(["graze", "hay", "mow"])]
    recorded = _recorded_years(events)
    count = 0
    while (year := season - 1 - count) in recorded:
        first, last = day_of(year, settings.growing_from), day_of(year, settings.growing_until)
        inside = (taken["start"] <= last) & (taken["end"] >= first)
        if 100.0 * taken.loc[inside, "share"].sum() > settings.most_treated_pct:
            break
        count += 1
    return count


def _recorded_years(events: pd.DataFrame) -> set[int]:
    """Calendar years that the log speaks of."""
    spans = zip(events["start"].dt.year, events["end"].dt.year, strict=True)
    return {year for first, last in spans for year in range(first, last + 1)}


def _burned_shares(
    parts: pd.DataFrame, events: pd.DataFrame | None, season: int
) -> dict[str, object]:
    """Shares of the unit by their burn record, weighted by area.

    A burn of which no ground is drawn has the share that the acres of its rows come to.
    """
    whole_ac = parts["area_ac"].sum()
    if not whole_ac or events is None:
        return {}
    burns = events[events["kind"] == "burn"]
    newest = burns["start"].dt.year.max()
    told_pct = 100 * min(1.0, burns.loc[burns["start"].dt.year == newest, "share"].sum())
    burned = parts[parts["burns"] > 0]
    since = season - burned["last_burn_year"].astype("float64")
    newest_ac = burned.loc[burned["last_burn_year"] == newest, "area_ac"].sum()
    drawn = 0 < newest_ac < whole_ac
    unburned_ac = parts.loc[parts["burns"] == 0, "area_ac"].sum()
    return {
        "burned_share_pct": 100 * newest_ac / whole_ac if drawn else told_pct,
        "mean_since_burn_years": (
            float(np.average(since, weights=burned["area_ac"])) if len(burned) else None
        ),
        "never_burned_pct": 100 * unburned_ac / whole_ac if len(burned) else 100 - told_pct,
    }


def _grazed_before(
    events: pd.DataFrame | None, grazed: pd.DataFrame, year: int
) -> dict[str, object]:
    """Grazing of a year by part of the season; nothing where the log is silent on the year."""
    if events is None or not _recorded_years(events) & {year}:
        return {}
    days = grazed.set_index("window")["days"]
    return {
        "days_grazed": int(days.sum()),
        "au_days": grazed["au_days"].sum(skipna=False) if len(grazed) else 0.0,
        "days_grazed_early": int(days.get("early", 0)),
        "days_grazed_midsummer": int(days.get("midsummer", 0)),
        "days_grazed_late": int(days.get("late", 0)),
    }
