"""Tables and the layer that the seed steps write."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer

TO_ORDER = "to order"
"""Stands for the lot where seed has to be bought and no lot on offer is known."""


def _number(name: str, meaning: str, *, dimensionless: bool = False) -> Column:
    """A number that is empty where it is unknown."""
    return Column(name, "number", meaning, nullable=True, dimensionless=dimensionless)


AREA = Column("area", "text", "Seeding area.")


SPECIES_NAME = Column("species", "text", "Scientific name, or as given where it is unknown.")


COMMON_NAME = Column("common_name", "text", "Name people use.", nullable=True)


MIX_SHEET = Layer(
    "mix_sheet",
    None,
    "Each mix at its own rates, before any factor. Shares are of the seed lines.",
    (
        Column("mix", "text", "Mix."),
        SPECIES_NAME,
        COMMON_NAME,
        Column("role", "text", "What the line is.", choices=("seed", "nurse", "carrier")),
        Column("basis", "text", "What the user gave the rate in.",
               choices=("pls_lb_ac", "seeds_sqft", "full_rate_pct", "bulk_lb_ac")),
        Column("rate_method", "text", "Method of sowing the rate is written for.", nullable=True),
        Column("full_rate", "text", "Set of full rates, with region and purpose.", nullable=True),
        _number("full_rate_pct", "Share of the full rate."),
        _number("pls_lb_ac", "Rate in pure live seed; seed lines only."),
        _number("pls_oz_ac", "The same in ounces."),
        _number("seeds_sqft", "Rate in live seeds; seed lines only."),
        _number("bulk_lb_ac", "Rate as weighed; nurse crops and carriers only."),
        _number("share_by_seed_pct", "Share of the mix's live seeds."),
        _number("share_by_weight_pct", "Share of the mix's pounds of pure live seed."),
        _number("seeds_per_lb", "Seeds in a pound."),
        Column("seeds_per_lb_from", "text", "Where seeds_per_lb comes from.",
               choices=("mix", "species table", "unknown")),
        Column("seed_unit", "text", "What is counted as one seed.", nullable=True),
        Column("box", "text", "Drill box.", nullable=True),
    ),
    key=("mix", "species", "role"),
)  # fmt: skip


SEED_RATES = Layer(
    "seed_rates",
    None,
    "Rate and pounds of each species on each area. Pounds come from unrounded rates.",
    (
        AREA,
        Column("mix", "text", "Mix."),
        SPECIES_NAME,
        COMMON_NAME,
        _number("pls_lb_ac", "Pure live seed to be sown, all factors applied."),
        _number("pls_oz_ac", "The same in ounces."),
        _number("seeds_sqft", "Live seeds to be sown, all factors applied."),
        _number("pls_lb", "Pure live seed for the area."),
        _number("pls_oz", "The same in ounces."),
        Column("net_ac", "number", "Acres sown.", lowest=0),
        _number("base_pls_lb_ac", "Rate of the mix before the factors."),
        _number("method_factor", "From the method the rate is written for to the one used.",
                dimensionless=True),
        _number("season_factor", "For the season of sowing.", dimensionless=True),
        _number("slope_factor", "For the slope.", dimensionless=True),
        _number("sod_factor", "For the sod.", dimensionless=True),
        Column("bag", "text", "Pre-mixed bag it comes from.", nullable=True),
    ),
    key=("area", "species"),
)  # fmt: skip


SEED_COMPANIONS = Layer(
    "seed_companions",
    None,
    "Nurse crops and carriers of each area: weighed, never counted as seed of the mix.",
    (
        AREA,
        Column("mix", "text", "Mix."),
        Column("species", "text", "Nurse crop or carrier."),
        Column("role", "text", "Which of the two.", choices=("nurse", "carrier")),
        Column("basis", "text", "What the rate is given in.",
               choices=("pls_lb_ac", "seeds_sqft", "full_rate_pct", "bulk_lb_ac")),
        _number("bulk_lb_ac", "Rate."),
        _number("bulk_lb", "Pounds for the area."),
        Column("box", "text", "Drill box.", nullable=True),
    ),
    key=("area", "species", "role"),
)  # fmt: skip


LOT_QUALITY = Layer(
    "lot_quality",
    None,
    "What each lot's tag comes to.",
    (
        Column("lot", "text", "Lot."),
        SPECIES_NAME,
        _number("purity_pct", "Pure seed."),
        _number("viable_pct", "Live seed in the pure seed."),
        Column("viable_from", "text", "How the live seed is known.", choices=(
            "germination, hard and dormant", "total viable", "tetrazolium", "own count",
            "unknown")),
        _number("pls_pct", "Pure live seed."),
        _number("on_hand_bulk_lb", "What is in the shed."),
        _number("on_hand_pls_lb", "Pure live seed in the shed."),
        _number("offered_bulk_lb", "What is on offer; empty where the offer names no limit."),
        Column("on_offer", "flag", "Whether it can be bought."),
        _number("pack_lb", "Bulk in one pack."),
        _number("price_usd_per_pls_lb", "Price by pure live seed."),
        Column("tested", "date", "Date of the test.", nullable=True),
        Column("origin", "text", "Where the seed comes from.", nullable=True),
    ),
    key=("lot",),
)  # fmt: skip


SEED_USE = Layer(
    "seed_use",
    None,
    "Which lot goes on which area. Keep it: a weed found later is traced by it.",
    (
        AREA,
        SPECIES_NAME,
        Column("lot", "text", f"Lot, or '{TO_ORDER}'."),
        Column("stock", "text", "Where it comes from.", choices=("held", "offer", TO_ORDER)),
        _number("pls_pct", "Pure live seed of the lot."),
        _number("pls_lb", "Pure live seed from this lot on this area."),
        _number("bulk_lb", "What is weighed out."),
    ),
    key=("area", "species", "lot", "stock"),
)


SEED_ORDER = Layer(
    "seed_order",
    None,
    "The order: what is needed from each lot, what is held and what must be bought.",
    (
        SPECIES_NAME,
        Column("lot", "text", f"Lot, or '{TO_ORDER}'."),
        COMMON_NAME,
        Column("role", "text", "What it is.", choices=("seed", "nurse", "carrier", "bag")),
        _number("pls_pct", "Pure live seed of the lot, or taken for seed still to be found."),
        _number("pls_needed_lb", "Pure live seed needed from this lot."),
        _number("bulk_needed_lb", "The same as weighed."),
        _number("bulk_on_hand_lb", "What the lot holds in the shed."),
        _number("bulk_to_order_lb", "To be bought, rounded up to whole packs."),
        _number("excess_bulk_lb", "What the rounding up adds."),
        _number("pack_lb", "Pack it is rounded up to."),
        _number("pls_to_order_lb", "Pure live seed in what is to be bought."),
        _number("price_usd", "Price of a pound of pure live seed (of bulk for nurse crops)."),
        _number("cost_usd", "Price of what is to be bought."),
        Column("origin", "text", "Where the lot comes from.", nullable=True),
        Column("tested", "date", "Date of the test.", nullable=True),
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
        _number("pls_needed_lb", "Pure live seed needed."),
        _number("pls_held_lb", "Pure live seed in the shed."),
        _number("pls_short_lb", "What the shed lacks."),
        _number("pls_to_order_lb", "Pure live seed to be bought, packs rounded up."),
        _number("sown_ac", "Acres it is sown on."),
        _number("seed_cost_usd", "Price of the seed sown, where every lot has one."),
        _number("cost_usd_per_pls_lb", "Price of a pound of pure live seed over the lots used."),
        _number("cost_usd_ac", "Price per acre sown."),
        _number("cost_usd_per_thousand_seeds", "Price of a thousand live seeds."),
        Column("lots", "integer", "Lots it is taken from."),
    ),
    key=("species",),
)


SEED_AREAS = Layer(
    "seed_areas",
    "MultiPolygon",
    "Areas to be sown, what is left out of seeding taken off.",
    (
        AREA,
        Column("unit_ids", "text", "Units that are part of it."),
        Column("mix", "text", "Mix."),
        Column("method", "text", "How it is sown."),
        Column("planting", "date", "Planned date of sowing.", nullable=True),
        Column("gross_ac", "number", "Whole area of the units.", lowest=0),
        Column("net_ac", "number", "Acres sown.", lowest=0),
        _number("seeds_sqft", "Live seeds, nurse crops and carriers not counted."),
        _number("pls_lb_ac", "Pure live seed, nurse crops and carriers not counted."),
        _number("pls_lb", "Pure live seed for the area: the sum of its rates."),
        _number("bulk_lb", "The same as weighed out of the lots; empty where a lot is unknown."),
        _number("companion_lb", "Nurse crops and carriers."),
        _number("cost_usd_ac", "Price of the seed per acre, where every lot has one."),
    ),
    key=("area",),
)


SEED_BOXES = Layer(
    "seed_boxes",
    None,
    "Drill and spreader sheet: what goes into which box of the drill, or the spreader.",
    (
        AREA,
        Column("box", "text", "Box of the drill, or spreader.",
               choices=("large", "small", "chaffy", "spreader", "unknown")),
        Column("contents", "text", "What goes in."),
        _number("seed_bulk_lb_ac", "Seed as weighed."),
        _number("companion_lb_ac", "Nurse crop and carrier."),
        _number("setting_lb_ac", "What the box is set to: seed as weighed and companions."),
        _number("fill_lb", "What goes through the box over the whole area."),
        _number("row_spacing_in", "Distance between rows; drill only."),
        _number("row_ft_sqft", "Row that holds one square foot; drill only."),
        _number("seeds_row_ft", "Live seeds in a foot of row; drill only."),
        _number("catch_distance_ft", "Distance over which seed is caught; drill only."),
        _number("catch_g", "What the caught rows should weigh, carrier included; drill only."),
    ),
    key=("area", "box"),
)  # fmt: skip


BAG_RATES = Layer(
    "bag_rates",
    None,
    "Areas sown from a pre-mixed bag: the species that needs most decides, the others get more.",
    (
        AREA,
        Column("bag", "text", "Bag."),
        SPECIES_NAME,
        _number("wanted_pls_lb_ac", "Rate of the mix."),
        _number("pls_pct", "Pure live seed of the species in the whole bag."),
        _number("needs_bulk_lb_ac", "Bag needed to reach the rate of this species."),
        _number("sown_pls_lb_ac", "What this species gets."),
        Column("limiting", "flag", "Whether this species decides."),
        _number("bulk_lb_ac", "What is sown of the bag."),
        _number("bulk_lb", "What the area takes of the bag."),
    ),
    key=("area", "species"),
)


OWN_HARVEST = Layer(
    "own_harvest",
    None,
    "Acres that the property's own harvest covers: low, likely, high. No tag, no test.",
    (
        Column("harvest", "text", "Harvest."),
        SPECIES_NAME,
        _number("bulk_lb", "What was gathered."),
        _number("low_seeds_g", "Low estimate."),
        _number("likely_seeds_g", "Likely estimate."),
        _number("high_seeds_g", "High estimate."),
        _number("low_sound_pct", "Low end of the interval around the cut test."),
        _number("sound_pct", "Sound seed in the cut test."),
        _number("high_sound_pct", "High end of the interval."),
        _number("target_seeds_sqft", "Live seeds to be sown."),
        _number("low_ac", "Acres it covers at the low estimate."),
        _number("likely_ac", "Acres it covers at the likely estimate."),
        _number("high_ac", "Acres it covers at the high estimate."),
        _number("low_pls_lb", "Pure live seed at the low estimate."),
        _number("likely_pls_lb", "Pure live seed at the likely estimate."),
    ),
    key=("harvest", "species"),
)


SEED_FINDINGS = findings_layer("seed_findings")
