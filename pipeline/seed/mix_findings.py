"""What to look at in the mixes: figures far from the published ones, odd shares, mixed-up roles."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.species_names import SpeciesNames, species_names
from pipeline.core.trade_names import trade_name
from pipeline.core.units import OZ_PER_LB, half_up
from pipeline.seed.settings import SeedSettings

COMPANION_WORDS = {"hulls", "vermiculite", "sawdust", "litter", "grit", "oats", "barley", "wheat"}
"""Words for what is sown with seed and is not of the mix. Common practice, no source."""


GRASSES = {"grass", "warm-season grass", "cool-season grass"}
"""Seed groups of the species table that are grasses."""


UNSURE = ("low", "from memory")
"""How the confidence of a seed count begins that a person should look at."""


APART_PCT = 25
"""Shares by seed and by weight further apart than this are told. Judgment of this program."""


SMALL_RATE_LB_AC = 0.1
"""Below this a rate is weighed in ounces: rounded to a tenth of a pound it may be off by half."""


Note = tuple[str, str, str]
"""Severity, code and message of a finding."""


def find_mixes(
    mix_sheet: pd.DataFrame,
    mixes: pd.DataFrame,
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    settings: SeedSettings,
) -> Iterator[Finding]:
    """Findings about the lines of the mixes, each with the mix as its subject."""
    published = {row.species: row for row in species.itertuples(index=False)}
    yield from _name_findings(mixes, seed_lots, species)
    for row in mix_sheet[mix_sheet["role"].eq("seed")].itertuples(index=False):
        of_species = published.get(row.species)
        for severity, code, message in (
            *_rate_notes(row),
            *(_count_notes(row, of_species, settings) if of_species else ()),
            *_share_notes(row),
            *(_grass_notes(row, of_species, settings) if of_species else ()),
            *_role_notes(row),
        ):
            yield Finding(
                severity=severity,
                source="mixes",
                subject=row.mix,
                code=code,
                message=f"{row.species}: {message}",
            )
    yield from _small_rates(mix_sheet)
    for mix in mixes.loc[mixes["not_100"].eq(True), "mix"].unique():
        total = half_up(mixes.loc[mixes["mix"].eq(mix), "full_rate_pct"].sum(), 1)
        yield Finding(
            severity="note",
            source="mixes",
            subject=mix,
            code="percents_meant",
            message=f"percents of full rates add to {total}, as meant: sown heavier or lighter "
            "than a full stand",
        )


def _name_findings(
    mixes: pd.DataFrame, seed_lots: pd.DataFrame, species: pd.DataFrame
) -> Iterator[Finding]:
    """Names that the species table does not have or has twice, or that were set right."""
    lookup = species_names(species)
    sown = mixes[~mixes["role"].isin(["nurse", "carrier"])]
    for table, frame in (("mixes", sown), ("seed_lots", seed_lots)):
        for name in dict.fromkeys(frame["species"]):
            for severity, code, message in _name_notes(name, lookup):
                yield Finding(
                    severity=severity, source=table, subject=name, code=code, message=message
                )


def _name_notes(name: str, lookup: SpeciesNames) -> Iterator[Note]:
    """What is told of one name."""
    meant = lookup.found(name)
    if not meant:
        offered = lookup.offered(name)
        do = f"Did you mean {listed(offered)}?" if offered else "No name of the table is near."
        message = (
            "not in the species table; kept under this name, without seeds per pound or box. "
            f"{do} Check the spelling or add a row to the table"
        )
        yield "warning", "unknown_species", message
    elif len(meant) > 1:
        message = f"may be {' or '.join(meant)}; kept under this name. Write the scientific name"
        yield "warning", "unclear_species", message
    elif lookup.corrected([name]):
        yield "note", "name_corrected", f"taken for {meant[0]}; write that name if it is right"
    if done := trade_name(name).done:
        yield (
            "note",
            "seed_was_worked",
            f"{done}: a pound of such seed has another number of seeds than one of seed as it "
            "grew. Give seeds_per_lb in the mix",
        )


def _small_rates(mix_sheet: pd.DataFrame) -> Iterator[Finding]:
    """Species of each mix that are weighed in ounces."""
    small = mix_sheet[mix_sheet["pls_lb_ac"].lt(SMALL_RATE_LB_AC)]
    for mix, rows in small.groupby("mix"):
        pairs = zip(rows["species"], rows["pls_oz_ac"], strict=True)
        rates = ", ".join(f"{species} {half_up(rate, 2)}" for species, rate in pairs)
        yield Finding(
            severity="note",
            source="mixes",
            subject=str(mix),
            code="small_rates",
            message="weigh in ounces, a rate rounded to tenths of a pound is far off (oz PLS per "
            f"acre): {rates}",
        )


def _rate_notes(row: Any) -> Iterator[Note]:
    """Rates that cannot be known, or are nothing."""
    if pd.isna(row.pls_lb_ac):
        needs = (
            "seeds per pound"
            if row.basis == "seeds_sqft"
            else f"this species in the full rates of {row.full_rate}"
        )
        yield (
            "warning",
            "rate_unknown",
            f"its pounds are unknown and missing from every total: needs {needs}",
        )
    elif row.pls_lb_ac == 0:
        yield "warning", "zero_rate", "its rate is 0: nothing of it is ordered or sown"


def _count_notes(row: Any, published: Any, settings: SeedSettings) -> Iterator[Note]:
    """Own seeds per pound against the published figures, and what counts as one seed."""
    if pd.isna(row.seeds_per_lb) or pd.isna(published.seeds_per_lb):
        return
    ratio = row.seeds_per_lb / published.seeds_per_lb
    low, high = published.low_seeds_per_lb, published.high_seeds_per_lb
    figures = f"{row.seeds_per_lb:,.0f} seeds per pound; published are {low:,.0f} to {high:,.0f}"
    most = settings.seeds_per_lb_ratio
    is_far = max(ratio, 1 / ratio) > most
    if is_far and max(ratio * OZ_PER_LB, 1 / (ratio * OZ_PER_LB)) < most:
        message = f"{figures}. It looks like seeds per ounce: multiply by 16"
        yield "warning", "seeds_per_ounce", message
    elif is_far or row.seeds_per_lb < low or row.seeds_per_lb > high:
        yield (
            "warning" if is_far else "note",
            "seeds_per_lb_apart",
            f"{figures}. Pounds or live seeds follow it one to one: check it, and what was counted "
            "as one seed",
        )
    if row.seeds_per_lb_from == "species_table" and str(published.confidence).startswith(UNSURE):
        yield (
            "note",
            "seeds_per_lb_unsure",
            f"{row.seeds_per_lb:,.0f} seeds per pound ({published.confidence}; published are "
            f"{low:,.0f} to {high:,.0f}). Pounds or live seeds follow it one to one: give "
            "seeds_per_lb in the mix where the dealer tells it",
        )
    if published.seed_group in GRASSES and row.seed_unit is None:
        message = "what is counted as one seed (spikelet, floret, grain) is not told"
        yield "note", "seed_unit_untold", message


def _share_notes(row: Any) -> Iterator[Note]:
    """A share of the mix that is one thing by seed and another by weight."""
    by_seed, by_weight = row.share_by_seed_pct, row.share_by_weight_pct
    if abs(by_seed - by_weight) > APART_PCT:
        yield (
            "note",
            "shares_apart",
            f"{half_up(by_seed, 0)} % of the seeds but {half_up(by_weight, 0)} % of the weight: "
            "say which one is meant when ordering by percent",
        )


def _grass_notes(row: Any, published: Any, settings: SeedSettings) -> Iterator[Note]:
    """One grass that takes much of the mix."""
    if published.seed_group in GRASSES and row.share_by_seed_pct > settings.one_grass_pct:
        share = half_up(row.share_by_seed_pct, 0)
        message = f"{share} % of the mix's seeds is this grass; it may crowd out the rest"
        yield "warning", "one_grass", message


def _role_notes(row: Any) -> Iterator[Note]:
    """Nurse crops and carriers that are counted as seed."""
    words = {*f"{row.species} {row.common_name or ''}".casefold().split()}
    if words & COMPANION_WORDS:
        yield (
            "warning",
            "companion_as_seed",
            "counted as seed of the mix; if it is a nurse crop or a carrier, say so in the column "
            "role, or live seeds and pounds come out too high",
        )
