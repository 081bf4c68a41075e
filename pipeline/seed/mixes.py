"""Mixes: each line's rate in pure live seed, from whichever of the three ways it was given."""

from typing import Any

import numpy as np
import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.species_names import resolved_column, species_value, with_variety
from pipeline.core.units import OZ_PER_LB
from pipeline.seed.order_layers import BASES, MIX_SHEET
from pipeline.seed.quantities import (
    known_quotient,
    pls_lb_ac,
    seeds_sqft,
    share_of_full_rate_lb_ac,
)

PERCENT_TOLERANCE = 0.1 + 1e-9
"""Percents of a full rate may miss 100 by a tenth, for they are printed to one place; the
billionth is what sums of binary numbers may be off by."""


OWN_COUNT = "own count"
"""Confidence of a number of seeds per pound that the mix itself tells."""


def mix_faults(mixes: pd.DataFrame, species: pd.DataFrame, full_rates: pd.DataFrame) -> list[Fault]:
    """Everything about the mixes that cannot be sown as written."""
    names = resolved_column(mixes["species"], species)
    sets = sorted(set(full_rates["full_rate"]))
    faults = []
    for number, row in enumerate(mixes.to_dict("records"), start=1):
        where = f"mixes, row {number}, {row['mix']}, {row['species']}"
        bases = [basis for basis in BASES if pd.notna(row[basis])]
        if odd := _odd_rate(row, bases, sets):
            faults.append(Fault(where, *odd))
    repeated = mixes.assign(species=names).duplicated(["mix", "species"])
    for n in np.flatnonzero(repeated):
        where, found = (
            f"mixes, row {n + 1}, {mixes['mix'].iloc[n]}",
            f"{names.iloc[n]} a second time",
        )
        faults.append(Fault(where, found, "each species once in a mix", "add the two rates up"))
    return faults + _percent_faults(mixes[mixes["role"].fillna("seed").eq("seed")])


def _odd_rate(
    row: dict[Any, Any], bases: list[str], sets: list[str]
) -> tuple[str, str, str] | None:
    """What is wrong with the rate of one line, as (found, expected, do); None where nothing is."""
    role = row["role"] or "seed"
    if len(bases) != 1:
        found = " and ".join(bases) or "no rate"
        return found, f"exactly one of {', '.join(BASES)}", "keep one"
    if role == "seed" and bases == ["bulk_lb_ac"]:
        return (
            "a rate in bulk for seed",
            "pure live seed: pls_lb_ac, seeds_sqft or full_rate_pct",
            "convert it by the tag, or call it a nurse crop",
        )
    if role == "carrier" and bases != ["bulk_lb_ac"]:
        expected = "bulk_lb_ac: it has no seed"
        return f"a carrier with {bases[0]}", expected, "write what is weighed in"
    if bases == ["full_rate_pct"] and row["full_rate"] not in sets:
        return (
            f"percent of the full rate {row['full_rate'] or '(no name)'}",
            f"a set of full_rates: {', '.join(sets) or 'none'}",
            "name a set in the column full_rate; it tells region, purpose and method",
        )
    return None


def _percent_faults(seed: pd.DataFrame) -> list[Fault]:
    """Mixes by percent of full rates that don't add to 100 and don't say that they mean it.

    Where some lines are by weight or by count, the others may not add to more than 100.
    """
    faults = []
    for mix, rows in seed.groupby("mix"):
        total = rows["full_rate_pct"].sum()
        meant = rows["not_100"].fillna(False).any()
        by_percent = rows["full_rate_pct"].notna()
        off = total - 100 if by_percent.any() else 0.0
        if by_percent.all():
            off = abs(off)
        if off > PERCENT_TOLERANCE and not meant:
            found = f"percents of full rates add to {total:g}"
            do = "correct them, or write not_100 = true if more or less is meant"
            expected = "100" if by_percent.all() else "at most 100 beside rates by weight or count"
            faults.append(Fault(f"mixes, {mix}", found, expected, do))
    return faults


def full_rate_faults(full_rates: pd.DataFrame, species: pd.DataFrame) -> list[Fault]:
    """Sets of full rates that say two things of one species."""
    named = full_rates.assign(species=resolved_column(full_rates["species"], species))
    twice = named[named.duplicated(["full_rate", "species"])]
    return [
        Fault(
            f"full_rates, row {row.Index + 1}",
            f"{row.species} a second time in the set {row.full_rate}",
            "each species once in a set",
            "give the other region or purpose a name of its own",
        )
        for row in twice.itertuples()
    ]


def make_mix_sheet(
    mixes: pd.DataFrame, species: pd.DataFrame, full_rates: pd.DataFrame
) -> pd.DataFrame:
    """Table ``mix_sheet``: rate, live seeds and shares of each line, and where they come from."""
    names = resolved_column(mixes["species"], species)
    published = species_value(names, species, "seeds_per_lb")
    of_mix = mixes["seeds_per_lb"]
    sheet = mixes[["mix", "full_rate_pct", "origin"]].assign(
        species=names,
        variety=with_variety(mixes),
        common_name=species_value(names, species, "common_name"),
        role=mixes["role"].fillna("seed"),
        basis=mixes[list(BASES)].notna().idxmax(axis=1) if len(mixes) else [],
        seed_unit=species_value(names, species, "seed_unit"),
        box=mixes["box"].fillna(species_value(names, species, "box")),
        seeds_per_lb=of_mix.fillna(published),
        low_seeds_per_lb=species_value(names, species, "low_seeds_per_lb").where(of_mix.isna()),
        high_seeds_per_lb=species_value(names, species, "high_seeds_per_lb").where(of_mix.isna()),
        confidence=species_value(names, species, "confidence").where(of_mix.isna(), OWN_COUNT),
        seeds_per_lb_from=np.select(
            [of_mix.notna(), published.notna()], ["mix", "species_table"], "unknown"
        ),
    )
    full = _full_rates_of(mixes, names, species, full_rates)
    rate = _rates_lb_ac(mixes, sheet["seeds_per_lb"], full["pls_lb_ac"])
    return _with_rates(sheet.join(full[["rate_method", "full_rate"]]), rate)


def _full_rates_of(
    mixes: pd.DataFrame, names: pd.Series, species: pd.DataFrame, full_rates: pd.DataFrame
) -> pd.DataFrame:
    """Full rate [lb/ac], method it is written for and what the set is for, of each line."""
    named = full_rates.assign(species=resolved_column(full_rates["species"], species))
    named = named[["full_rate", "species", "pls_lb_ac", "region", "purpose", "rate_method"]]
    lines = mixes[["full_rate", "rate_method"]].assign(species=names)
    found = lines.merge(named, on=["full_rate", "species"], how="left", suffixes=("_of_mix", ""))
    about = found["full_rate"] + " (" + found["region"] + ", " + found["purpose"] + ")"
    return pd.DataFrame(
        {
            "pls_lb_ac": found["pls_lb_ac"].astype("float64"),
            "rate_method": found["rate_method"].fillna(found["rate_method_of_mix"]),
            "full_rate": about.fillna(found["full_rate"]),
        }
    ).set_index(mixes.index)


def _rates_lb_ac(mixes: pd.DataFrame, seeds_per_lb: pd.Series, full: pd.Series) -> pd.Series:
    """Rate [lb/ac] of each line from the one way it was given."""
    by_count = pls_lb_ac(mixes["seeds_sqft"], seeds_per_lb)
    by_share = share_of_full_rate_lb_ac(full, mixes["full_rate_pct"])
    by_weight = mixes["pls_lb_ac"].fillna(mixes["bulk_lb_ac"])
    return by_weight.fillna(by_count).fillna(by_share)


def _with_rates(sheet: pd.DataFrame, rate: pd.Series) -> pd.DataFrame:
    """The sheet with rates and shares; nurse crops and carriers have no share of the mix."""
    seed, by_weight = sheet["role"].eq("seed"), sheet["basis"].eq("bulk_lb_ac")
    pls_rate = rate.where(seed)
    live = seeds_sqft(pls_rate, sheet["seeds_per_lb"])
    of_mix = pd.DataFrame({"mix": sheet["mix"], "live": live, "rate": pls_rate})[seed]
    totals = of_mix.groupby("mix").sum(skipna=False)
    seeds, weight = sheet["mix"].map(totals["live"]), sheet["mix"].map(totals["rate"])
    return sheet.assign(
        pls_lb_ac=rate.where(~by_weight),
        pls_oz_ac=rate.where(~by_weight) * OZ_PER_LB,
        seeds_sqft=live,
        bulk_lb_ac=rate.where(by_weight),
        share_by_seed_pct=known_quotient(live * 100, seeds),
        share_by_weight_pct=known_quotient(pls_rate * 100, weight),
    )[MIX_SHEET.column_names]
