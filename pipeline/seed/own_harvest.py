"""Seed of the property's own harvest: what it covers, low, likely and high.

Without a test, live seeds per gram of bulk is the honest unit: filled seeds are counted in a
weighed sample and a few are cut open.
"""

import math
from statistics import NormalDist
from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.species_names import resolved_column, species_value
from pipeline.core.units import G_PER_LB
from pipeline.seed.quantities import covered_ac, live_seeds_g
from pipeline.seed.settings import SeedSettings

ESTIMATES = ("low", "likely", "high")


COUNTS = ("sample_g", "filled_seeds", "cut_seeds", "good_seeds")


def sound_fraction_interval(
    good: int, cut: int, *, confidence_pct: float
) -> tuple[float, float, float]:
    """Sound seed as a fraction: low, as counted, high. Wilson's interval for a share of few.

    *Source*: E. B. Wilson, Probable inference, the law of succession, and statistical inference,
    Journal of the American Statistical Association 22 (1927), 209-212.
    """
    z = NormalDist().inv_cdf(0.5 + confidence_pct / 200)
    share = good / cut
    middle = (share + z * z / (2 * cut)) / (1 + z * z / cut)
    half = z / (1 + z * z / cut) * math.sqrt(share * (1 - share) / cut + z * z / (4 * cut * cut))
    return max(0.0, middle - half), share, min(1.0, middle + half)


def harvest_faults(harvests: pd.DataFrame) -> list[Fault]:
    """Harvests told in two ways, or with counts that cannot be."""
    rows = harvests.to_dict("records")
    return [
        Fault(f"harvests, {row['harvest']}, {row['species']}", *odd)
        for row in rows
        if (odd := _odd_harvest(row))
    ]


def _odd_harvest(row: dict[Any, Any]) -> tuple[str, str, str] | None:
    """What is wrong with one harvest, as (found, expected, do); None where nothing is."""
    shares = [row[f"{name}_pls_pct"] for name in ESTIMATES]
    sample, _, cut, good = (row[name] for name in COUNTS)
    counted = [pd.notna(row[name]) for name in COUNTS]
    shared = [pd.notna(share) for share in shares]
    if any(counted) == any(shared):
        found = "counts and a PLS" if any(counted) else "neither counts nor a PLS"
        do = "give the counts of a sample and a cut test, or a low, likely and high PLS"
        return found, "one of the two", do
    if not all(counted) and not all(shared):
        expected = f"{', '.join(COUNTS[:3])} and {COUNTS[3]}; or low, likely and high PLS"
        return "only part of the estimate", expected, "fill in what is missing"
    if all(counted) and (good > cut or cut == 0 or sample == 0):
        expected = "no more good seeds than were cut, and more than none cut"
        return f"{good} good of {cut} cut in {sample:g} g", expected, "correct the counts"
    if all(shared) and not shares[0] <= shares[1] <= shares[2]:
        found = f"PLS {', '.join(f'{share:g}' for share in shares)} %"
        return found, "low, likely and high in this order", "correct them"
    return None


def live_seeds_g_estimates(
    row: dict[Any, Any], seeds_per_lb: float, *, confidence_pct: float
) -> tuple[np.ndarray, np.ndarray]:
    """Live seeds per gram of bulk and sound seed [%], each low, likely, high.

    From the counts, else from the PLS, which needs the seeds in a pound; sound seed is unknown
    then.
    """
    if pd.isna(row["cut_seeds"]):
        shares = np.array([row[f"{name}_pls_pct"] for name in ESTIMATES])
        return shares / 100 * seeds_per_lb / G_PER_LB, np.full(len(ESTIMATES), np.nan)
    good, cut = int(row["good_seeds"]), int(row["cut_seeds"])
    sound = np.array(sound_fraction_interval(good, cut, confidence_pct=confidence_pct))
    return live_seeds_g(row["filled_seeds"], row["sample_g"], sound), sound * 100


def estimate_harvests(
    harvests: pd.DataFrame, species: pd.DataFrame, seed_rates: pd.DataFrame, settings: SeedSettings
) -> pd.DataFrame:
    """Table ``own_harvest``: live seeds per gram of each harvest, and the acres it covers.

    The target is the harvest's own, else the most that an area of this season puts on a square
    foot.
    """
    names = resolved_column(harvests["species"], species)
    sown = seed_rates.groupby("species")["seeds_sqft"].max()
    target = harvests["target_seeds_sqft"].fillna(names.map(sown))
    seeds_per_lb = species_value(names, species, "seeds_per_lb").astype("float64")
    bulk = harvests["bulk_lb"]
    estimates = [
        live_seeds_g_estimates(row, count, confidence_pct=settings.confidence_pct)
        for row, count in zip(harvests.to_dict("records"), seeds_per_lb, strict=True)
    ]
    result = harvests[["harvest", "bulk_lb"]].assign(species=names, target_seeds_sqft=target)
    for number, name in enumerate(ESTIMATES):
        per_g = pd.Series([seeds[number] for seeds, _ in estimates], dtype="float64")
        sound = "sound_pct" if name == "likely" else f"{name}_sound_pct"
        result[f"{name}_seeds_g"] = per_g
        result[sound] = [share[number] for _, share in estimates]
        result[f"{name}_ac"] = covered_ac(bulk, per_g, target.where(target.ne(0)))
        if name != "high":
            result[f"{name}_pls_lb"] = bulk * G_PER_LB * per_g / seeds_per_lb
    return result
