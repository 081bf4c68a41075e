"""What to look at on the areas: ground, factors, shortages, boxes, bags and the law."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.units import half_up
from pipeline.seed.decimals import HUNDRED, decimals
from pipeline.seed.order_layers import TO_ORDER
from pipeline.seed.quantities import blended_pls_fraction
from pipeline.seed.settings import SeedSettings

FINE_SEEDS_PER_LB, COARSE_SEEDS_PER_LB = 1_000_000, 100_000
"""Seed finer and coarser than this in one drilled mix wants two depths. Own judgment."""


LAW = (
    "which weeds make seed unusable or restricted is the law of the state where it is sown. Refuse "
    "unlabeled seed; keep tags, invoices and the table of which lot went where"
)


CONTRACT = (
    "ground under a conservation contract or easement may only be sown as its plan says: get mix, "
    "rates and dates approved before ordering"
)


def find_areas(
    seed_areas: gpd.GeoDataFrame, seed_rates: pd.DataFrame, mix_sheet: pd.DataFrame,
    seedings: pd.DataFrame, settings: SeedSettings,
) -> Iterator[Finding]:  # fmt: skip
    """Findings about areas and rates, each with the area as its subject and place."""
    rates_of = dict(iter(seed_rates.groupby("area")))
    for row in seed_areas.itertuples(index=False):
        rates = rates_of.get(row.area, seed_rates.iloc[:0])
        sheet = mix_sheet[mix_sheet["mix"].eq(row.mix) & mix_sheet["role"].eq("seed")]
        place = row.geometry.representative_point() if not row.geometry.is_empty else None
        for severity, message in (
            *_ground_notes(row, seedings),
            *_factor_notes(row, rates, sheet),
            *_density_notes(row, settings),
            *(_drill_notes(sheet) if row.method == "drill" else ()),
        ):
            yield Finding(severity=severity, source="seedings", subject=row.area, message=message,
                          geometry=place)  # fmt: skip
    if len(seed_areas):
        state = settings.state or "unknown: needs [seed] state"
        yield Finding(severity="note", source="seedings", subject="noxious weeds",
                      message=f"State of use {state}: {LAW}")  # fmt: skip
        yield Finding(severity="note", source="seedings", subject="contracts", message=CONTRACT)


def _ground_notes(row: pd.Series, seedings: pd.DataFrame) -> Iterator[tuple[str, str]]:
    """Net against gross acres, and ground that is sown twice."""
    if row.net_ac == row.gross_ac:
        yield (
            "note",
            f"all {half_up(row.gross_ac, 1)} gross acres are counted as sown: are there no "
            "firebreaks, mow lines, roads, water or trees to leave out?",
        )
    units = seedings.loc[seedings["area"].eq(row.area), "unit_id"]
    others = seedings[seedings["unit_id"].isin(units) & seedings["area"].ne(row.area)]
    if len(others):
        yield (
            "note",
            f"{', '.join(sorted(others['unit_id'].unique()))} is also sown as "
            f"{', '.join(sorted(others['area'].unique()))}: its seed is ordered for both",
        )


def _factor_notes(
    row: pd.Series, rates: pd.DataFrame, sheet: pd.DataFrame
) -> Iterator[tuple[str, str]]:
    """Every factor that changed a rate, and a method whose factor nobody told."""
    for kind in ("method", "season", "slope", "sod"):
        for factor in rates.loc[rates[f"{kind}_factor"].ne(1), f"{kind}_factor"].unique():
            yield (
                "note",
                f"{kind} factor {half_up(factor, 2)} is in the rates, once; do not raise them "
                "again on the drill or the order",
            )
    if sheet["rate_method"].isna().any() and row.method != "drill":
        yield (
            "warning",
            f"mix {row.mix} does not say which method its rates are written for; they are taken as "
            f"drilled and sown by {row.method}. Tell it in the column rate_method, so that "
            "a rate already raised is not raised again",
        )
    drilled = sheet["rate_method"].isna() | sheet["rate_method"].eq("drill")
    if row.method != "drill" and drilled.any() and rates["method_factor"].eq(1).all():
        yield (
            "warning",
            f"drilled rates sown by {row.method} at factor 1; published factors for broadcasting "
            "run from 1 to 2 by region. Set [seed] region, or method_factor for this area",
        )


def _density_notes(row: pd.Series, settings: SeedSettings) -> Iterator[tuple[str, str]]:
    """Live seeds out of the usual bounds."""
    told = (
        f"{half_up(row.seeds_sqft, 1)} live seeds per square foot"
        if row.seeds_sqft == row.seeds_sqft
        else ""
    )
    if row.seeds_sqft < settings.lowest_seeds_sqft and row.method != "overseed":
        yield "warning", f"{told}: thin. Is a rate missing, or bulk taken for pure live seed?"
    if row.seeds_sqft > settings.highest_seeds_sqft:
        yield "warning", f"{told}: thick. Is a nurse crop counted as seed, or a factor in twice?"


def _drill_notes(sheet: pd.DataFrame) -> Iterator[tuple[str, str]]:
    """Boxes and depth of a drilled mix."""
    homeless = sorted(sheet.loc[sheet["box"].isna(), "species"])
    if homeless:
        yield (
            "warning",
            f"no drill box told for {', '.join(homeless)}: chaffy, small or large? Fill in the "
            "column box of the mix",
        )
    finest, coarsest = sheet["seeds_per_lb"].max(), sheet["seeds_per_lb"].min()
    if finest > FINE_SEEDS_PER_LB and coarsest < COARSE_SEEDS_PER_LB:
        yield (
            "note",
            "fine and coarse seed in one pass: the finest decides the depth, a quarter inch at "
            "most (Tallgrass Prairie Center)",
        )


def find_supply(seed_use: pd.DataFrame, seed_order: pd.DataFrame) -> Iterator[Finding]:
    """Findings about what is short, and about lots of one species side by side."""
    for row in seed_order[
        seed_order["lot"].eq(TO_ORDER) & seed_order["role"].eq("seed")
    ].itertuples(index=False):
        known_need = not pd.isna(row.pls_needed_lb)
        need = f"{half_up(row.pls_needed_lb, 2)} lb PLS" if known_need else "an unknown amount"
        bulk = (
            f"about {half_up(row.bulk_to_order_lb, 2)} lb bulk at {half_up(row.pls_pct, 1)} % PLS"
            if not pd.isna(row.bulk_to_order_lb)
            else "bulk unknown: needs a lot's tag or [seed] assumed_pls_pct"
        )
        yield Finding(severity="warning", source="seed_order", subject=row.species,
                      message=f"{need} is covered by no lot, held or on offer ({bulk}). Order by "
                      "PLS pounds; no other species was put in its place")  # fmt: skip
    keys = ["area", "species"]
    from_lots = seed_use[seed_use["lot"].ne(TO_ORDER)]
    several = from_lots.groupby(keys)["lot"].transform("nunique").gt(1)
    for (area, species), rows in from_lots[several].groupby(keys):
        weights, pls = decimals(rows["bulk_lb"]), decimals(rows["pls_pct"])
        blend = half_up(float(blended_pls_fraction(weights, pls / HUNDRED) * HUNDRED), 1)
        yield Finding(severity="note", source="seed_use", subject=area,
                      message=f"{species} comes from {', '.join(sorted(rows['lot'].unique()))}, "
                      f"each at its own PLS. Poured together it is {blend} % (by weight), not the "
                      "average of the tags")  # fmt: skip


def find_boxes(
    seed_boxes: pd.DataFrame, bag_rates: pd.DataFrame, seed_companions: pd.DataFrame
) -> Iterator[Finding]:
    """Findings about calibrating, and about pre-mixed bags."""
    for row in seed_boxes[seed_boxes["companion_lb_ac"].gt(0)].itertuples(index=False):
        yield Finding(severity="note", source="seed_boxes", subject=row.area,
                      message=f"{row.box}: set it to seed as weighed plus carrier, "
                      f"{_told(row.setting_lb_ac)} lb per acre, not to the PLS rate; "
                      "everything that falls is weighed")  # fmt: skip
    assumed = seed_companions[seed_companions["box"].isna()]
    drilled = set(seed_boxes.loc[seed_boxes["box"].ne("spreader"), "area"])
    for row in assumed[assumed["area"].isin(drilled)].itertuples(index=False):
        box = "large" if row.role == "nurse" else "chaffy"
        yield Finding(severity="note", source="seed_boxes", subject=row.area,
                      message=f"{row.species} is counted in the {box} box; if it goes elsewhere, "
                      "fill in the column box of the mix")  # fmt: skip
    for row in bag_rates.itertuples(index=False):
        if row.limiting:
            yield Finding(severity="note", source="seed_bags", subject=row.area,
                          message=f"{row.species} decides how much of bag {row.bag} is sown "
                          f"({_told(row.bulk_lb_ac)} lb per acre); every other species "
                          "gets more than its rate")  # fmt: skip
        elif row.pls_pct == 0 or pd.isna(row.pls_pct):
            yield Finding(severity="warning", source="seed_bags", subject=row.area,
                          message=f"{row.species} is wanted and not in bag {row.bag}, or its tag "
                          "line is missing: this bag cannot give it")  # fmt: skip


def find_harvests(own_harvest: pd.DataFrame) -> Iterator[Finding]:
    """Cautions about seed of the property's own harvest."""
    for row in own_harvest.itertuples(index=False):
        acres = " to ".join(_told(a) for a in (row.low_ac, row.high_ac))
        yield Finding(severity="warning", source="harvests", subject=row.harvest,
                      message=f"{row.species}: covers {acres} ac, likely {_told(row.likely_ac)}. "
                      "Untested, no tag: not for sale, often not for cost-share, weeds unknown. "
                      "Send a sample in; dry it before it heats; awns and stems bridge in a drill"
                      )  # fmt: skip


def _told(value: float) -> str:
    """A figure as a person would say it."""
    return "unknown" if pd.isna(value) else str(half_up(value, 1))
