"""First green and bloom by year, held against the green-up that the burn windows rest on."""

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.layer import empty
from pipeline.core.names import listed
from pipeline.core.species_names import resolved_column, species_value
from pipeline.season.fuel.green_up import (
    FROM_DEGREE_DAYS,
    courses_of,
    dates_at,
    latitudes_deg,
    region_of,
    rows_of_place,
    spring_days,
)
from pipeline.season.fuel.settings import FuelSettings
from pipeline.season.phenology.layers import PHENOLOGY_DATES

COOL = "cool-season grass"
"""Growth of the plants whose first green is green-up. *Source*: the table ``green_up`` tells when
cool-season grass begins to grow; warm-season grass follows weeks later (Kansas State University,
eUpdate 446, 2014: mid to late April in the Flint Hills, give or take 10 days)."""


def date_phenology(
    units: gpd.GeoDataFrame,
    phenology: pd.DataFrame,
    plant_species: pd.DataFrame,
    daily_temperatures: pd.DataFrame,
    green_up: pd.DataFrame,
    property: pd.DataFrame,
    settings: FuelSettings,
) -> pd.DataFrame:
    """Table ``phenology_dates``: each day seen, by year, with the green-up of that year."""
    if phenology.empty:
        return empty(PHENOLOGY_DATES)
    rows = phenology.assign(year=phenology["date"].dt.year)
    known = rows["species"].notna()
    names = resolved_column(rows["species"].where(known, ""), plant_species).where(known, None)
    rows["common_name"] = species_value(names, plant_species, "common_name")
    is_held = (rows["event"] == "first_green") & (
        ~known | (species_value(names, plant_species, "growth") == COOL)
    )
    places = rows_of_place(green_up, property)
    at_deg = dict(zip(units["unit_id"], latitudes_deg(units), strict=True))
    middle_deg = float(np.mean(list(at_deg.values())))
    expected = [
        green_day(year, daily_temperatures, places, at_deg.get(unit_id, middle_deg))
        if held
        else (None, None)
        for year, unit_id, held in zip(rows["year"], rows["unit_id"], is_held, strict=True)
    ]
    rows["expected"] = pd.to_datetime([day for day, _ in expected]).astype("datetime64[s]")
    rows["expected_from"] = [basis for _, basis in expected]
    rows["differs_days"] = (rows["date"] - rows["expected"]).dt.days.astype("float64")
    ahead = rows["date"] > property["as_of"].iloc[0]
    agreement = _agreement(rows["differs_days"], settings.green_up_days)
    rows = rows.assign(species=names, agreement=np.where(ahead, "ahead", agreement))
    order = ["year", "date", "unit_id", "event", "species"]
    rows = rows.sort_values(order, ignore_index=True)
    return rows.assign(number=range(1, len(rows) + 1))[PHENOLOGY_DATES.column_names]


def green_day(
    year: int, temperatures: pd.DataFrame, places: pd.DataFrame, latitude_deg: float
) -> tuple[pd.Timestamp | None, str | None]:
    """Day on which green-up of a year is reckoned to begin at a latitude, and what it rests on.

    Temperatures of the year itself go before the dates of the region; those of other years do not
    stand for it.
    """
    own = courses_of(year, temperatures).get(year)
    if own is not None and (own >= FROM_DEGREE_DAYS).any():
        return spring_days(year)[int((own >= FROM_DEGREE_DAYS).argmax())], "temperatures"
    dates = dates_at(places, year, latitude_deg)
    return (None, None) if dates is None else (dates.green_from, "region_dates")


def _agreement(differs_days: pd.Series, most_days: int) -> np.ndarray:
    """Code of how each day seen agrees with the green-up that is reckoned with."""
    late, early = differs_days > most_days, differs_days < -most_days
    return np.select([differs_days.isna(), early, late], ["not_held", "earlier", "later"], "agrees")


def find_phenology(
    units: gpd.GeoDataFrame,
    phenology_dates: pd.DataFrame,
    property: pd.DataFrame,
    settings: FuelSettings,
) -> gpd.GeoDataFrame:
    """Findings of first green that differs from the green-up, year by year, and of days to come."""
    findings = [*_differing(phenology_dates, property, settings)]
    ahead = phenology_dates[phenology_dates["agreement"] == "ahead"]
    if len(ahead):
        days = listed([f"{day:%Y-%m-%d}" for day in ahead["date"]], 20)
        words = f"{len(ahead)} days of plants lie ahead and are held against nothing: {days}"
        findings.append(_told("warning", "phenology_ahead", words))
    return findings_frame(findings, units.crs)


RESULT_WORDS = {
    "earlier": "the burn window may close earlier than it is told",
    "later": "fuel may stay cured longer than is told",
}


def _differing(
    rows: pd.DataFrame, property: pd.DataFrame, settings: FuelSettings
) -> Iterator[Finding]:
    """A finding for each year and side of the green-up on which first green was seen."""
    odd = rows[rows["agreement"].isin(RESULT_WORDS)]
    for (year, agreement), seen in odd.groupby(["year", "agreement"]):
        places = [
            f"{'the property' if pd.isna(row.unit_id) else row.unit_id} {row.date:%m-%d} "
            f"({abs(int(row.differs_days))} days)"
            for row in seen.itertuples(index=False)
        ]
        region = seen["expected_from"].iloc[0] == "region_dates"
        basis = f"the dates of {region_of(property)}" if region else "the year's temperatures"
        words = f"first green of {year} was {agreement} than the green-up that is reckoned with, "
        words += f"{seen['expected'].iloc[0]:%m-%d} by {basis}, by more than "
        words += f"{settings.green_up_days} days: {listed(places, 20)}; {RESULT_WORDS[agreement]}"
        yield _told("warning", "green_up_differs", words, str(year))


def _told(severity: str, code: str, message: str, subject: str | None = None) -> Finding:
    return Finding(
        severity=severity, code=code, source="phenology", subject=subject, message=message
    )
