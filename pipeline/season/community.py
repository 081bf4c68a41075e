"""Plant community: shares of native and exotic cover, with transects as the sample."""

import math

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.layer import empty
from pipeline.core.species_names import resolved_column, species_value
from pipeline.core.student_t import t_multiplier
from pipeline.season.layers import COMMUNITY
from pipeline.season.settings import CommunitySettings

MIDPOINT_PCT_BY_CLASS = {
    "0": 0.0,
    "T": 0.5,
    "1": 2.5,
    "2": 15.0,
    "3": 37.5,
    "4": 62.5,
    "5": 85.0,
    "6": 97.5,
}
"""Canopy-cover classes. *Source*: BLM Technical Reference 1734-4 (1996, revised 1999), method D;
T, less than 1 %, from the modified scale of the same reference."""


def cover_of_classes_pct(classes: pd.Series) -> pd.Series:
    """Midpoint [percent] of each cover class; missing where the class is not given or unknown."""
    codes = classes.map(lambda code: str(code).strip().upper(), na_action="ignore")
    return codes.map(MIDPOINT_PCT_BY_CLASS).astype("float64")


def ratio_of_sums(parts: np.ndarray, wholes: np.ndarray) -> float:
    """Share of the parts in the wholes, all transects together; NaN where there is no cover."""
    whole = float(wholes.sum())
    return float(parts.sum()) / whole if whole else math.nan


def ratio_interval(
    parts: np.ndarray, wholes: np.ndarray, confidence_pct: float
) -> tuple[float, float]:
    """Interval of a ratio of sums, cut off at 0 and 1; NaN with one transect.

    *Source*: linearized variance of a ratio, s² = Σ(y − r·x)² ÷ ((n − 1)·n·x̄²), with Student's t.
    """
    count = len(parts)
    ratio = ratio_of_sums(parts, wholes)
    if count < 2 or math.isnan(ratio):
        return math.nan, math.nan
    spread = float(((parts - ratio * wholes) ** 2).sum()) / (count - 1)
    error = math.sqrt(spread / count) / float(wholes.mean())
    half = t_multiplier(count - 1, confidence_pct) * error
    return max(0.0, ratio - half), min(1.0, ratio + half)


def measure_community(
    units: gpd.GeoDataFrame,
    plants: pd.DataFrame,
    plant_species: pd.DataFrame,
    settings: CommunitySettings,
) -> gpd.GeoDataFrame:
    """Layer ``community``: shares of plant cover by unit and survey (all plots of a unit and year).

    A species that a frame does not name is absent from it. Genus-only and unlisted names are of
    unknown nativity and reported as such, never folded into native or exotic.
    """
    covers = transect_covers(plants, plant_species)
    rows = [
        _survey_row(str(unit_id), survey, settings)
        for (unit_id, _), survey in covers.groupby(["unit_id", "year"])
    ]
    if not rows:
        return empty(COMMUNITY, units.crs)
    frame = pd.DataFrame(rows).merge(units[["unit_id", "geometry"]], on="unit_id")
    frame["date"] = frame["date"].astype("datetime64[s]")
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=units.crs)


def class_faults(plants: pd.DataFrame) -> list[Fault]:
    """Cover classes that the scale does not have."""
    given = plants["cover_class"].notna() & plants["cover_pct"].isna()
    odd = plants.loc[given & cover_of_classes_pct(plants["cover_class"]).isna(), "cover_class"]
    expected, do = "T or 0 to 6", "write the class, or cover_pct"
    return [
        Fault("[sources.plants] cover_class", f'"{code}"', expected, do)
        for code in sorted(set(map(str, odd)))
    ]


def transect_covers(plants: pd.DataFrame, plant_species: pd.DataFrame) -> pd.DataFrame:
    """Cover [percent] of each species on each transect: mean over its frames.

    Rows without a cover were not looked for and do not count.
    """
    cover = (
        plants["cover_pct"].astype("float64").fillna(cover_of_classes_pct(plants["cover_class"]))
    )
    read = plants.assign(cover=cover, year=plants["date"].dt.year)[cover.notna()]
    read = read.assign(species=resolved_column(read["species"], plant_species))
    keys = ["unit_id", "year", "transect"]
    frames = read.groupby(keys)["frame"].nunique(dropna=False).rename("frames")
    summed = read.groupby([*keys, "species"], as_index=False).agg(
        cover=("cover", "sum"), date=("date", "max")
    )
    summed = summed.join(frames, on=keys)
    summed["cover"] /= summed["frames"]
    summed = summed[summed["cover"] > 0]
    return summed.assign(
        **{
            column: species_value(summed["species"], plant_species, column).astype(object)
            for column in ("nativity", "growth", "invader")
        }
    )


def _survey_row(
    unit_id: str, survey: pd.DataFrame, settings: CommunitySettings
) -> dict[str, object]:
    """Figures of one survey of one unit."""
    wholes = survey.groupby("transect")["cover"].sum()
    parts = {name: _cover_of(survey[member], wholes) for name, member in _members(survey).items()}
    total = wholes.to_numpy()
    shares = {name: 100 * ratio_of_sums(part, total) for name, part in parts.items()}
    low, high = ratio_interval(parts["native"], total, settings.confidence_pct)
    both = shares["brome"] + shares["bluegrass"]
    brome_part = 100 * shares["brome"] / both if both else math.nan
    return {
        "unit_id": unit_id,
        "date": survey["date"].max(),
        "transects": len(total),
        "cover_pct": total.mean(),
        "native_share_pct": shares["native"],
        "native_low_pct": 100 * low,
        "native_high_pct": 100 * high,
        "interval": interval_standing(len(total)),
        "interval_cut": low == 0.0 or high == 1.0,
        "cool_exotic_share_pct": shares["cool_exotic"],
        "unknown_share_pct": shares["unknown"],
        "native_may_be_more": shares["unknown"] > settings.most_unknown_pct,
        "warm_grass_share_pct": shares["warm_grass"],
        "brome_part_pct": brome_part,
        "lead_invader": lead_invader(both, brome_part, settings),
        "species": survey["species"].nunique(),
    }


def _members(survey: pd.DataFrame) -> dict[str, pd.Series]:
    """Which rows of a survey belong to each group of plants; a plant may be in more than one."""
    introduced = survey["nativity"] == "introduced"
    native = survey["nativity"] == "native"
    growth = survey["growth"].fillna("")
    return {
        "native": native,
        "cool_exotic": introduced & (growth == "cool-season grass"),
        "unknown": ~introduced & ~native,
        "warm_grass": native & (growth == "warm-season grass"),
        "brome": survey["invader"] == "brome",
        "bluegrass": survey["invader"] == "bluegrass",
    }


def _cover_of(members: pd.DataFrame, wholes: pd.Series) -> np.ndarray:
    """Cover [percent] of some plants on each transect, in the order of ``wholes``."""
    covers = members.groupby("transect")["cover"].sum()
    return covers.reindex(wholes.index, fill_value=0.0).to_numpy()


def interval_standing(transects: int) -> str:
    """Code of how many transects the interval of the native share rests on."""
    if transects < 2:
        return "one_transect"
    return "rests_on_two_transects" if transects == 2 else "rests_on_three_or_more"


def lead_invader(both_pct: float, brome_part_pct: float, settings: CommunitySettings) -> str:
    """Which of brome and bluegrass leads, from their shares [percent]."""
    if both_pct < settings.least_invader_pct or math.isnan(brome_part_pct):
        return "neither"
    if brome_part_pct >= settings.brome_leads_pct:
        return "brome"
    return "bluegrass" if brome_part_pct <= 100 - settings.brome_leads_pct else "both"
