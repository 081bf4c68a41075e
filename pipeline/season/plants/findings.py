"""Findings of the plant records: names, rows left out, surveys kept apart, noxious weeds."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.species_names import species_names
from pipeline.season.plants.ground_words import ground_of
from pipeline.season.plants.groups import ANYWHERE
from pipeline.season.plants.surveys import usable_rows
from pipeline.season.settings import CommunitySettings

MOST = 20
"""Names that one finding tells at most."""


WEED_LAW = (
    "state and county lists change and the county weed board decides; product labels and "
    "applicators' licenses bind whoever treats them, and no treatment is suggested here"
)


def find_plants(
    units: gpd.GeoDataFrame,
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    plant_cover: pd.DataFrame,
    property: pd.DataFrame,
    settings: CommunitySettings,
) -> gpd.GeoDataFrame:
    """Findings of the plant records."""
    rows = usable_rows(plants, plant_species, settings)
    findings = [
        *_names(plants, plant_species),
        *_rows(plants, rows),
        *_days(rows),
        *_noxious(plant_cover, plant_species, property),
    ]
    return findings_frame(findings, units.crs)


def _told(
    severity: str, code: str, message: str, subject: str | None = None, source: str = "plants"
) -> Finding:
    return Finding(severity=severity, code=code, source=source, subject=subject, message=message)


def _names(plants: pd.DataFrame, plant_species: pd.DataFrame) -> list[Finding]:
    """Names that were corrected, that could be two species, or that the table does not have."""
    lookup = species_names(plant_species)
    names = plants.loc[ground_of(plants["species"]).isna(), "species"]
    findings = []
    if taken := lookup.corrected(names):
        pairs = [f"{name} for {species}" for name, species in taken.items()]
        words = f"old or misspelt names taken: {listed(pairs, MOST)}; look them over"
        findings.append(_told("warning", "plant_names_corrected", words))
    if unclear := lookup.unclear(names):
        pairs = [f"{name} ({' or '.join(both)})" for name, both in unclear.items()]
        words = f"names that could be several species, nativity unknown: {listed(pairs, MOST)}"
        words += "; write the scientific name"
        findings.append(_told("warning", "plant_names_unclear", words))
    if unknown := lookup.unknown(names):
        near = {name: lookup.offered(name, 1) for name in unknown[:MOST]}
        asked = [f"{name} ({offered[0]}?)" for name, offered in near.items() if offered]
        words = f"not in plant_species, nativity unknown: {listed(unknown, MOST)}"
        words += f"; meant may be: {listed(asked, MOST)}" if asked else ""
        findings.append(_told("warning", "plants_not_listed", words))
    return findings


def _rows(plants: pd.DataFrame, rows: pd.DataFrame) -> list[Finding]:
    """Rows without a cover, and plants that stand twice in one frame."""
    findings = []
    if empty := int((plants["cover_pct"].isna() & plants["cover_class"].isna()).sum()):
        words = f"{empty} rows left out: they have neither cover_pct nor cover_class"
        findings.append(_told("warning", "plants_without_cover", words))
    frame = ["unit_id", "date", "transect", "frame", "species"]
    twice = rows[rows.duplicated(frame) & rows["ground"].isna() & (rows["cover"] > 0)]
    if len(twice):
        places = [
            f"{row.species} on {row.transect}, {row.date:%Y-%m-%d}"
            for row in twice.drop_duplicates(frame).itertuples(index=False)
        ]
        words = f"{len(twice)} rows name a plant again in the same frame or transect, and their "
        words += f"cover was added: {listed(places)}; if each row is a frame, number the frames"
        findings.append(_told("warning", "plants_twice", words))
    return findings


def _days(rows: pd.DataFrame) -> list[Finding]:
    """Several surveys of a unit in one year, told apart by their days."""
    findings = []
    dates = rows.drop_duplicates(["unit_id", "survey"])
    for (unit_id, year), of_year in dates.groupby(["unit_id", dates["survey"].dt.year]):
        days = sorted(of_year["survey"])
        if len(days) > 1:
            told = listed([f"{day:%Y-%m-%d}" for day in days], MOST)
            words = f"{len(days)} surveys in {year} ({told}): each stands alone, the newest counts"
            words += " for the season; if they are days of one, set survey_days of [community]"
            findings.append(_told("note", "surveys_of_one_year", words, str(unit_id)))
    return findings


def _noxious(
    plant_cover: pd.DataFrame, plant_species: pd.DataFrame, property: pd.DataFrame
) -> list[Finding]:
    """Noxious weeds of the newest survey of each unit, or that no list of the state is known."""
    if plant_cover.empty:
        return []
    state = property["state"].iloc[0]
    states = {
        part.strip().casefold()
        for cell in plant_species["noxious_in"].dropna()
        for part in str(cell).split(";")
    } - {ANYWHERE}
    findings = []
    if pd.isna(state) or str(state).casefold() not in states:
        where = "[property] names no state" if pd.isna(state) else f"none is known for {state}"
        words = f"no list of noxious weeds was used: {where}; add a column noxious_in to your own "
        words += "rows of plant_species"
        findings.append(_told("note", "noxious_list_not_known", words, source="plant_species"))
    newest = plant_cover.groupby("unit_id")["date"].transform("max") == plant_cover["date"]
    weeds = plant_cover[newest & (plant_cover["group"] == "noxious")]
    for unit_id, of_unit in weeds.groupby("unit_id"):
        names = listed(of_unit["species"], MOST)
        words = f"on a list of noxious weeds: {names} ({of_unit['date'].iloc[0]:%Y-%m-%d}). A duty "
        words += f"to control may apply: {WEED_LAW}"
        findings.append(_told("warning", "noxious_plant", words, str(unit_id)))
    return findings
