"""How far pounds and live seeds may be off: ranges of seed counts and tests, and ten percent.

Pounds of a line given by count rest on the seeds in a pound; live seeds of a line given by weight
do. Bulk rests on the germination test as well.
"""

import math

import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.field_layers import SEED_ERRORS
from pipeline.seed.own_harvest import sound_fraction_interval
from pipeline.seed.quantities import known_quotient, known_sums
from pipeline.seed.settings import SeedSettings

TESTED_SEEDS = {"germination_hard_dormant": 400, "total_viable": 400, "tetrazolium": 200}
"""Seeds in a test by the way the live seed is known: a germination test takes 400 pure seeds
(Colorado Seed Laboratory), a tetrazolium test two times 100 (Indiana Crop Improvement)."""


ERROR = 0.1


ERRORS = ("fewer_seeds_per_lb", "less_live_seed", "setting_too_high")
"""What may be off by ten percent: seeds in a pound, live seed in the bulk, what the drill drops."""


def test_range_pct(lots: pd.DataFrame, settings: SeedSettings) -> tuple[pd.Series, pd.Series]:
    """Lowest and highest PLS [%] that the test of each lot leaves open; Wilson's interval.

    *Assumes* the usual number of seeds in a test; the purity is taken as it is.
    """
    pairs = [
        _one_range(viable, TESTED_SEEDS.get(way), settings.confidence_pct)
        for viable, way in zip(lots["viable_pct"], lots["viable_from"], strict=True)
    ]
    low, high = (
        pd.Series([pair[end] for pair in pairs], lots.index, dtype="float64") for end in (0, 1)
    )
    return lots["purity_pct"] * low, lots["purity_pct"] * high


def _one_range(viable_pct: float, seeds: int | None, confidence_pct: float) -> tuple[float, float]:
    """Ends of the interval around a test of so many seeds, as fractions; NaN without a test."""
    if seeds is None or math.isnan(viable_pct):
        return math.nan, math.nan
    good = min(seeds, round(viable_pct / 100 * seeds))
    low, _, high = sound_fraction_interval(good, seeds, confidence_pct=confidence_pct)
    return min(low, viable_pct / 100), max(high, viable_pct / 100)


def count_ratios(lines: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Least and most pounds of each line over its pounds, by the range of the seeds in a pound.

    1 where the line is given by weight: its pounds are what they are.
    """
    by_count = lines["basis"].eq("seeds_sqft") & lines["low_seeds_per_lb"].notna()
    least = known_quotient(lines["seeds_per_lb"], lines["high_seeds_per_lb"])
    most = known_quotient(lines["seeds_per_lb"], lines["low_seeds_per_lb"])
    return least.where(by_count, 1.0), most.where(by_count, 1.0)


def order_ranges(
    seed_use: pd.DataFrame, seed_rates: pd.DataFrame, lots: pd.DataFrame
) -> pd.DataFrame:
    """Rows of ``seed_use`` with the least and the most pounds that they may come to."""
    keys = ["area", "species"]
    rates = seed_rates[[*keys, "pls_lb", "low_pls_lb", "high_pls_lb"]]
    rates = rates.rename(columns={"pls_lb": "rate_pls_lb"})
    use = seed_use.merge(rates, on=keys, how="left")
    use = use.merge(lots[["lot", "low_pls_pct", "high_pls_pct"]], on="lot", how="left")
    is_seed = use["role"].eq("seed")
    made = {}
    for end, poorest in (("low", "high"), ("high", "low")):
        ratio = known_quotient(use[f"{end}_pls_lb"], use["rate_pls_lb"]).where(is_seed, 1.0)
        worth = known_quotient(use["pls_pct"], use[f"{poorest}_pls_pct"]).fillna(1.0)
        made[f"{end}_pls_needed_lb"] = use["pls_lb"] * ratio
        made[f"{end}_bulk_needed_lb"] = (
            use["bulk_lb"] * ratio * worth.where(use["pls_lb"].notna(), 1.0)
        )
    return use[["species", "lot", "role"]].assign(**made)


def measure_errors(
    seed_areas: pd.DataFrame, seed_rates: pd.DataFrame, mix_sheet: pd.DataFrame
) -> pd.DataFrame:
    """Table ``seed_errors``: what ten percent do to each area's seeds, pounds and acres.

    Fewer seeds in a pound take more pounds where the line is given by count, and leave fewer seeds
    where it is given by weight. Less live seed takes more bulk. A setting that lets out too much
    empties the box before the area is sown.
    """
    if seed_areas.empty:
        return empty(SEED_ERRORS)
    lines = mix_sheet.loc[mix_sheet["role"].eq("seed"), ["mix", "species", "basis"]]
    rates = seed_rates.merge(lines, on=["mix", "species"], how="left")
    by_count = rates["basis"].eq("seeds_sqft") & rates["bag"].isna()
    counted = rates[["pls_lb", "seeds_sqft"]].where(by_count, 0.0).assign(area=rates["area"])
    of_count = known_sums(counted, "area", ["pls_lb", "seeds_sqft"]).reindex(seed_areas["area"])
    share_lb, share_seeds = (
        known_quotient(of_count[name], seed_areas.set_index("area")[name]).to_numpy()
        for name in ("pls_lb", "seeds_sqft")
    )
    more = 1 / (1 - ERROR)
    parts = []
    for error, pounds, seeds, acres in (
        (ERRORS[0], 1 + share_lb * (more - 1), 1 - (1 - share_seeds) * ERROR, 1.0),
        (ERRORS[1], more, 1.0, 1.0),
        (ERRORS[2], 1.0, 1 + ERROR, 1 / (1 + ERROR)),
    ):
        parts.append(
            seed_areas[["area"]].assign(
                error=error,
                seeds_sqft=seed_areas["seeds_sqft"] * seeds,
                bulk_lb=seed_areas["bulk_lb"] * pounds,
                cost_usd=seed_areas["cost_usd_ac"] * seed_areas["net_ac"] * pounds,
                covered_ac=seed_areas["net_ac"] * acres,
            )
        )
    return pd.concat(parts, ignore_index=True)
