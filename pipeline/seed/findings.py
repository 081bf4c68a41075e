"""Findings of the seed steps, in the words of a grower."""

from collections.abc import Iterator
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.findings import Finding, findings_frame
from pipeline.core.places import place_key
from pipeline.core.units import half_up
from pipeline.seed.area_findings import find_areas
from pipeline.seed.boxes import BOX_BY_ROLE
from pipeline.seed.lot_findings import find_lots
from pipeline.seed.mix_findings import find_mixes
from pipeline.seed.order_layers import TO_ORDER
from pipeline.seed.quantities import blended_pls_fraction
from pipeline.seed.rates import factor_region
from pipeline.seed.settings import SeedSettings
from pipeline.seed.tag_findings import find_shipments, find_silent_tags
from pipeline.seed.test_age import AgeRule, age_rule

LAW = (
    "which weeds make seed unusable or restricted is the law of the state where it is sown. Refuse "
    "unlabeled seed; keep tags, invoices and the table of which lot went where"
)


CONTRACT = (
    "ground under a conservation contract or easement may only be sown as its plan says: get mix, "
    "rates and dates approved before ordering"
)


def find_seed(
    property: pd.DataFrame,
    seed_lots: pd.DataFrame,
    seed_bags: pd.DataFrame,
    species: pd.DataFrame,
    mixes: pd.DataFrame,
    seed_factors: pd.DataFrame,
    test_rules: pd.DataFrame,
    seedings: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seed_rates: pd.DataFrame,
    bag_rates: pd.DataFrame,
    lot_quality: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_order: pd.DataFrame,
    seed_companions: pd.DataFrame,
    seed_areas: gpd.GeoDataFrame,
    seed_boxes: pd.DataFrame,
    own_harvest: pd.DataFrame,
    settings: SeedSettings,
) -> gpd.GeoDataFrame:
    """Findings of the seed steps: what to look at before ordering and sowing."""
    state = property["state"].iloc[0]
    rule = age_rule(test_rules, state, settings)
    companions = mix_sheet.loc[mix_sheet["role"].ne("seed"), "species"]
    lots_of_seed = seed_lots[~seed_lots["species"].isin({*companions, *seed_bags["bag"]})]
    return findings_frame(
        [
            *find_mixes(mix_sheet, mixes, lots_of_seed, species, settings),
            *find_lots(seed_lots, species, seedings, seed_use, state, rule, settings),
            *find_areas(seed_areas, seed_rates, mix_sheet, seedings, settings),
            *(find_place(property, seed_factors, test_rules, rule) if len(seed_areas) else ()),
            *find_supply(seed_use, seed_order),
            *find_unwanted(lot_quality, seed_order, settings),
            *find_shipments(lot_quality, seed_order, species, state, test_rules),
            *find_silent_tags(seed_lots, seed_use),
            *find_boxes(seed_boxes, bag_rates, seed_companions),
            *find_harvests(own_harvest),
        ],
        seed_areas.crs,
    )


def find_place(
    property: pd.DataFrame,
    seed_factors: pd.DataFrame,
    test_rules: pd.DataFrame,
    rule: AgeRule,
) -> Iterator[Finding]:
    """What the state and the region decide, and what is taken where a table has neither."""
    state, region = property["state"].iloc[0], property["region"].iloc[0]

    def note(subject: str, code: str, message: str) -> Finding:
        return Finding(
            severity="note", source="seedings", subject=subject, code=code, message=message
        )

    where = state or "unknown: needs [property] state"
    yield note("noxious weeds", "state_law", f"State of use {where}: {LAW}")
    yield note("contracts", "contract", CONTRACT)
    place = " or ".join(name for name in (region, state) if name)
    used = factor_region(seed_factors, property)
    regions = ", ".join(sorted(set(seed_factors["region"])))
    if used is None and regions:
        found = f"has no rows for {place}" if place else "is not used: no region or state is told"
        yield note(
            "factors",
            "no_factor_region",
            f"the table seed_factors {found}, so rates carry only factors told for an area. It has "
            f"{regions}: name one as [property] region, or write method_factor for the area",
        )
    elif used is not None and region and place_key(used) != place_key(region):
        yield note(
            "factors",
            "factors_of_state",
            f"the table seed_factors has no rows for {region}; those of {used} are used",
        )
    if rule.months is None and len(test_rules):
        found = f"has no rule for {state}" if state else "is not used: no state is told"
        if rule.reference:
            found = f"has no months for {state} ({rule.reference})"
        yield note(
            "seed tests",
            "no_test_rule",
            f"the table test_rules {found}, so how long a seed test is good is unknown. Ask the "
            "state's seed office, set [property] state, or [seed] test_months as its seed law has "
            "it",
        )


def find_supply(seed_use: pd.DataFrame, seed_order: pd.DataFrame) -> Iterator[Finding]:
    """Findings about what is short, and about lots of one species side by side."""
    of_seed = seed_order["pls_needed_lb"].notna() | seed_order["role"].eq("seed")
    for row in seed_order[of_seed & seed_order["lot"].isna()].itertuples(index=False):
        is_known = pd.notna(row.pls_needed_lb)
        need = f"{half_up(row.pls_needed_lb, 2)} lb PLS" if is_known else "an unknown amount"
        bulk = (
            f"about {half_up(row.bulk_to_order_lb, 2)} lb bulk at {half_up(row.pls_pct, 1)} % PLS"
            if pd.notna(row.bulk_to_order_lb)
            else "bulk unknown: needs a lot's tag or [seed] assumed_pls_pct"
        )
        yield Finding(
            severity="warning",
            source="seed_order",
            subject=row.species,
            code="no_lot",
            amount=row.pls_needed_lb,
            message=f"{need} is covered by no lot, held or on offer ({bulk}). Order by PLS pounds; "
            "no other species was put in its place",
        )
    keys = ["area", "species"]
    from_lots = seed_use[seed_use["stock"].ne(TO_ORDER)]
    several = from_lots.groupby(keys)["lot"].transform("nunique").gt(1)
    for (area, species), rows in from_lots[several].groupby(keys):
        blend = half_up(100 * blended_pls_fraction(rows["bulk_lb"], rows["pls_pct"] / 100), 1)
        lots = ", ".join(sorted(rows["lot"].unique()))
        yield Finding(
            severity="note",
            source="seed_use",
            subject=area,
            code="several_lots",
            message=f"{species} comes from {lots}, each at its own PLS. Poured together it is "
            f"{blend} % (by weight), not the average of the tags",
        )


def find_unwanted(
    lot_quality: pd.DataFrame, seed_order: pd.DataFrame, settings: SeedSettings
) -> Iterator[Finding]:
    """Offers that the user's own limits rule out, and lots of another variety than is wanted."""

    def note(lot: str, code: str, message: str) -> Finding:
        return Finding(severity="note", source="seed_lots", subject=lot, code=code, message=message)

    offers = lot_quality[
        lot_quality["on_offer"] & lot_quality["species"].isin(seed_order["species"])
    ]
    far, poor = settings.most_origin_mi, settings.lowest_pls_pct
    for row in offers.itertuples(index=False):
        if far is not None and row.origin_mi > far:
            distance = f"{_one_place(row.origin_mi)} mi"
            yield note(row.lot, "not_bought", f"{distance}: farther than most_origin_mi, {far:g}")
        if poor is not None and row.pls_pct < poor:
            share = f"{_one_place(row.pls_pct)} % PLS"
            yield note(row.lot, "not_bought", f"{share}: under lowest_pls_pct, {poor:g}")
    told = seed_order[["lot", "variety", "wanted_variety"]].dropna()
    for row in told.itertuples(index=False):
        wanted = {name.strip().casefold() for name in row.wanted_variety.split(";")}
        if row.variety.strip().casefold() not in wanted:
            message = f"{row.variety}, but {row.wanted_variety} is wanted: is it a fair substitute?"
            yield note(row.lot, "variety_differs", message)


def find_boxes(
    seed_boxes: pd.DataFrame, bag_rates: pd.DataFrame, seed_companions: pd.DataFrame
) -> Iterator[Finding]:
    """Findings about calibrating, and about pre-mixed bags."""

    def note(area: str, code: str, message: str) -> Finding:
        return Finding(
            severity="note", source="seed_boxes", subject=area, code=code, message=message
        )

    for row in seed_boxes[seed_boxes["companion_lb_ac"].gt(0)].itertuples(index=False):
        setting = _one_place(row.setting_lb_ac)
        yield note(
            row.area,
            "set_to_bulk",
            f"{row.box}: set it to seed as weighed plus carrier, {setting} lb per acre, not to the "
            "PLS rate; everything that falls is weighed",
        )
    drilled = set(seed_boxes.loc[seed_boxes["box"].ne("spreader"), "area"])
    assumed = seed_companions[seed_companions["box"].isna()]
    for row in assumed[assumed["area"].isin(drilled)].itertuples(index=False):
        box = BOX_BY_ROLE[row.role]
        yield note(
            row.area,
            "box_assumed",
            f"{row.species} is counted in the {box} box; if it goes elsewhere, fill in the column "
            "box of the mix",
        )
    for row in bag_rates.itertuples(index=False):
        yield from _bag_finding(row)


def _bag_finding(row: Any) -> Iterator[Finding]:
    """What one species does to a pre-mixed bag, or the bag to it."""
    if row.limiting:
        yield Finding(
            severity="note",
            source="seed_bags",
            subject=row.area,
            code="limiting_species",
            message=f"{row.species} decides how much of bag {row.bag} is sown "
            f"({_one_place(row.bulk_lb_ac)} lb per acre); every other species gets more than its "
            "rate",
        )
    elif row.pls_pct == 0 or pd.isna(row.pls_pct):
        yield Finding(
            severity="warning",
            source="seed_bags",
            subject=row.area,
            code="not_in_bag",
            message=f"{row.species} is wanted and not in bag {row.bag}, or its tag line is "
            "missing: this bag cannot give it",
        )


def find_harvests(own_harvest: pd.DataFrame) -> Iterator[Finding]:
    """Cautions about seed of the property's own harvest."""
    for row in own_harvest.itertuples(index=False):
        acres = f"{_one_place(row.low_ac)} to {_one_place(row.high_ac)}"
        yield Finding(
            severity="warning",
            source="harvests",
            subject=row.harvest,
            code="untested_harvest",
            amount=row.likely_ac,
            message=f"{row.species}: covers {acres} ac, likely {_one_place(row.likely_ac)}. "
            "Untested, no tag: not for sale, often not for cost-share, weeds unknown. Send a "
            "sample in; dry it before it heats; awns and stems bridge in a drill",
        )


def _one_place(value: float) -> str:
    """A figure with one decimal, or that it is unknown."""
    return "unknown" if pd.isna(value) else str(half_up(value, 1))
