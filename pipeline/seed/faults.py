"""What is wrong with the seed tables and the areas to be sown, told before anything is computed."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import suggestion
from pipeline.core.species_names import resolved_column
from pipeline.log.days import is_month_day
from pipeline.seed.lot_quality import lot_faults, tag_faults
from pipeline.seed.mixes import full_rate_faults, mix_faults
from pipeline.seed.own_harvest import harvest_faults
from pipeline.seed.rates import SITE_KINDS, FactorTable, region_factors


def seed_faults(
    seedings: pd.DataFrame,
    mixes: pd.DataFrame,
    species: pd.DataFrame,
    full_rates: pd.DataFrame,
    seed_lots: pd.DataFrame,
    seed_bags: pd.DataFrame,
    seed_factors: pd.DataFrame,
    harvests: pd.DataFrame,
    seeding_windows: pd.DataFrame,
    property: pd.DataFrame,
) -> list[Fault]:
    """Tables that contradict themselves, and names of the areas that no table has."""
    return [
        *mix_faults(mixes, species, full_rates),
        *full_rate_faults(full_rates, species),
        *lot_faults(seed_lots),
        *_tests_to_come(seed_lots, property),
        *_bag_faults(seed_bags, species),
        *harvest_faults(harvests),
        *_window_faults(seeding_windows),
        *_seeding_faults(seedings, mixes, seed_bags, region_factors(seed_factors, property)),
    ]


def _window_faults(seeding_windows: pd.DataFrame) -> list[Fault]:
    """Seeding windows whose days are no days of the year."""
    return [
        Fault(
            f"[sources.seeding_windows] {row.place}, {row.window}",
            f"days {row.first_day} to {row.last_day}",
            "month and day, such as 04-15",
            "write them that way",
        )
        for row in seeding_windows.itertuples(index=False)
        if not (is_month_day(row.first_day) and is_month_day(row.last_day))
    ]


def _tests_to_come(seed_lots: pd.DataFrame, property: pd.DataFrame) -> Iterator[Fault]:
    """Faults of lots that were tested after the season that is being prepared."""
    last = pd.Timestamp(int(property["season"].iloc[0]), 12, 31)
    for lot in seed_lots[seed_lots["tested"] > last].itertuples(index=False):
        found = f"tested {lot.tested:%Y-%m-%d}, after the season {last.year}"
        yield Fault(f"seed_lots, {lot.lot}", found, "a day that has been", "mend the year")


def _bag_faults(seed_bags: pd.DataFrame, species: pd.DataFrame) -> list[Fault]:
    """Tags of pre-mixed bags that contradict themselves, and species that stand twice in a bag."""
    bags = seed_bags.assign(species=resolved_column(seed_bags["species"], species))
    repeated = bags[bags.duplicated(["bag", "species"])]
    return tag_faults(bags, "seed_bags", "bag") + [
        Fault(
            f"seed_bags, {row.bag}",
            f"{row.species} a second time",
            "each species once in a bag",
            "add the two lines up",
        )
        for row in repeated.itertuples(index=False)
    ]


def _seeding_faults(
    seedings: pd.DataFrame, mixes: pd.DataFrame, seed_bags: pd.DataFrame, table: FactorTable
) -> Iterator[Fault]:
    """Areas named twice, and names of a mix, bag or factor that no table has."""
    entries = seedings.drop(columns="unit_id").drop_duplicates()
    for area in entries["area"][entries["area"].duplicated()].unique():
        yield Fault(
            f'[[seedings]] "{area}"',
            "two entries of this name",
            "one entry for each area",
            "give the second its own name; it may hold the same units",
        )
    for entry in entries.to_dict("records"):
        where = f'[[seedings]] "{entry["area"]}"'
        yield from _unknown_name(where, "mix", entry["mix"], mixes)
        yield from _unknown_name(where, "bag", entry["bag"], seed_bags)
        yield from _factor_faults(where, entry, table)


def _unknown_name(where: str, what: str, name: str | None, table: pd.DataFrame) -> Iterator[Fault]:
    """A mix or bag of an area that its table does not have."""
    known = sorted(set(table[what]))
    if name is not None and name not in known:
        source = {"mix": "mixes", "bag": "seed_bags"}[what]
        yield Fault(
            where,
            f'{what} "{name}" is not in the table of {source}',
            f"a {what} of [sources.{source}]",
            suggestion(name, known) if known else f"give [sources.{source}]",
        )


def _factor_faults(where: str, entry: dict[Any, Any], table: FactorTable) -> Iterator[Fault]:
    """Names of a site's factors that the region does not have and the area does not tell."""
    for kind in SITE_KINDS:
        has_factor = pd.notna(entry[f"{kind}_factor"])
        if entry[kind] is not None and not has_factor and (kind, entry[kind]) not in table:
            known = sorted(name for k, name in table if k == kind)
            yield Fault(
                f"{where}, {kind}",
                entry[kind],
                f"a {kind} factor of the region: {', '.join(known) or 'none'}",
                f"correct it, set [property] region to one of seed_factors, or write {kind}_factor",
            )
