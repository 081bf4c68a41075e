"""Tables and the layer that the seed steps write for the field: areas, boxes, bags, own harvest."""

from pipeline.core.layer import Column, Layer
from pipeline.seed.layers import BOXES, METHODS
from pipeline.seed.order_layers import (
    AREA,
    MIX,
    SPECIES_NAME,
    acres_column,
    code_column,
    day_column,
    number_column,
)

SEED_AREAS = Layer(
    "seed_areas",
    "MultiPolygon",
    "Areas to be sown, what is left out of seeding taken off.",
    (
        AREA,
        Column("unit_ids", "text", "Units that are part of it.", heading="Units"),
        MIX,
        code_column("method", "Method", "How it is sown.", METHODS),
        day_column("planting", "Planting", "Planned date of sowing."),
        acres_column("gross_ac", "Gross", "Whole area of the units."),
        acres_column("net_ac", "Net", "Acres sown."),
        number_column("seeds_sqft", "Live seeds", 1, "Live seeds; nurse crops not counted."),
        number_column("pls_lb_ac", "PLS rate", 2, "Pure live seed; nurse crops not counted."),
        number_column("pls_lb", "PLS", 1, "Pure live seed for the area: the sum of its rates."),
        number_column("bulk_lb", "Bulk", 1, "The same as weighed; empty where a lot is unknown."),
        number_column("companion_lb", "Nurse and carrier", 1, "Nurse crops and carriers."),
        number_column(
            "cost_usd_ac", "Seed cost", 2, "Price of the seed per acre, where every lot has one."
        ),
    ),
    key=("area",),
)


SEED_BOXES = Layer(
    "seed_boxes",
    None,
    "Drill and spreader sheet: what goes into which box of the drill, or the spreader.",
    (
        AREA,
        code_column(
            "box", "Box", "Box of the drill, or spreader.", (*BOXES, "spreader", "unknown")
        ),
        Column("contents", "text", "What goes in.", heading="Contents"),
        number_column("seed_bulk_lb_ac", "Seed, bulk", 2, "Seed as weighed."),
        number_column("companion_lb_ac", "Nurse and carrier", 2, "Nurse crop and carrier."),
        number_column(
            "setting_lb_ac", "Set to", 2, "What it is set to: seed as weighed and companions."
        ),
        number_column("fill_lb", "Fill", 1, "What goes through the box over the whole area."),
        number_column("fill_ac", "A fill sows", 1, "Acres that one fill of the box sows."),
        number_column(
            "fills", "Fills", 0, "Fills of the box for the whole area.", dimensionless=True
        ),
        number_column("row_spacing_in", "Row spacing", 1, "Distance between rows; drill only."),
        number_column("row_ft_sqft", "Row", 2, "Row that holds one square foot; drill only."),
        number_column("seeds_row_ft", "Live seeds", 1, "Live seeds in a foot of row; drill only."),
        Column(
            "catch_rows",
            "integer",
            "Rows that are caught together; drill only.",
            heading="Rows caught",
            places=0,
            nullable=True,
        ),
        number_column("catch_distance_ft", "Catch over", 0, "Distance of the catch; drill only."),
        number_column(
            "catch_g", "Catch weighs", 1, "What those rows together should drop; drill only."
        ),
    ),
    key=("area", "box"),
)


SEED_ERRORS = Layer(
    "seed_errors",
    None,
    "What an error of ten percent does to the seed of each area.",
    (
        AREA,
        code_column(
            "error",
            "If it is ten percent",
            "What is off by ten percent.",
            ("fewer_seeds_per_lb", "less_live_seed", "setting_too_high"),
        ),
        number_column("seeds_sqft", "Live seeds", 1, "Live seeds then."),
        number_column("bulk_lb", "Bulk needed", 1, "Bulk that is needed then."),
        number_column("cost_usd", "Seed cost", 0, "Price of that seed."),
        number_column("covered_ac", "Covers", 1, "Acres that the bulk at hand covers then."),
    ),
    key=("area", "error"),
)


BAG_RATES = Layer(
    "bag_rates",
    None,
    "Areas sown from a pre-mixed bag: the species that needs most decides, the others get more.",
    (
        AREA,
        Column("bag", "text", "Bag.", heading="Bag"),
        SPECIES_NAME,
        number_column("wanted_pls_lb_ac", "PLS wanted", 3, "Rate of the mix."),
        number_column(
            "pls_pct", "PLS of bag", 2, "Pure live seed of the species in the whole bag."
        ),
        number_column("needs_bulk_lb_ac", "Bag needed for it", 3, "Bag needed for its rate."),
        number_column("sown_pls_lb_ac", "PLS sown", 3, "What this species gets."),
        Column("limiting", "flag", "Whether this species decides.", heading="Decides"),
        number_column("bulk_lb_ac", "Bag sown", 3, "What is sown of the bag."),
        number_column("bulk_lb", "Bag for the area", 2, "What the area takes of the bag."),
    ),
    key=("area", "species"),
)


OWN_HARVEST = Layer(
    "own_harvest",
    None,
    "Acres that the property's own harvest covers: low, likely, high. No tag, no test.",
    (
        Column("harvest", "text", "Harvest.", heading="Harvest"),
        SPECIES_NAME,
        number_column("bulk_lb", "Bulk", 1, "What was gathered."),
        number_column("low_seeds_g", "Live seeds, low", 1, "Low estimate."),
        number_column("likely_seeds_g", "Live seeds, likely", 1, "Likely estimate."),
        number_column("high_seeds_g", "Live seeds, high", 1, "High estimate."),
        number_column(
            "low_sound_pct", "Sound, low", 0, "Low end of the interval around the cut test."
        ),
        number_column("sound_pct", "Sound", 0, "Sound seed in the cut test."),
        number_column("high_sound_pct", "Sound, high", 0, "High end of the interval."),
        number_column("target_seeds_sqft", "To be sown at", 1, "Live seeds to be sown."),
        number_column("low_ac", "Covers at least", 1, "Acres it covers at the low estimate."),
        number_column("likely_ac", "Covers likely", 1, "Acres it covers at the likely estimate."),
        number_column("high_ac", "Covers at most", 1, "Acres it covers at the high estimate."),
        number_column("low_pls_lb", "PLS, low", 1, "Pure live seed at the low estimate."),
        number_column("likely_pls_lb", "PLS, likely", 1, "Pure live seed at the likely estimate."),
    ),
    key=("harvest", "species"),
)
