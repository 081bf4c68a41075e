"""What to look at on the tags of the lots before counting on them."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.species_names import resolved_column
from pipeline.core.units import half_up
from pipeline.seed.lot_quality import viability_of
from pipeline.seed.settings import SeedSettings
from pipeline.seed.test_age import AgeRule, last_good_day, months_of_lots

LOW_GERMINATION_PCT = 50
"""Germination up to this without dormant seed is asked about. Judgment of this program."""


HIGH_WEED_PCT = 1.5
"""Most weed seed that Iowa lets be sold: Iowa Code 199.8. Other states differ."""


NO_NOXIOUS = re.compile(
    r"(?:none|nil|free|zero|0|n/?f|n/?d|no|not)"
    r"(?:\W+(?:noted|found|detected|observed|present|reported|listed|noxious|restricted|prohibited"
    r"|weeds?|seeds?|of|or|in|per|lb|pound|exam|sample))*\W*",
    re.IGNORECASE,
)
"""What a tag says where no noxious weed was found; free and none mean it: 7 CFR 201.36."""


NOXIOUS_ELSEWHERE = re.compile(
    r"(?:see\b.*|unknown|not (?:tested|told|known|examined)|untested|pending|\?+|-+)", re.IGNORECASE
)
"""What a tag says where its noxious weeds stand somewhere else, or nowhere."""


KEEP = "keep tags, invoices and the table of which lot went where"


Note = tuple[str, str, str]
"""Severity, code and message of a finding."""


@dataclass(frozen=True, slots=True)
class Sowings:
    """Days of sowing: the last one of each lot that is used, first and last of each species."""

    of_lot: dict[Any, pd.Timestamp]
    first: dict[Any, pd.Timestamp]
    last: dict[Any, pd.Timestamp]


def find_lots(
    seed_lots: pd.DataFrame,
    species: pd.DataFrame,
    seedings: pd.DataFrame,
    seed_use: pd.DataFrame,
    state: str | None,
    rule: AgeRule,
    settings: SeedSettings,
) -> Iterator[Finding]:
    """Findings about single lots, each with the lot as its subject."""
    named = seed_lots.assign(species=resolved_column(seed_lots["species"], species))
    must = set(species.loc[species["dormancy_tested"].fillna(False).astype(bool), "species"])
    sowings = seed_use.merge(seedings[["area", "planting"]].drop_duplicates("area"), on="area")
    by_weight = set(sowings.loc[sowings["pls_lb"].isna() & sowings["role"].ne("seed"), "species"])
    carriers = set(sowings.loc[sowings["role"].eq("carrier"), "species"])
    days = Sowings(
        dict(sowings.groupby("lot")["planting"].max()),
        dict(sowings.groupby("species")["planting"].min()),
        dict(sowings.groupby("species")["planting"].max()),
    )
    of_lots = months_of_lots(seed_lots, species, rule)
    for row, months in zip(named.itertuples(index=False), of_lots, strict=True):
        weighed = row.species in by_weight
        for severity, code, message in (
            *(() if weighed else _quality_notes(row, must_tell=row.species in must)),
            *(() if row.species in carriers else _test_notes(row, days, months, settings)),
            *_weed_notes(row, state),
        ):
            yield Finding(
                severity=severity,
                source="seed_lots",
                subject=row.lot,
                code=code,
                message=message,
                amount=row.on_hand_bulk_lb,
            )


def _quality_notes(row: Any, *, must_tell: bool) -> Iterator[Note]:
    """Whether the tag comes to a figure of live seed, and whether one line is missing."""
    tag = viability_of(row)
    if tag.way == "unknown" or pd.isna(row.purity_pct):
        stated = (
            ""
            if pd.isna(row.pls_pct)
            else f"; the stated {row.pls_pct:g} % PLS alone cannot be checked"
        )
        yield (
            "warning",
            "pls_unknown",
            f"the pounds of this lot are bulk and its pure live seed is unknown{stated}. Needs "
            "purity and germination from the tag; until then nothing is taken from it",
        )
    elif row.purity_pct * tag.viable_pct == 0:
        yield (
            "warning",
            "no_live_seed",
            "the tag comes to no live seed at all: nothing is taken from it. Copy the tag again",
        )
    elif (
        must_tell
        and tag.way == "germination_hard_dormant"
        and not tag.parts_given
        and tag.germination <= LOW_GERMINATION_PCT
    ):
        yield (
            "warning",
            "dormant_untold",
            f"{tag.germination:g} % germination and no dormant seed told; seed of {row.species} is "
            "often dormant and a full test tells how much (7 CFR 201.57a). Ask for the dormant "
            "line: without it too much seed is bought",
        )


def _test_notes(
    row: Any, days: Sowings, months: int | None, settings: SeedSettings
) -> Iterator[Note]:
    """Whether the test counts on the days on which the species is sown."""
    first, last_sown = (table.get(row.species, pd.NaT) for table in (days.first, days.last))
    if pd.isna(row.tested):
        yield (
            "warning",
            "untested",
            "no test date: untested or untagged seed is not for sale, often not for cost-share, "
            f"and its weeds are unknown. Have a sample tested, and {KEEP}",
        )
        return
    if row.tested.replace(day=1) > first:
        yield (
            "warning",
            "tested_after_planting",
            f"tested {row.tested.date()}, but sown from {first.date()} on: look for a slip in one "
            "of the two days. Nothing is taken from it before its test",
        )
    if row.lot in days.of_lot and (months is None or pd.isna(days.of_lot[row.lot])):
        needs = "[seed] test_months or a state with a rule" if months is None else "a planting date"
        yield (
            "note",
            "test_age_unknown",
            f"tested {row.tested.date()}; whether that is recent enough is unknown: needs {needs}",
        )
    elif months is not None and last_sown > (
        last := pd.Timestamp(last_good_day(row.tested.date(), months))
    ):
        what = (
            "It counts all the same, as accept_expired says"
            if settings.accept_expired
            else "It is left out there"
        )
        yield (
            "warning",
            "test_too_old",
            f"tested {row.tested.date()}: good through {last.date()} ({months} months), but sown "
            f"{last_sown.date()}. {what}. Have it tested again; its live seed may have changed",
        )


def _weed_notes(row: Any, state: str | None) -> Iterator[Note]:
    """Weeds that the tag names or counts."""
    told = str(row.noxious or "").strip()
    if NOXIOUS_ELSEWHERE.fullmatch(told):
        yield (
            "warning",
            "noxious_untold",
            f'the tag says "{told}" of noxious weeds: what the lot holds is unknown. Ask for the '
            "report of the test",
        )
    elif told and not NO_NOXIOUS.fullmatch(told):
        yield (
            "warning",
            "noxious_weed",
            f"the tag names {row.noxious}. Look it up on the noxious-weed seed list of "
            f"{state or 'the state of use (not told: [property] state)'}: prohibited seed makes "
            f"the lot unusable there; {KEEP}",
        )
    if row.weed_pct > HIGH_WEED_PCT:
        yield (
            "warning",
            "weed_seed",
            f"{half_up(row.weed_pct, 2)} % weed seed; Iowa, for one, lets no more than "
            f"{HIGH_WEED_PCT} % be sold. Ask what it is",
        )
