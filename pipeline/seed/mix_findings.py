"""What to look at in the mixes: figures far from the published ones, odd shares, mixed-up roles."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.species_names import species_names
from pipeline.core.units import OZ_PER_LB, half_up
from pipeline.seed.settings import SeedSettings

COMPANION_WORDS = {"hulls", "vermiculite", "sawdust", "litter", "grit", "oats", "barley", "wheat"}
"""Words for what is sown with seed and is not of the mix. Common practice, no source."""


APART_PCT = 25
"""Shares by seed and by weight further apart than this are told. Judgment of this program."""


SMALL_RATE_LB_AC = 0.1
"""Below this a rate is weighed in ounces: rounded to a tenth of a pound it may be off by half."""


def find_mixes(
    mix_sheet: pd.DataFrame,
    mixes: pd.DataFrame,
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    settings: SeedSettings,
) -> Iterator[Finding]:
    """Findings about the lines of the mixes, each with the mix as its subject."""
    ranges = species.set_index("species")
    yield from _name_findings(mixes, seed_lots, species)
    for row in mix_sheet[mix_sheet["role"].eq("seed")].itertuples(index=False):
        published = ranges.loc[row.species] if row.species in ranges.index else None
        for severity, message in (
            *_rate_notes(row),
            *_count_notes(row, published, settings),
            *_share_notes(row, published, settings),
            *_role_notes(row),
        ):
            yield Finding(
                severity=severity,
                source="mixes",
                subject=row.mix,
                message=f"{row.species}: {message}",
            )
    yield from _small_rates(mix_sheet)
    for mix in mixes.loc[mixes["not_100"].eq(True), "mix"].unique():
        total = mixes.loc[mixes["mix"].eq(mix), "full_rate_pct"].sum()
        yield Finding(severity="note", source="mixes", subject=mix, message="percents of full "
                      f"rates add to {half_up(total, 1)}, as meant: sown heavier or lighter "
                      "than a full stand")  # fmt: skip


def _name_findings(
    mixes: pd.DataFrame, seed_lots: pd.DataFrame, species: pd.DataFrame
) -> Iterator[Finding]:
    """Names that the species table does not have, or has twice."""
    lookup = species_names(species)
    for table, frame in (("mixes", mixes[~mixes["role"].isin(["nurse", "carrier"])]),
                         ("seed_lots", seed_lots)):  # fmt: skip
        for name in lookup.unknown(frame["species"]):
            yield Finding(severity="warning", source=table, subject=name, message="not in the "
                          "species table; kept under this name, without seeds per pound or box. "
                          "Check the spelling or add a row to the table")  # fmt: skip
        for name, both in lookup.unclear(frame["species"]).items():
            yield Finding(severity="warning", source=table, subject=name, message="may be "
                          f"{' or '.join(both)}; kept under this name. Write the scientific name"
                          )  # fmt: skip


def _small_rates(mix_sheet: pd.DataFrame) -> Iterator[Finding]:
    """Species of each mix that are weighed in ounces."""
    small = mix_sheet[mix_sheet["pls_lb_ac"].lt(SMALL_RATE_LB_AC)]
    for mix, rows in small.groupby("mix"):
        told = [
            f"{species} {half_up(rate, 2)}"
            for species, rate in zip(rows["species"], rows["pls_oz_ac"], strict=True)
        ]
        yield Finding(severity="note", source="mixes", subject=str(mix), message="weigh in ounces, "
                      "a rate rounded to tenths of a pound is far off (oz PLS per acre): "
                      + ", ".join(told))  # fmt: skip


def _rate_notes(row: pd.Series) -> Iterator[tuple[str, str]]:
    """Rates that cannot be known."""
    if pd.isna(row.pls_lb_ac):
        needs = (
            "seeds per pound"
            if row.basis == "seeds_sqft"
            else f"this species in the full rates of {row.full_rate}"
        )
        yield "warning", f"its pounds are unknown and missing from every total: needs {needs}"


def _count_notes(
    row: pd.Series, published: pd.Series | None, settings: SeedSettings
) -> Iterator[tuple[str, str]]:
    """Own seeds per pound against the published figures, and what counts as one seed."""
    if published is None or pd.isna(row.seeds_per_lb) or pd.isna(published["seeds_per_lb"]):
        return
    ratio = row.seeds_per_lb / published["seeds_per_lb"]
    low, high = published["low_seeds_per_lb"], published["high_seeds_per_lb"]
    told = f"{row.seeds_per_lb:,.0f} seeds per pound; published are {low:,.0f} to {high:,.0f}"
    far = max(ratio, 1 / ratio) > settings.seeds_per_lb_ratio
    if far and max(ratio * OZ_PER_LB, 1 / (ratio * OZ_PER_LB)) < settings.seeds_per_lb_ratio:
        yield "warning", f"{told}. It looks like seeds per ounce: multiply by 16"
    elif far or row.seeds_per_lb < low or row.seeds_per_lb > high:
        yield (
            "warning" if far else "note",
            f"{told}. Pounds or live seeds follow it one to one: check it, and what was counted as "
            "one seed",
        )
    grass = "grass" in str(published["seed_group"] or "")
    if grass and row.seed_unit is None:
        yield "note", "what is counted as one seed (spikelet, floret, grain) is not told"


def _share_notes(
    row: pd.Series, published: pd.Series | None, settings: SeedSettings
) -> Iterator[tuple[str, str]]:
    """Shares of the mix: by which measure, and how much is one grass."""
    by_seed, by_weight = row.share_by_seed_pct, row.share_by_weight_pct
    if abs(by_seed - by_weight) > APART_PCT:
        yield (
            "note",
            f"{half_up(by_seed, 0)} % of the seeds but {half_up(by_weight, 0)} % of the weight: "
            "say which one is meant when ordering by percent",
        )
    grass = published is not None and "grass" in str(published["seed_group"] or "")
    if grass and by_seed > settings.one_grass_pct:
        yield (
            "warning",
            f"{half_up(by_seed, 0)} % of the mix's seeds is this grass; it may crowd out the rest",
        )


def _role_notes(row: pd.Series) -> Iterator[tuple[str, str]]:
    """Nurse crops and carriers that are counted as seed."""
    words = {*f"{row.species} {row.common_name or ''}".casefold().split()}
    if words & COMPANION_WORDS:
        yield (
            "warning",
            "counted as seed of the mix; if it is a nurse crop or a carrier, say so in the column "
            "role, or live seeds and pounds come out too high",
        )
