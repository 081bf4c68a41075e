"""Seed of the property's own harvest: what it covers, low, likely and high.

Without a test, live seeds per gram of bulk is the honest unit: filled seeds are counted in a
weighed sample and a few are cut open.
"""

import math
from decimal import Decimal
from statistics import NormalDist
from typing import Any

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.species_names import resolved_column, species_value
from pipeline.seed.decimals import HUNDRED, UNKNOWN, ZERO, decimal_of, decimals, either, floats
from pipeline.seed.quantities import G_PER_LB, covered_ac, live_seeds_g
from pipeline.seed.settings import SeedSettings

ESTIMATES = ("low", "likely", "high")


def sound_fraction_interval(
    good: int, cut: int, *, confidence_pct: float
) -> tuple[Decimal, Decimal, Decimal]:
    """Sound seed as a fraction: low, as counted, high. Wilson's interval for a share of few.

    *Source*: E. B. Wilson, Probable inference, the law of succession, and statistical inference,
    Journal of the American Statistical Association 22 (1927), 209-212.
    """
    z = NormalDist().inv_cdf(0.5 + confidence_pct / 200)
    share = good / cut
    middle = (share + z * z / (2 * cut)) / (1 + z * z / cut)
    half = z / (1 + z * z / cut) * math.sqrt(share * (1 - share) / cut + z * z / (4 * cut * cut))
    low, high = max(0.0, middle - half), min(1.0, middle + half)
    return decimal_of(low), Decimal(good) / Decimal(cut), decimal_of(high)


def harvest_faults(harvests: pd.DataFrame) -> list[Fault]:
    """Harvests told in two ways, or with counts that cannot be."""
    faults = []
    for row in harvests.to_dict("records"):
        where = f"harvests, {row['harvest']}, {row['species']}"
        shares = decimals(row[f"{name}_pls_pct"] for name in ESTIMATES)
        counts = [row[name] for name in ("sample_g", "filled_seeds", "cut_seeds", "good_seeds")]
        counted = [not pd.isna(count) for count in counts]
        shared = [not share.is_nan() for share in shares]
        if (any(counted) and any(shared)) or not (any(counted) or any(shared)):
            faults.append(Fault(where, "counts and a PLS" if any(counted) else "neither counts nor "
                                "a PLS", "one of the two", "give the counts of a sample and a cut "
                                "test, or a low, likely and high PLS"))  # fmt: skip
        elif (any(counted) and not all(counted)) or (any(shared) and not all(shared)):
            faults.append(Fault(where, "only part of the estimate", "sample_g, filled_seeds, "
                                "cut_seeds and good_seeds; or low, likely and high PLS",
                                "fill in what is missing"))  # fmt: skip
        elif all(counted) and (counts[3] > counts[2] or counts[2] == 0 or counts[0] == 0):
            faults.append(Fault(where, f"{counts[3]} good of {counts[2]} cut in {counts[0]} g",
                                "no more good seeds than were cut, and more than none cut",
                                "correct the counts"))  # fmt: skip
        elif all(shared) and not shares[0] <= shares[1] <= shares[2]:
            faults.append(Fault(where, f"PLS {shares[0]}, {shares[1]}, {shares[2]} %",
                                "low, likely and high in this order", "correct them"))  # fmt: skip
    return faults


def live_seeds_g_estimates(
    row: dict[str, Any], seeds_per_lb: Decimal, *, confidence_pct: float
) -> tuple[list[Decimal], list[Decimal]]:
    """Live seeds per gram of bulk and sound seed [%], each low, likely, high.

    From the counts, else from the PLS, which needs the seeds in a pound; sound seed is unknown
    then.
    """
    if pd.isna(row["cut_seeds"]):
        shares = decimals(row[f"{name}_pls_pct"] for name in ESTIMATES)
        return list(shares / HUNDRED * seeds_per_lb / G_PER_LB), [UNKNOWN] * 3
    sound = sound_fraction_interval(
        int(row["good_seeds"]), int(row["cut_seeds"]), confidence_pct=confidence_pct
    )
    filled, sample = Decimal(int(row["filled_seeds"])), decimal_of(row["sample_g"])
    return [live_seeds_g(filled, sample, s) for s in sound], [s * HUNDRED for s in sound]


def estimate_harvests(
    harvests: pd.DataFrame, species: pd.DataFrame, seed_rates: pd.DataFrame, settings: SeedSettings
) -> pd.DataFrame:
    """Table ``own_harvest``: live seeds per gram of each harvest, and the acres it covers.

    The target is the harvest's own, else the most that an area of this season puts on a square
    foot.
    """
    names = resolved_column(harvests["species"], species)
    sown = seed_rates.groupby("species")["seeds_sqft"].max()
    target = decimals(harvests["target_seeds_sqft"].fillna(names.map(sown)))
    target = either(target == ZERO, UNKNOWN, target)
    counts = decimals(species_value(names, species, "seeds_per_lb"))
    bulk = decimals(harvests["bulk_lb"])
    result = harvests[["harvest", "bulk_lb"]].assign(
        species=names, target_seeds_sqft=floats(target)
    )
    estimates = [
        live_seeds_g_estimates(row, count, confidence_pct=settings.confidence_pct)
        for row, count in zip(harvests.to_dict("records"), counts, strict=True)
    ]
    for number, name in enumerate(ESTIMATES):
        per_g = decimals([seeds[number] for seeds, _ in estimates])
        sound = "sound_pct" if name == "likely" else f"{name}_sound_pct"
        result[f"{name}_seeds_g"] = floats(per_g)
        result[sound] = floats(share[number] for _, share in estimates)
        result[f"{name}_ac"] = floats(covered_ac(bulk, per_g, target))
        if name != "high":
            result[f"{name}_pls_lb"] = floats(bulk * G_PER_LB * per_g / counts)
    return result
