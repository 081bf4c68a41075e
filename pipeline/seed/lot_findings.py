"""What to look at on the tags of the lots before counting on them."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.species_names import resolved_column
from pipeline.core.units import half_up
from pipeline.seed.decimals import decimal_of, exceeds
from pipeline.seed.lot_quality import last_good_day, viability_of
from pipeline.seed.settings import SeedSettings

LOW_GERMINATION_PCT = 50
"""Germination below this without dormant seed is asked about. Judgment of this program."""


HIGH_WEED_PCT = 1.5
"""Most weed seed that Iowa lets be sold: Iowa Code 199.8. Other states differ."""


KEEP = "keep tags, invoices and the table of which lot went where"


def find_lots(
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    test_rules: pd.DataFrame,
    seedings: pd.DataFrame,
    seed_use: pd.DataFrame,
    settings: SeedSettings,
) -> Iterator[Finding]:
    """Findings about single lots, each with the lot as its subject."""
    named = seed_lots.assign(species=resolved_column(seed_lots["species"], species))
    must = set(species.loc[species["dormancy_tested"].fillna(False).astype(bool), "species"])
    months = test_months(test_rules, settings)
    planting = _first_planting(seedings, seed_use)
    for row in named.itertuples(index=False):
        for severity, message in (
            *_quality_notes(row, must_tell=row.species in must),
            *_test_notes(row, planting.get(row.lot), months, used=row.lot in planting),
            *_weed_notes(row, settings),
        ):
            yield Finding(severity=severity, source="seed_lots", subject=row.lot, message=message)


def test_months(test_rules: pd.DataFrame, settings: SeedSettings) -> int | None:
    """Months for which a test is good: of the settings, else of the state's rule; None: unknown."""
    if settings.test_months is not None or settings.state is None or test_rules.empty:
        return settings.test_months
    return int(test_rules.loc[test_rules["state"].eq(settings.state), "months"].min())


def _first_planting(seedings: pd.DataFrame, seed_use: pd.DataFrame) -> dict[str, pd.Timestamp]:
    """Latest planned sowing of each lot that is used; NaT where no date is told."""
    dates = seed_use.merge(seedings[["area", "planting"]].drop_duplicates("area"), on="area")
    return dict(dates.groupby("lot")["planting"].max())


def _quality_notes(row: pd.Series, *, must_tell: bool) -> Iterator[tuple[str, str]]:
    """Whether the tag comes to a figure of live seed, and whether one line is missing."""
    tag = viability_of(row)
    if tag.way == "unknown" or decimal_of(row.purity_pct).is_nan():
        stated = decimal_of(row.pls_pct)
        told = "" if stated.is_nan() else f"; the stated {stated} % PLS alone cannot be checked"
        yield (
            "warning",
            f"the pounds of this lot are bulk and its pure live seed is unknown{told}. Needs "
            "purity and germination from the tag; until then nothing is taken from it",
        )
    elif (
        must_tell
        and tag.way == "germination, hard and dormant"
        and tag.hard.is_nan()
        and tag.dormant.is_nan()
        and not exceeds(tag.germination, decimal_of(LOW_GERMINATION_PCT))
    ):
        yield (
            "warning",
            f"{tag.germination} % germination and no dormant seed told; seed of {row.species} is "
            "often dormant and a full test tells how much (7 CFR 201.57a). Ask for the dormant "
            "line: without it too much seed is bought",
        )


def _test_notes(
    row: pd.Series, planting: pd.Timestamp | None, months: int | None, *, used: bool
) -> Iterator[tuple[str, str]]:
    """Whether the test still counts on the day of sowing."""
    if pd.isna(row.tested):
        yield (
            "warning",
            "no test date: untested or untagged seed is not for sale, often not for cost-share, "
            f"and its weeds are unknown. Have a sample tested, and {KEEP}",
        )
    elif used and (months is None or planting is None or pd.isna(planting)):
        needs = "[seed] test_months or a state with a rule" if months is None else "a planting date"
        yield (
            "note",
            f"tested {row.tested.date()}; whether that is recent enough is unknown: needs {needs}",
        )
    elif used and months is not None and planting is not None:
        last = last_good_day(row.tested.date(), months)
        if planting.date() > last:
            yield (
                "warning",
                f"tested {row.tested.date()}: good through {last} ({months} months), but sown "
                f"{planting.date()}. Have it tested again; its live seed may have changed",
            )


def _weed_notes(row: pd.Series, settings: SeedSettings) -> Iterator[tuple[str, str]]:
    """Weeds that the tag names or counts."""
    state = settings.state or "the state of use (not told: [seed] state)"
    if row.noxious and str(row.noxious).strip().casefold() not in ("none", "none found", "0"):
        yield (
            "warning",
            f"the tag names {row.noxious}. Look it up on the noxious-weed seed list of {state}: "
            f"prohibited seed makes the lot unusable there; {KEEP}",
        )
    if exceeds(decimal_of(row.weed_pct), decimal_of(HIGH_WEED_PCT)):
        yield (
            "warning",
            f"{half_up(row.weed_pct, 2)} % weed seed; Iowa, for one, lets no more than "
            f"{HIGH_WEED_PCT} % be sold. Ask what it is",
        )
