"""The tables of the report on seed."""

from pipeline.pages.older_tables import Sheet, day, long, number, text

SEED_AREAS = Sheet(
    "seed_areas",
    "Seed areas",
    (
        text("area", "Area"),
        text("unit_ids", "Units"),
        text("mix", "Mix"),
        text("method", "Method"),
        day("planting", "Planting"),
        number("net_ac", "Net", "ac", 1, total=True),
        number("seeds_sqft", "Live seeds", "per ft²", 1),
        number("pls_lb_ac", "Rate", "lb PLS/ac", 2),
        number("pls_lb", "Pure live seed", "lb", 1, total=True),
        number("bulk_lb", "Bulk", "lb", 1, total=True),
        number("companion_lb", "Nurse and carrier", "lb", 0, total=True),
        number("cost_usd_ac", "Seed cost", "$/ac", 2),
    ),
)


SEED_ORDER = Sheet(
    "seed_order",
    "Seed order",
    (
        text("species", "Species"),
        text("common_name", "Common name"),
        text("lot", "Lot"),
        text("role", "Role"),
        number("pls_pct", "PLS", "%", 1),
        number("pls_needed_lb", "Needed", "lb PLS", 2, total=True),
        number("bulk_needed_lb", "Needed", "lb bulk", 2, total=True),
        number("bulk_on_hand_lb", "On hand", "lb bulk", 2, total=True),
        number("bulk_to_order_lb", "To order", "lb bulk", 2, total=True),
        number("price_usd", "Price", "$/lb", 2),
        number("cost_usd", "Cost", "$", 2, total=True),
        text("origin", "Origin"),
        day("tested", "Tested"),
    ),
    "Price is by the pound of pure live seed for seed, of bulk for nurse crops and carriers. "
    "What has no price is not in the sum of costs.",
)


SEED_RATES = Sheet(
    "seed_rates",
    "Rates in each seed area",
    (
        text("area", "Area"),
        text("mix", "Mix"),
        text("species", "Species"),
        text("common_name", "Common name"),
        number("seeds_sqft", "Live seeds", "per ft²", 2),
        number("pls_lb_ac", "Rate", "lb PLS/ac", 3),
        number("pls_oz_ac", "Rate", "oz PLS/ac", 2),
        number("pls_lb", "Pure live seed", "lb", 2, total=True),
    ),
)


SEED_BOXES = Sheet(
    "seed_boxes",
    "What goes into which box",
    (
        text("area", "Area"),
        text("box", "Box"),
        long("contents", "Contents"),
        number("setting_lb_ac", "Set to", "lb/ac", 2),
        number("fill_lb", "Fill", "lb", 1),
        number("row_spacing_in", "Row spacing", "in", 1),
        number("seeds_row_ft", "Live seeds", "per row ft", 1),
        number("catch_distance_ft", "Catch test over", "ft"),
        number("catch_g", "Catch", "g", 1),
    ),
)


OWN_HARVEST = Sheet(
    "own_harvest",
    "Seed of the own harvest",
    (
        text("harvest", "Harvest"),
        text("species", "Species"),
        number("bulk_lb", "Bulk", "lb", 1),
        number("target_seeds_sqft", "To be sown at", "seeds/ft²", 1),
        number("low_ac", "Covers at least", "ac", 1),
        number("likely_ac", "likely", "ac", 1),
        number("high_ac", "at most", "ac", 1),
    ),
    "Untested seed: a range, not a figure.",
)
