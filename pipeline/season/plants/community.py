"""Plant community: shares of native and exotic cover, with transects as the sample."""

import math

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import listed
from pipeline.core.student_t import t_multiplier
from pipeline.season.layers import COMMUNITY
from pipeline.season.plants.surveys import on_transects, read_surveys
from pipeline.season.settings import CommunitySettings


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
    """Layer ``community``: shares of plant cover by unit and survey; no two dates are added up.

    Litter and bare ground are no plants. Genus-only and unlisted names are of unknown nativity and
    reported as such, never folded into native or exotic.
    """
    surveys = read_surveys(plants, plant_species, settings)
    of_plants = surveys.covers[surveys.covers["ground"].isna()]
    by_survey = dict(list(of_plants.groupby(["unit_id", "survey"])))
    rows = [
        {"unit_id": unit_id, "date": day}
        | _survey_row(
            by_survey.get((unit_id, day), of_plants.iloc[:0]), pd.Index(read["transect"]), settings
        )
        for (unit_id, day), read in surveys.read.groupby(["unit_id", "survey"])
    ]
    if not rows:
        return empty(COMMUNITY, units.crs)
    frame = pd.DataFrame(rows).merge(units[["unit_id", "geometry"]], on="unit_id")
    frame["date"] = frame["date"].astype("datetime64[s]")
    return gpd.GeoDataFrame(frame, geometry="geometry", crs=units.crs)


def _survey_row(
    survey: pd.DataFrame, transects: pd.Index, settings: CommunitySettings
) -> dict[str, object]:
    """Figures of one survey of one unit, from its plants on the transects that it read."""
    members = _members(survey)
    parts = {name: on_transects(survey[member], transects) for name, member in members.items()}
    total = on_transects(survey, transects)
    shares = {name: 100 * ratio_of_sums(part, total) for name, part in parts.items()}
    low, high = ratio_interval(parts["native"], total, settings.confidence_pct)
    both = shares["brome"] + shares["bluegrass"]
    brome_part = 100 * shares["brome"] / both if both else math.nan
    return {
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
        "lead_invader": lead_invader(both, brome_part, shares["cool_exotic"], settings),
        "species": survey["species"].nunique(),
        **mean_c(survey[members["native"]]),
    }


def mean_c(natives: pd.DataFrame) -> dict[str, object]:
    """Mean coefficient of conservatism of the native species that the user's list has one for.

    Each species counts once, whatever its cover. Lists differ, so that no mean is taken over
    coefficients of two of them.
    *Source*: definition of the floristic quality assessment, Swink and Wilhelm, Plants of the
    Chicago Region, 1994, from memory; the tests hold it to an agency's figures.
    """
    rated = natives.drop_duplicates("species").dropna(subset="coefficient_of_conservatism")
    lists = rated["c_list"].dropna().unique()
    one = len(rated) > 0 and rated["c_list"].nunique(dropna=False) == 1
    return {
        "mean_c_native": rated["coefficient_of_conservatism"].mean() if one else math.nan,
        "c_species": len(rated),
        "c_list": listed(sorted(lists), 20) or None,
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


def interval_standing(transects: int) -> str:
    """Code of how many transects the interval of the native share rests on."""
    if transects < 2:
        return "one_transect"
    return "rests_on_two_transects" if transects == 2 else "rests_on_three_or_more"


def lead_invader(
    both_pct: float, brome_part_pct: float, cool_exotic_pct: float, settings: CommunitySettings
) -> str:
    """Which introduced cool-season grass leads, from shares [percent] of all plant cover.

    Another one does where it holds more than brome and bluegrass together.
    """
    others_pct = cool_exotic_pct - both_pct
    if others_pct > both_pct and others_pct >= settings.least_invader_pct:
        return "other"
    if both_pct < settings.least_invader_pct or math.isnan(brome_part_pct):
        return "neither"
    if brome_part_pct >= settings.brome_leads_pct:
        return "brome"
    return "bluegrass" if brome_part_pct <= 100 - settings.brome_leads_pct else "both"
