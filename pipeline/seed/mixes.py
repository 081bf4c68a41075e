"""Mixes: each line's rate in pure live seed, from whichever of the three ways it was given."""

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.species_names import resolved_column, species_value
from pipeline.seed.decimals import (
    HUNDRED,
    UNKNOWN,
    ZERO,
    column,
    decimal_of,
    decimals,
    either,
    exceeds,
    floats,
    known,
    quotients,
    sums_by,
    total,
)
from pipeline.seed.quantities import OZ_PER_LB, SQFT_PER_AC, seeds_sqft, share_of_full_rate_lb_ac

BASES = ("pls_lb_ac", "seeds_sqft", "full_rate_pct", "bulk_lb_ac")


PERCENT_TOLERANCE = HUNDRED.scaleb(-3)
"""Percents of a full rate may miss 100 by a tenth: they are printed to one place."""


def mix_faults(mixes: pd.DataFrame, species: pd.DataFrame, full_rates: pd.DataFrame) -> list[Fault]:
    """Everything about the mixes that cannot be sown as written."""
    given = mixes[list(BASES)].notna()
    roles = mixes["role"].fillna("seed")
    names = resolved_column(mixes["species"], species)
    sets = set(full_rates["full_rate"])
    faults = []
    for position, row in enumerate(mixes.itertuples(index=False)):
        where = f"mixes, row {position + 1}, {row.mix}, {row.species}"
        bases = [basis for basis in BASES if given[basis].iloc[position]]
        if len(bases) != 1:
            faults.append(Fault(where, " and ".join(bases) or "no rate",
                                f"exactly one of {', '.join(BASES)}", "keep one"))  # fmt: skip
        elif roles.iloc[position] == "seed" and bases == ["bulk_lb_ac"]:
            faults.append(Fault(where, "a rate in bulk for seed",
                                "pure live seed: pls_lb_ac, seeds_sqft or full_rate_pct",
                                "convert it by the tag, or call it a nurse crop"))  # fmt: skip
        elif roles.iloc[position] == "carrier" and bases != ["bulk_lb_ac"]:
            faults.append(Fault(where, f"a carrier with {bases[0]}", "bulk_lb_ac: it has no seed",
                                "write what is weighed in"))  # fmt: skip
        elif bases == ["full_rate_pct"] and row.full_rate not in sets:
            faults.append(Fault(where, f"percent of the full rate {row.full_rate or '(no name)'}",
                                f"a set of full_rates: {', '.join(sorted(sets)) or 'none'}",
                                "name a set in the column full_rate; it tells region, purpose and "
                                "method"))  # fmt: skip
    repeated = mixes.assign(species=names).duplicated(["mix", "species"])
    faults += [
        Fault(f"mixes, row {n + 1}, {mixes['mix'].iloc[n]}", f"{names.iloc[n]} a second time",
              "each species once in a mix", "add the two rates up")
        for n in np.flatnonzero(repeated)
    ]  # fmt: skip
    return faults + _percent_faults(mixes[roles.eq("seed")])


def _percent_faults(seed: pd.DataFrame) -> list[Fault]:
    """Mixes by percent of full rates that don't add to 100 and don't say that they mean it."""
    faults = []
    for mix, rows in seed.groupby("mix"):
        shares = decimals(rows["full_rate_pct"])
        meant = rows["not_100"].fillna(False).any()
        if exceeds(abs(total(shares) - HUNDRED), PERCENT_TOLERANCE) and not meant:
            faults.append(
                Fault(f"mixes, {mix}", f"percents of full rates add to {total(shares)}", "100",
                      "correct them, or write not_100 = true if more or less is meant")
            )  # fmt: skip
    return faults


def full_rate_faults(full_rates: pd.DataFrame, species: pd.DataFrame) -> list[Fault]:
    """Sets of full rates that say two things of one species, or hold two methods."""
    named = full_rates.assign(species=resolved_column(full_rates["species"], species))
    return [
        Fault(f"full_rates, row {n + 1}", f"{named['species'].iloc[n]} a second time in the set "
              f"{named['full_rate'].iloc[n]}", "each species once in a set",
              "give the other region or purpose a name of its own")
        for n in np.flatnonzero(named.duplicated(["full_rate", "species"]))
    ]  # fmt: skip


def make_mix_sheet(
    mixes: pd.DataFrame, species: pd.DataFrame, full_rates: pd.DataFrame
) -> pd.DataFrame:
    """Table ``mix_sheet``: rate, live seeds and shares of each line, and where they come from."""
    names = resolved_column(mixes["species"], species)
    sheet = mixes[["mix", "full_rate", "full_rate_pct"]].assign(
        species=names,
        common_name=species_value(names, species, "common_name"),
        role=mixes["role"].fillna("seed"),
        basis=mixes[list(BASES)].notna().to_numpy().argmax(axis=1) if len(mixes) else [],
        seed_unit=species_value(names, species, "seed_unit"),
        box=mixes["box"].fillna(species_value(names, species, "box")),
    )
    sheet["basis"] = [BASES[number] for number in sheet["basis"]]
    published = species_value(names, species, "seeds_per_lb")
    count = decimals(mixes["seeds_per_lb"].fillna(published))
    sheet["seeds_per_lb"] = floats(count)
    sheet["seeds_per_lb_from"] = np.where(
        mixes["seeds_per_lb"].notna(),
        "mix",
        np.where(published.notna(), "species table", "unknown"),
    )
    full, sheet["rate_method"], sheet["full_rate"] = _full_rates_of(
        mixes, names, species, full_rates
    )
    rate = _rates_lb_ac(mixes, count, full)
    seed = sheet["role"].eq("seed").to_numpy()
    return _with_rates(sheet, rate, count, seed)


def _full_rates_of(
    mixes: pd.DataFrame, names: pd.Series, species: pd.DataFrame, full_rates: pd.DataFrame
) -> tuple[np.ndarray, list[str | None], list[str | None]]:
    """Full rate [lb/ac], method it is written for and what the set is for, of each line."""
    known_rates = {
        (row.full_rate, name): row
        for row, name in zip(
            full_rates.itertuples(index=False),
            resolved_column(full_rates["species"], species),
            strict=True,
        )
    }
    rates, methods, sets = [], [], []
    for row, name in zip(mixes.itertuples(index=False), names, strict=True):
        found = known_rates.get((row.full_rate, name)) if row.full_rate else None
        rates.append(decimal_of(found.pls_lb_ac) if found else UNKNOWN)
        methods.append(found.rate_method if found else row.rate_method)
        sets.append(
            f"{row.full_rate} ({found.region}, {found.purpose})" if found else row.full_rate
        )
    return column(rates), methods, sets


def _rates_lb_ac(mixes: pd.DataFrame, count: np.ndarray, full: np.ndarray) -> np.ndarray:
    """Rate [lb/ac] of each line from the one way it was given."""
    by_weight = decimals(mixes["pls_lb_ac"].fillna(mixes["bulk_lb_ac"]))
    by_count = quotients(decimals(mixes["seeds_sqft"]) * SQFT_PER_AC, count)
    by_share = share_of_full_rate_lb_ac(full, decimals(mixes["full_rate_pct"]))
    counted = mixes["seeds_sqft"].notna().to_numpy()
    return either(known(by_weight), by_weight, either(counted, by_count, by_share))


def _with_rates(
    sheet: pd.DataFrame, rate: np.ndarray, count: np.ndarray, seed: np.ndarray
) -> pd.DataFrame:
    """The sheet with rates and shares; nurse crops and carriers only by weight."""
    live = seeds_sqft(rate, count)
    codes, mixes = pd.factorize(sheet["mix"])
    pls_rate, live = either(seed, rate, UNKNOWN), either(seed, live, UNKNOWN)
    weight = sums_by(codes, either(seed, rate, ZERO), len(mixes))[codes]
    seeds = sums_by(codes, either(seed, live, ZERO), len(mixes))[codes]
    return sheet.assign(
        pls_lb_ac=floats(pls_rate),
        pls_oz_ac=floats(pls_rate * OZ_PER_LB),
        seeds_sqft=floats(live),
        bulk_lb_ac=floats(either(seed, UNKNOWN, rate)),
        share_by_seed_pct=floats(quotients(live * HUNDRED, seeds)),
        share_by_weight_pct=floats(quotients(pls_rate * HUNDRED, weight)),
    )
