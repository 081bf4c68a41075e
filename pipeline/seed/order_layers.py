"""Tables and the layer that the seed steps write."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer
from pipeline.seed.layers import BOXES, METHODS, RATE_METHODS

HELD, OFFERED, TO_ORDER = "held", "offered", "to_order"
"""Where seed comes from: the shed, a lot on offer, or no lot that is known."""


ROLES = ("seed", "nurse", "carrier", "bag")
"""What an area takes: seed of the mix, a nurse crop, a carrier or a pre-mixed bag."""


BASES = ("pls_lb_ac", "seeds_sqft", "full_rate_pct", "bulk_lb_ac")
"""What the rate of a line of a mix may be given in."""


def _number(
    name: str, heading: str, places: int, meaning: str, *, dimensionless: bool = False
) -> Column:
    """A number that is empty where it is unknown."""
    return Column(
        name,
        "number",
        meaning,
        heading=heading,
        places=places,
        nullable=True,
        dimensionless=dimensionless,
    )


def _acres(name: str, heading: str, meaning: str) -> Column:
    """Acres that are always known."""
    return Column(name, "number", meaning, heading=heading, places=1, lowest=0)


def _text(name: str, heading: str, meaning: str) -> Column:
    """A text that may be empty."""
    return Column(name, "text", meaning, heading=heading, nullable=True)


def _code(
    name: str, heading: str, meaning: str, choices: tuple[str, ...], *, nullable: bool = False
) -> Column:
    """One of a few codes."""
    return Column(name, "text", meaning, heading=heading, choices=choices, nullable=nullable)


def _day(name: str, heading: str, meaning: str) -> Column:
    """A date that may be empty."""
    return Column(name, "date", meaning, heading=heading, nullable=True)


AREA = Column("area", "text", "Seeding area.", heading="Area")


MIX = Column("mix", "text", "Mix.", heading="Mix")


SPECIES_NAME = Column(
    "species",
    "text",
    "Scientific name, or as given where it is unknown.",
    heading="Species",
)


COMMON_NAME = _text("common_name", "Common name", "Name people use.")


LOT = Column("lot", "text", "Lot.", heading="Lot")


NO_LOT = _text("lot", "Lot", "Lot; empty where seed is to be bought and no lot on offer is known.")


BOX = _code("box", "Box", "Drill box.", BOXES, nullable=True)


VARIETY = _text("variety", "Variety", "Variety, or VNS.")


VENDOR = _text("vendor", "Vendor", "Who sells the lot.")


PLS_OF_LOT = _number("pls_pct", "PLS of lot", 2, "Pure live seed of the lot.")


MIX_SHEET = Layer(
    "mix_sheet",
    None,
    "Each mix at its own rates, before any factor. Shares are of the seed lines.",
    (
        MIX,
        SPECIES_NAME,
        COMMON_NAME,
        _code("role", "Role", "What the line is.", ("seed", "nurse", "carrier")),
        _code("basis", "Rate given in", "What the user gave the rate in.", BASES),
        _code("rate_method", "Rate is for", "Method the rate is for.", RATE_METHODS, nullable=True),
        _text("full_rate", "Full rate", "Set of full rates, with region and purpose."),
        _number("full_rate_pct", "Share of full rate", 1, "Share of the full rate."),
        _number("pls_lb_ac", "PLS rate", 3, "Rate in pure live seed; empty where it is by weight."),
        _number("pls_oz_ac", "PLS rate", 2, "The same in ounces."),
        _number("seeds_sqft", "Live seeds", 2, "Rate in live seeds; seed lines only."),
        _number("bulk_lb_ac", "Bulk rate", 2, "Rate as weighed, where it is given so."),
        _number("share_by_seed_pct", "Share by seed", 1, "Share of the mix's live seeds."),
        _number("share_by_weight_pct", "Share by weight", 1, "Share of the mix's pounds of PLS."),
        _number("seeds_per_lb", "Seeds", 0, "Seeds in a pound."),
        _code(
            "seeds_per_lb_from",
            "Seeds per lb from",
            "Where seeds_per_lb comes from.",
            ("mix", "species_table", "unknown"),
        ),
        _text("seed_unit", "Counted as a seed", "What is counted as one seed."),
        BOX,
    ),
    key=("mix", "species", "role"),
)


SEED_RATES = Layer(
    "seed_rates",
    None,
    "Rate and pounds of each species on each area as sown: out of a bag, what the bag gives. "
    "Pounds come from unrounded rates.",
    (
        AREA,
        MIX,
        SPECIES_NAME,
        COMMON_NAME,
        _number("pls_lb_ac", "PLS rate", 3, "Pure live seed to be sown, all factors applied."),
        _number("pls_oz_ac", "PLS rate", 2, "The same in ounces."),
        _number("seeds_sqft", "Live seeds", 2, "Live seeds to be sown, all factors applied."),
        _number("pls_lb", "PLS", 2, "Pure live seed for the area."),
        _number("pls_oz", "PLS", 1, "The same in ounces."),
        _acres("net_ac", "Net", "Acres sown."),
        _number("mix_pls_lb_ac", "Rate of the mix", 3, "Rate of the mix before the factors."),
        _number(
            "wanted_pls_lb_ac", "PLS wanted", 3, "Rate after the factors; a bag may give more."
        ),
        _number(
            "method_factor",
            "Method factor",
            2,
            "From the rate's method to the one used.",
            dimensionless=True,
        ),
        _number(
            "season_factor", "Season factor", 2, "For the season of sowing.", dimensionless=True
        ),
        _number("slope_factor", "Slope factor", 2, "For the slope.", dimensionless=True),
        _number("sod_factor", "Sod factor", 2, "For the sod.", dimensionless=True),
        _text("bag", "Bag", "Pre-mixed bag it comes from."),
    ),
    key=("area", "species"),
)


SEED_COMPANIONS = Layer(
    "seed_companions",
    None,
    "Nurse crops and carriers of each area: weighed, never counted as seed of the mix.",
    (
        AREA,
        MIX,
        Column("species", "text", "Nurse crop or carrier.", heading="Nurse crop or carrier"),
        _code("role", "Role", "Which of the two.", ("nurse", "carrier")),
        _code("basis", "Rate given in", "What the rate is given in.", BASES),
        _number("pls_lb_ac", "PLS rate", 2, "Rate in pure live seed, where it is given so."),
        _number("pls_lb", "PLS", 1, "Pure live seed for the area, where the rate is given so."),
        _number("bulk_lb_ac", "Rate", 2, "Rate as weighed."),
        _number("bulk_lb", "Whole area", 1, "Pounds weighed out for the area."),
        BOX,
    ),
    key=("area", "species", "role"),
)


LOT_QUALITY = Layer(
    "lot_quality",
    None,
    "What each lot's tag comes to.",
    (
        LOT,
        SPECIES_NAME,
        VARIETY,
        VENDOR,
        _number("purity_pct", "Purity", 2, "Pure seed."),
        _number("viable_pct", "Viable", 2, "Live seed in the pure seed."),
        _code(
            "viable_from",
            "Viable by",
            "How the live seed is known.",
            (
                "germination_hard_dormant",
                "total_viable",
                "tetrazolium",
                "own_count",
                "unknown",
            ),
        ),
        PLS_OF_LOT,
        _number("on_hand_bulk_lb", "Bulk on hand", 2, "What is in the shed."),
        _number("on_hand_pls_lb", "PLS on hand", 2, "Pure live seed in the shed."),
        _number("offered_bulk_lb", "Bulk on offer", 2, "What is on offer; empty: no limit named."),
        Column("on_offer", "flag", "Whether it can be bought.", heading="On offer"),
        _number("pack_lb", "Pack", 2, "Bulk in one pack."),
        _number("price_usd_per_pls_lb", "Price", 2, "Price by pure live seed."),
        _number("price_usd_per_bulk_lb", "Price", 2, "Price by weight."),
        _day("tested", "Tested", "Date of the test."),
        _day("last_good", "Test good through", "Last day on which its test counts, if known."),
        _text("origin", "Origin", "Where the seed comes from."),
        _number("origin_mi", "Distance", 0, "How far that is."),
    ),
    key=("lot",),
)


SEED_USE = Layer(
    "seed_use",
    None,
    "Which lot goes on which area, nurse crops, carriers and bags too. Keep it: a weed found later "
    "is traced by it.",
    (
        AREA,
        SPECIES_NAME,
        _code("role", "Role", "What it is.", ROLES),
        NO_LOT,
        _code("stock", "From", "Where it comes from.", (HELD, OFFERED, TO_ORDER)),
        PLS_OF_LOT,
        _number("pls_lb", "PLS", 2, "Pure live seed from this lot; empty where it goes by weight."),
        _number("bulk_lb", "Bulk", 2, "What is weighed out."),
    ),
    key=("area", "species", "role", "lot", "stock"),
)


SEED_ORDER = Layer(
    "seed_order",
    None,
    "The order: what is needed from each lot, what is held and what must be bought.",
    (
        SPECIES_NAME,
        NO_LOT,
        COMMON_NAME,
        _code("role", "Role", "What it is.", ROLES),
        VARIETY,
        VENDOR,
        _number("pls_pct", "PLS of lot", 2, "PLS of the lot, or taken for seed to be found."),
        _number("pls_needed_lb", "PLS needed", 2, "Pure live seed needed from this lot."),
        _number("bulk_needed_lb", "Bulk needed", 2, "The same as weighed."),
        _number("bulk_on_hand_lb", "Bulk on hand", 2, "What the lot holds in the shed."),
        _number("bulk_to_order_lb", "Bulk to order", 2, "To be bought, rounded up to whole packs."),
        _number("excess_bulk_lb", "Of it over", 2, "What the rounding up adds."),
        _number("pack_lb", "Pack", 2, "Pack it is rounded up to."),
        _number("pls_to_order_lb", "PLS to order", 2, "Pure live seed in what is to be bought."),
        _number("price_usd_per_pls_lb", "Price", 2, "Price of a pound of pure live seed."),
        _number("price_usd_per_bulk_lb", "Price", 2, "Price of a pound as weighed."),
        _number("cost_usd", "Cost", 2, "Price of what is to be bought."),
        _text("origin", "Origin", "Where the lot comes from."),
        _day("tested", "Tested", "Date of the test."),
    ),
    key=("species", "lot", "role"),
)


SEED_NEEDS = Layer(
    "seed_needs",
    None,
    "Each species over all areas: needed, held, short. Costs cover held and bought seed alike.",
    (
        SPECIES_NAME,
        COMMON_NAME,
        _number("pls_needed_lb", "PLS needed", 2, "Pure live seed needed."),
        _number("pls_held_lb", "PLS on hand", 2, "Pure live seed in the shed."),
        _number("pls_short_lb", "PLS short", 2, "What the shed lacks."),
        _number("pls_to_order_lb", "PLS to order", 2, "PLS to be bought, packs rounded up."),
        _number("sown_ac", "Sown on", 1, "Acres it is sown on."),
        _number(
            "seed_cost_usd", "Seed cost", 2, "Price of the seed sown, where every lot has one."
        ),
        _number(
            "cost_usd_per_pls_lb", "Seed cost", 2, "Price of a pound of PLS over the lots used."
        ),
        _number("cost_usd_ac", "Seed cost", 2, "Price per acre sown."),
        _number("cost_usd_per_thousand_seeds", "Seed cost", 3, "Price of a thousand live seeds."),
        Column("lots", "integer", "Lots it is taken from.", heading="Lots", places=0),
    ),
    key=("species",),
)


SEED_AREAS = Layer(
    "seed_areas",
    "MultiPolygon",
    "Areas to be sown, what is left out of seeding taken off.",
    (
        AREA,
        Column("unit_ids", "text", "Units that are part of it.", heading="Units"),
        MIX,
        _code("method", "Method", "How it is sown.", METHODS),
        _day("planting", "Planting", "Planned date of sowing."),
        _acres("gross_ac", "Gross", "Whole area of the units."),
        _acres("net_ac", "Net", "Acres sown."),
        _number("seeds_sqft", "Live seeds", 1, "Live seeds; nurse crops not counted."),
        _number("pls_lb_ac", "PLS rate", 2, "Pure live seed; nurse crops not counted."),
        _number("pls_lb", "PLS", 1, "Pure live seed for the area: the sum of its rates."),
        _number("bulk_lb", "Bulk", 1, "The same as weighed; empty where a lot is unknown."),
        _number("companion_lb", "Nurse and carrier", 1, "Nurse crops and carriers."),
        _number(
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
        _code("box", "Box", "Box of the drill, or spreader.", (*BOXES, "spreader", "unknown")),
        Column("contents", "text", "What goes in.", heading="Contents"),
        _number("seed_bulk_lb_ac", "Seed, bulk", 2, "Seed as weighed."),
        _number("companion_lb_ac", "Nurse and carrier", 2, "Nurse crop and carrier."),
        _number("setting_lb_ac", "Set to", 2, "What it is set to: seed as weighed and companions."),
        _number("fill_lb", "Fill", 1, "What goes through the box over the whole area."),
        _number("row_spacing_in", "Row spacing", 1, "Distance between rows; drill only."),
        _number("row_ft_sqft", "Row", 2, "Row that holds one square foot; drill only."),
        _number("seeds_row_ft", "Live seeds", 1, "Live seeds in a foot of row; drill only."),
        Column(
            "catch_rows",
            "integer",
            "Rows that are caught together; drill only.",
            heading="Rows caught",
            places=0,
            nullable=True,
        ),
        _number("catch_distance_ft", "Catch over", 0, "Distance of the catch; drill only."),
        _number("catch_g", "Catch weighs", 1, "What those rows together should drop; drill only."),
    ),
    key=("area", "box"),
)


BAG_RATES = Layer(
    "bag_rates",
    None,
    "Areas sown from a pre-mixed bag: the species that needs most decides, the others get more.",
    (
        AREA,
        Column("bag", "text", "Bag.", heading="Bag"),
        SPECIES_NAME,
        _number("wanted_pls_lb_ac", "PLS wanted", 3, "Rate of the mix."),
        _number("pls_pct", "PLS of bag", 2, "Pure live seed of the species in the whole bag."),
        _number("needs_bulk_lb_ac", "Bag needed for it", 3, "Bag needed for its rate."),
        _number("sown_pls_lb_ac", "PLS sown", 3, "What this species gets."),
        Column("limiting", "flag", "Whether this species decides.", heading="Decides"),
        _number("bulk_lb_ac", "Bag sown", 3, "What is sown of the bag."),
        _number("bulk_lb", "Bag for the area", 2, "What the area takes of the bag."),
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
        _number("bulk_lb", "Bulk", 1, "What was gathered."),
        _number("low_seeds_g", "Live seeds, low", 1, "Low estimate."),
        _number("likely_seeds_g", "Live seeds, likely", 1, "Likely estimate."),
        _number("high_seeds_g", "Live seeds, high", 1, "High estimate."),
        _number("low_sound_pct", "Sound, low", 0, "Low end of the interval around the cut test."),
        _number("sound_pct", "Sound", 0, "Sound seed in the cut test."),
        _number("high_sound_pct", "Sound, high", 0, "High end of the interval."),
        _number("target_seeds_sqft", "To be sown at", 1, "Live seeds to be sown."),
        _number("low_ac", "Covers at least", 1, "Acres it covers at the low estimate."),
        _number("likely_ac", "Covers likely", 1, "Acres it covers at the likely estimate."),
        _number("high_ac", "Covers at most", 1, "Acres it covers at the high estimate."),
        _number("low_pls_lb", "PLS, low", 1, "Pure live seed at the low estimate."),
        _number("likely_pls_lb", "PLS, likely", 1, "Pure live seed at the likely estimate."),
    ),
    key=("harvest", "species"),
)


SEED_FINDINGS = findings_layer("seed_findings")
