"""What to look at on the areas to be sown: ground, factors, density, boxes."""

from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.units import half_up
from pipeline.seed.settings import SeedSettings

FINE_SEEDS_PER_LB, COARSE_SEEDS_PER_LB = 1_000_000, 100_000
"""Seed finer and coarser than this in one drilled mix wants two depths. Own judgment."""


Note = tuple[str, str, str]
"""Severity, code and message of a finding."""


def find_areas(
    seed_areas: gpd.GeoDataFrame,
    seed_rates: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seedings: pd.DataFrame,
    settings: SeedSettings,
) -> Iterator[Finding]:
    """Findings about areas and rates, each with the area as its subject and place."""
    rates_of = dict(iter(seed_rates.groupby("area")))
    lines_of = dict(iter(mix_sheet[mix_sheet["role"].eq("seed")].groupby("mix")))
    for row in seed_areas.itertuples(index=False):
        rates = rates_of.get(row.area, seed_rates.iloc[:0])
        lines = lines_of.get(row.mix, mix_sheet.iloc[:0])
        place = row.geometry.representative_point() if not row.geometry.is_empty else None
        for severity, code, message in (
            *_ground_notes(row, seedings),
            *_factor_notes(rates),
            *_method_notes(row, rates, lines),
            *_density_notes(row, settings),
            *(_box_notes(lines) if row.method == "drill" else ()),
        ):
            yield Finding(
                severity=severity,
                source="seedings",
                subject=row.area,
                code=code,
                amount=row.net_ac,
                message=message,
                geometry=place,
            )


def _ground_notes(row: Any, seedings: pd.DataFrame) -> Iterator[Note]:
    """Net against gross acres, and ground that is sown twice."""
    if row.net_ac == row.gross_ac:
        yield (
            "note",
            "gross_is_net",
            f"all {half_up(row.gross_ac, 1)} gross acres are counted as sown: are there no "
            "firebreaks, mow lines, roads, water or trees to leave out?",
        )
    units = seedings.loc[seedings["area"].eq(row.area), "unit_id"]
    others = seedings[seedings["unit_id"].isin(units) & seedings["area"].ne(row.area)]
    if len(others):
        yield (
            "note",
            "sown_twice",
            f"{', '.join(sorted(others['unit_id'].unique()))} is also sown as "
            f"{', '.join(sorted(others['area'].unique()))}: its seed is ordered for both",
        )


def _factor_notes(rates: pd.DataFrame) -> Iterator[Note]:
    """Every factor that changed a rate."""
    for kind in ("method", "season", "slope", "sod"):
        factors = rates[f"{kind}_factor"]
        for factor in factors[factors.ne(1)].unique():
            yield (
                "note",
                "factor_used",
                f"{kind} factor {half_up(factor, 2)} is in the rates, once; do not raise them "
                "again on the drill or the order",
            )


def _method_notes(row: Any, rates: pd.DataFrame, lines: pd.DataFrame) -> Iterator[Note]:
    """Rates whose method nobody told, and drilled rates sown otherwise at their drilled figure."""
    if row.method == "drill":
        return
    untold = lines["rate_method"].isna()
    if untold.any():
        yield (
            "warning",
            "rate_method_unknown",
            f"mix {row.mix} does not say which method its rates are written for; they are taken as "
            f"drilled and sown by {row.method}. Tell it in the column rate_method, so that "
            "a rate already raised is not raised again",
        )
    factors = lines["species"].map(rates.set_index("species")["method_factor"])
    raised = lines["rate_method"].eq(row.method) & factors.ne(1) & factors.notna()
    if raised.any():
        yield (
            "warning",
            "raised_again",
            f"mix {row.mix} is written for {row.method}, and the method factor told for this area, "
            f"{half_up(factors[raised].iloc[0], 2)}, raises it again. Leave the factor out if the "
            "rates already have it",
        )
    drilled = untold | lines["rate_method"].eq("drill")
    if drilled.any() and rates["method_factor"].eq(1).all():
        yield (
            "warning",
            "no_method_factor",
            f"drilled rates sown by {row.method} at factor 1; published factors for broadcasting "
            "run from 1 to 2 by region. Set [property] region to one that seed_factors has, or "
            "method_factor for this area",
        )


def _density_notes(row: Any, settings: SeedSettings) -> Iterator[Note]:
    """Live seeds out of the usual bounds; unknown ones are in none."""
    if row.seeds_sqft < settings.lowest_seeds_sqft and row.method != "overseed":
        yield (
            "warning",
            "thin",
            f"{half_up(row.seeds_sqft, 1)} live seeds per square foot: thin. Is a rate missing, or "
            "bulk taken for pure live seed?",
        )
    if row.seeds_sqft > settings.highest_seeds_sqft:
        yield (
            "warning",
            "thick",
            f"{half_up(row.seeds_sqft, 1)} live seeds per square foot: thick. Is a nurse crop "
            "counted as seed, or a factor in twice?",
        )


def _box_notes(lines: pd.DataFrame) -> Iterator[Note]:
    """Boxes and depth of a drilled mix."""
    homeless = sorted(lines.loc[lines["box"].isna(), "species"])
    if homeless:
        yield (
            "warning",
            "no_box",
            f"no drill box told for {', '.join(homeless)}: chaffy, small or large? Fill in the "
            "column box of the mix",
        )
    finest, coarsest = lines["seeds_per_lb"].max(), lines["seeds_per_lb"].min()
    if finest > FINE_SEEDS_PER_LB and coarsest < COARSE_SEEDS_PER_LB:
        yield (
            "note",
            "two_depths",
            "fine and coarse seed in one pass: the finest decides the depth, a quarter inch at "
            "most (Tallgrass Prairie Center)",
        )
