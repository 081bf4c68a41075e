"""The tables of seed that people read: in the report, in the workbook, on the drill sheets."""

from pipeline.core.table import Table
from pipeline.seed.field_layers import BAG_RATES, OWN_HARVEST, SEED_AREAS, SEED_BOXES, SEED_ERRORS
from pipeline.seed.order_layers import SEED_NEEDS, SEED_ORDER, SEED_RATES, SEED_SHED, SEED_USE

ORDER_TABLE = Table(
    SEED_ORDER,
    "Seed order",
    (
        "species",
        "common_name",
        "lot",
        "variety",
        "role",
        "pls_pct",
        "pls_needed_lb",
        "bulk_needed_lb",
        "low_bulk_needed_lb",
        "high_bulk_needed_lb",
        "confidence",
        "bulk_on_hand_lb",
        "bulk_to_order_lb",
        "excess_bulk_lb",
        "pls_to_order_lb",
        "price_usd_per_pls_lb",
        "price_usd_per_bulk_lb",
        "cost_usd",
        "tested",
        "origin",
    ),
    totals=("pls_needed_lb", "bulk_needed_lb", "bulk_on_hand_lb", "bulk_to_order_lb", "cost_usd"),
    about="PLS = pure live seed. What has no price is not in the sum of costs. Orders are rounded "
    "up to whole packs; all else is shown rounded and added unrounded. Least and most are what "
    "published seed counts and the test leave open. Without a lot, none is known that covers it.",
)


SHED_TABLE = Table(
    SEED_SHED,
    "Seed in the shed",
    (
        "lot",
        "species",
        "variety",
        "pls_pct",
        "on_hand_bulk_lb",
        "used_bulk_lb",
        "left_bulk_lb",
        "left_pls_lb",
        "tested",
        "last_good",
    ),
    totals=("on_hand_bulk_lb", "used_bulk_lb", "left_bulk_lb"),
    about="What the areas take of each lot, and what is left of it afterwards.",
)


NEEDS_TABLE = Table(
    SEED_NEEDS,
    "Seed by species",
    (
        "species",
        "common_name",
        "pls_needed_lb",
        "pls_held_lb",
        "pls_short_lb",
        "pls_to_order_lb",
        "sown_ac",
        "cost_usd_per_pls_lb",
        "cost_usd_ac",
        "cost_usd_per_thousand_seeds",
        "lots",
    ),
    totals=("pls_needed_lb",),
    about="Held seed counts only up to what each lot holds. Prices cover held and bought seed "
    "alike.",
)


AREAS_TABLE = Table(
    SEED_AREAS,
    "Seed areas",
    (
        "area",
        "unit_ids",
        "mix",
        "method",
        "planting",
        "gross_ac",
        "net_ac",
        "seeds_sqft",
        "pls_lb_ac",
        "pls_lb",
        "bulk_lb",
        "companion_lb",
        "cost_usd_ac",
    ),
    totals=("gross_ac", "net_ac", "pls_lb", "bulk_lb", "companion_lb"),
    about="Acres are net: what is left out of seeding is taken off. Nurse crops and carriers are "
    "counted apart.",
)


RATES_TABLE = Table(
    SEED_RATES,
    "Rates in each seed area",
    (
        "area",
        "mix",
        "species",
        "common_name",
        "mix_pls_lb_ac",
        "method_factor",
        "season_factor",
        "slope_factor",
        "sod_factor",
        "pls_lb_ac",
        "pls_oz_ac",
        "seeds_sqft",
        "net_ac",
        "pls_lb",
        "pls_oz",
        "low_pls_lb",
        "high_pls_lb",
        "low_seeds_sqft",
        "high_seeds_sqft",
        "confidence",
    ),
    totals=("pls_lb",),
    about="Rate of the mix times each factor once gives the rate sown. Ounces are for small rates. "
    "Least and most are what the published numbers of seeds in a pound leave open.",
)


ERRORS_TABLE = Table(
    SEED_ERRORS,
    "If something is ten percent off",
    ("area", "error", "seeds_sqft", "bulk_lb", "cost_usd", "covered_ac"),
    about="Fewer seeds in a pound or less live seed take more bulk; a setting that lets out too "
    "much empties the boxes before the area is sown.",
)


BOXES_TABLE = Table(
    SEED_BOXES,
    "What goes into which box",
    (
        "area",
        "box",
        "seed_bulk_lb_ac",
        "companion_lb_ac",
        "setting_lb_ac",
        "fill_lb",
        "fill_ac",
        "fills",
        "row_spacing_in",
        "row_ft_sqft",
        "seeds_row_ft",
        "catch_rows",
        "catch_distance_ft",
        "catch_g",
    ),
    below=("contents",),
    about="Set each box to seed as weighed plus carrier: that is what falls and what is caught.",
)


USE_TABLE = Table(
    SEED_USE,
    "Lots to areas",
    (
        "area",
        "species",
        "role",
        "lot",
        "stock",
        "pls_pct",
        "pls_lb",
        "bulk_lb",
        "sequence",
        "sown_ac",
        "bulk_lb_ac",
    ),
    about="Keep this with the tags and invoices: a weed found later is traced by it.",
)


BAGS_TABLE = Table(
    BAG_RATES,
    "Pre-mixed bags",
    (
        "area",
        "bag",
        "species",
        "wanted_pls_lb_ac",
        "pls_pct",
        "needs_bulk_lb_ac",
        "sown_pls_lb_ac",
        "limiting",
        "bulk_lb_ac",
        "bulk_lb",
    ),
    about="A pre-mixed bag cannot be taken apart: the species that needs most decides.",
)


HARVEST_TABLE = Table(
    OWN_HARVEST,
    "Seed of the own harvest",
    (
        "harvest",
        "species",
        "bulk_lb",
        "low_seeds_g",
        "likely_seeds_g",
        "high_seeds_g",
        "target_seeds_sqft",
        "low_ac",
        "likely_ac",
        "high_ac",
    ),
    about="Untested seed: a range, not a figure. No tag: not for sale, weeds unknown.",
)


DRILL_BOXES_TABLE = Table(
    SEED_BOXES,
    "Boxes: set, catch, weigh",
    (
        "box",
        "contents",
        "seed_bulk_lb_ac",
        "companion_lb_ac",
        "setting_lb_ac",
        "fill_lb",
        "fill_ac",
        "fills",
        "row_spacing_in",
        "seeds_row_ft",
    ),
)
"""The boxes of one area, for the page that goes into the cab."""


DRILL_CATCH_TABLE = Table(
    SEED_BOXES,
    "What is to be caught",
    ("box", "catch_rows", "catch_distance_ft"),
)
"""Rows and distance of the catch of each box; from, what and to it should weigh follow."""


DRILL_LOTS_TABLE = Table(
    SEED_USE,
    "Lots weighed out",
    (
        "species",
        "lot",
        "stock",
        "pls_pct",
        "pls_lb",
        "bulk_lb",
        "sequence",
        "sown_ac",
        "bulk_lb_ac",
    ),
    totals=("pls_lb", "bulk_lb"),
)
"""The lots of one area, for the page that goes into the cab."""
