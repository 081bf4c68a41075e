"""Findings of the fuel, history, herd and season steps."""

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.names import listed
from pipeline.core.species_names import species_names
from pipeline.log.treatment_log import burns_of
from pipeline.season.clip_plots import plot_dry_g

AID = (
    "fuel, burn window and season plan are planning aids: no burn plan, no prescription, no "
    "permission to light anything; permits, notices and the burn boss decide"
)


def find_season(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    clips: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    fuel: gpd.GeoDataFrame,
    fire_history: gpd.GeoDataFrame,
    herd_balance: pd.DataFrame,
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    season_plan: gpd.GeoDataFrame,
) -> gpd.GeoDataFrame:
    """Findings of the season: rows left out, conflicts, heavy fuel, balance, missing settings."""
    findings = [
        *_clip_rows(clips),
        *_burned_areas(burned_areas, treatment_log),
        *_fuel(fuel),
        *_burned_again(fire_history),
        *_herd(herd_balance),
        *_plants(plants, plant_species),
    ]
    if (fuel["carries"] != "unknown").any() or len(season_plan):
        findings.append(_note("fuel", None, AID))
    return findings_frame(findings, units.crs)


def _note(source: str, subject: str | None, message: str, row: int | None = None) -> Finding:
    """A note."""
    return Finding(severity="note", source=source, subject=subject, row=row, message=message)


def _warning(source: str, subject: str | None, message: str, row: int | None = None) -> Finding:
    """A warning."""
    return Finding(severity="warning", source=source, subject=subject, row=row, message=message)


def _clip_rows(clips: pd.DataFrame) -> list[Finding]:
    """Plots that tell no dry weight."""
    dry = plot_dry_g(clips)
    return [
        _warning("clips", str(clips["unit_id"].iloc[n]),
                 "plot left out: needs dry_g, or green_g with dry_matter_pct or fuel_moisture_pct"
                 if pd.isna(weight) else "plot left out: the bag is heavier than the whole", n + 1)
        for n, weight in enumerate(dry) if pd.isna(weight) or weight < 0
    ]  # fmt: skip


def _burned_areas(burned_areas: gpd.GeoDataFrame, treatment_log: pd.DataFrame) -> list[Finding]:
    """Burned ground without its burn in the log."""
    burns = burns_of(treatment_log)
    logged = set(zip(burns["unit_id"], burns["start"], strict=True))
    drawn = burned_areas[["unit_id", "date"]].drop_duplicates()
    return [
        _warning("burned_areas", row.unit_id, f"burned ground of {row.date.date()} has no burn of "
                 "this unit and day in the treatments: not used")
        for row in drawn.itertuples(index=False) if (row.unit_id, row.date) not in logged
    ]  # fmt: skip


def _fuel(fuel: gpd.GeoDataFrame) -> list[Finding]:
    """Conflicts of the window, heavy loads, broken fuel."""
    findings = []
    for row in fuel.itertuples(index=False):
        if row.conflicts and not pd.isna(row.burn_until):
            findings.append(_warning("fuel", row.unit_id, f"burn window meets: {row.conflicts}"))
        if row.load_class and row.load_class.startswith("heavy"):
            findings.append(_warning("fuel", row.unit_id, f"load in spring is {row.load_class}"))
        if row.continuity == "broken":
            findings.append(_note("fuel", row.unit_id, "bare ground breaks up the fuel"))
    return findings


def _burned_again(fire_history: gpd.GeoDataFrame) -> list[Finding]:
    """Ground that burned again before the least interval."""
    soon = fire_history[fire_history["burned_again_soon"].fillna(False).astype(bool)]
    return [
        Finding(severity="note", source="fire_history", subject=row.unit_id, row=None,
                message=f"burned again before the least interval: {row.burn_years}",
                geometry=row.geometry.representative_point())
        for row in soon.itertuples(index=False)
    ]  # fmt: skip


def _herd(herd_balance: pd.DataFrame) -> list[Finding]:
    """Herd and forage far apart."""
    return [
        _warning("herd", None, f"{row.verdict}: look at the stocking")
        for row in herd_balance.itertuples(index=False) if " is above " in row.verdict
    ]  # fmt: skip


def _plants(plants: pd.DataFrame, plant_species: pd.DataFrame) -> list[Finding]:
    """Plants that the species table does not have; they count as of unknown nativity."""
    names = species_names(plant_species).unknown(plants["species"])
    if not names:
        return []
    return [
        _warning("plants", None, f"not in plant_species, nativity unknown: {listed(names, 20)}")
    ]
