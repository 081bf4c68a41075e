"""Tables and the layer that the seed steps write."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer
from pipeline.seed.causes import CAUSES
from pipeline.seed.layers import BOXES, RATE_METHODS

HELD, OFFERED, TO_ORDER = "held", "offered", "to_order"
"""Where seed comes from: the shed, a lot on offer, or no lot that is known."""


ROLES = ("seed", "nurse", "carrier", "bag")
"""What an area takes: seed of the mix, a nurse crop, a carrier or a pre-mixed bag."""


BASES = ("pls_lb_ac", "seeds_sqft", "full_rate_pct", "bulk_lb_ac")
"""What the rate of a line of a mix may be given in."""


def number_column(
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


def acres_column(name: str, heading: str, meaning: str) -> Column:
    """Acres that are always known."""
    return Column(name, "number", meaning, heading=heading, places=1, lowest=0)


def text_column(name: str, heading: str, meaning: str) -> Column:
    """A text that may be empty."""
    return Column(name, "text", meaning, heading=heading, nullable=True)


def code_column(
    name: str, heading: str, meaning: str, choices: tuple[str, ...], *, nullable: bool = False
) -> Column:
    """One of a few codes."""
    return Column(name, "text", meaning, heading=heading, choices=choices, nullable=nullable)


def day_column(name: str, heading: str, meaning: str) -> Column:
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


COMMON_NAME = text_column("common_name", "Common name", "Name people use.")


CONFIDENCE = text_column(
    "confidence", "Seed count", "How sure the seeds in a pound are, on which pounds or seeds rest."
)


LOT = Column("lot", "text", "Lot.", heading="Lot")


NO_LOT = text_column(
    "lot", "Lot", "Lot; empty where seed is to be bought and no lot on offer is known."
)


BOX = code_column("box", "Box", "Drill box.", BOXES, nullable=True)


VARIETY = text_column("variety", "Variety", "Variety, or VNS.")


VENDOR = text_column("vendor", "Vendor", "Who sells the lot.")


PLS_OF_LOT = number_column("pls_pct", "PLS of lot", 2, "Pure live seed of the lot.")


MIX_SHEET = Layer(
    "mix_sheet",
    None,
    "Each mix at its own rates, before any factor. Shares are of the seed lines.",
    (
        MIX,
        SPECIES_NAME,
        COMMON_NAME,
        code_column("role", "Role", "What the line is.", ("seed", "nurse", "carrier")),
        code_column("basis", "Rate given in", "What the user gave the rate in.", BASES),
        code_column(
            "rate_method", "Rate is for", "Method the rate is for.", RATE_METHODS, nullable=True
        ),
        text_column("full_rate", "Full rate", "Set of full rates, with region and purpose."),
        number_column("full_rate_pct", "Share of full rate", 1, "Share of the full rate."),
        number_column(
            "pls_lb_ac", "PLS rate", 3, "Rate in pure live seed; empty where it is by weight."
        ),
        number_column("pls_oz_ac", "PLS rate", 2, "The same in ounces."),
        number_column("seeds_sqft", "Live seeds", 2, "Rate in live seeds; seed lines only."),
        number_column("bulk_lb_ac", "Bulk rate", 2, "Rate as weighed, where it is given so."),
        number_column("share_by_seed_pct", "Share by seed", 1, "Share of the mix's live seeds."),
        number_column(
            "share_by_weight_pct", "Share by weight", 1, "Share of the mix's pounds of PLS."
        ),
        text_column("variety", "Variety wanted", "Variety that is asked for."),
        text_column("origin", "Origin wanted", "Origin that is asked for."),
        number_column("seeds_per_lb", "Seeds", 0, "Seeds in a pound."),
        number_column("low_seeds_per_lb", "Seeds, least", 0, "Least that is published."),
        number_column("high_seeds_per_lb", "Seeds, most", 0, "Most that is published."),
        CONFIDENCE,
        code_column(
            "seeds_per_lb_from",
            "Seeds per lb from",
            "Where seeds_per_lb comes from.",
            ("mix", "species_table", "unknown"),
        ),
        text_column("seed_unit", "Counted as a seed", "What is counted as one seed."),
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
        number_column(
            "pls_lb_ac", "PLS rate", 3, "Pure live seed to be sown, all factors applied."
        ),
        number_column("pls_oz_ac", "PLS rate", 2, "The same in ounces."),
        number_column("seeds_sqft", "Live seeds", 2, "Live seeds to be sown, all factors applied."),
        number_column("pls_lb", "PLS", 2, "Pure live seed for the area."),
        number_column("pls_oz", "PLS", 1, "The same in ounces."),
        number_column("low_pls_lb", "PLS, least", 2, "Least, by the range of seeds in a pound."),
        number_column("high_pls_lb", "PLS, most", 2, "Most, by the range of seeds in a pound."),
        number_column("low_seeds_sqft", "Live seeds, least", 2, "Least, where given by weight."),
        number_column("high_seeds_sqft", "Live seeds, most", 2, "Most, where given by weight."),
        CONFIDENCE,
        acres_column("net_ac", "Net", "Acres sown."),
        number_column("mix_pls_lb_ac", "Rate of the mix", 3, "Rate of the mix before the factors."),
        number_column(
            "wanted_pls_lb_ac", "PLS wanted", 3, "Rate after the factors; a bag may give more."
        ),
        number_column(
            "method_factor",
            "Method factor",
            2,
            "From the rate's method to the one used.",
            dimensionless=True,
        ),
        number_column(
            "season_factor", "Season factor", 2, "For the season of sowing.", dimensionless=True
        ),
        number_column("slope_factor", "Slope factor", 2, "For the slope.", dimensionless=True),
        number_column("sod_factor", "Sod factor", 2, "For the sod.", dimensionless=True),
        text_column("bag", "Bag", "Pre-mixed bag it comes from."),
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
        code_column("role", "Role", "Which of the two.", ("nurse", "carrier")),
        code_column("basis", "Rate given in", "What the rate is given in.", BASES),
        number_column("pls_lb_ac", "PLS rate", 2, "Rate in pure live seed, where it is given so."),
        number_column(
            "pls_lb", "PLS", 1, "Pure live seed for the area, where the rate is given so."
        ),
        number_column("bulk_lb_ac", "Rate", 2, "Rate as weighed."),
        number_column("bulk_lb", "Whole area", 1, "Pounds weighed out for the area."),
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
        number_column("purity_pct", "Purity", 2, "Pure seed."),
        number_column("other_crop_pct", "Other crop", 2, "Other crop seed."),
        number_column("inert_pct", "Inert", 2, "Inert matter."),
        number_column("weed_pct", "Weed seed", 2, "Weed seed."),
        text_column("noxious", "Noxious weeds", "Noxious or restricted weeds named on the tag."),
        number_column("germination_pct", "Germination", 2, "Seed that sprouted in the test."),
        number_column("hard_pct", "Hard", 2, "Seed that did not take up water."),
        number_column("dormant_pct", "Dormant", 2, "Live seed that did not sprout."),
        number_column("total_viable_pct", "Total viable", 2, "Their sum, where the tag has it."),
        number_column("tetrazolium_pct", "Tetrazolium", 2, "Live seed by tetrazolium stain."),
        number_column("viable_pct", "Viable", 2, "Live seed in the pure seed."),
        code_column(
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
        number_column("low_pls_pct", "PLS, least", 2, "Lowest that the test leaves open."),
        number_column("high_pls_pct", "PLS, most", 2, "Highest that the test leaves open."),
        number_column("on_hand_bulk_lb", "Bulk on hand", 2, "What is in the shed."),
        number_column("on_hand_pls_lb", "PLS on hand", 2, "Pure live seed in the shed."),
        number_column(
            "offered_bulk_lb", "Bulk on offer", 2, "What is on offer; empty: no limit named."
        ),
        Column("on_offer", "flag", "Whether it can be bought.", heading="On offer"),
        number_column("pack_lb", "Pack", 2, "Bulk in one pack."),
        number_column("price_usd_per_pls_lb", "Price", 2, "Price by pure live seed."),
        number_column("price_usd_per_bulk_lb", "Price", 2, "Price by weight."),
        day_column("tested", "Tested", "Date of the test."),
        day_column(
            "last_good", "Test good through", "Last day on which its test counts, if known."
        ),
        Column(
            "sealed", "flag", "Whether it is packed hermetically.", heading="Sealed", nullable=True
        ),
        text_column("origin", "Origin", "Where the seed comes from."),
        number_column("origin_mi", "Distance", 0, "How far that is."),
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
        code_column("role", "Role", "What it is.", ROLES),
        NO_LOT,
        code_column("stock", "From", "Where it comes from.", (HELD, OFFERED, TO_ORDER)),
        PLS_OF_LOT,
        number_column(
            "pls_lb", "PLS", 2, "Pure live seed from this lot; empty where it goes by weight."
        ),
        number_column("bulk_lb", "Bulk", 2, "What is weighed out."),
        Column(
            "sequence",
            "integer",
            "Which lot of a species is sown first on the area, which next.",
            heading="Turn",
            places=0,
        ),
        number_column("sown_ac", "Sows", 1, "Acres of the area that it sows."),
        number_column("bulk_lb_ac", "At", 2, "Bulk of it on an acre: its share of the setting."),
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
        code_column("role", "Role", "What it is.", ROLES),
        VARIETY,
        VENDOR,
        text_column("wanted_variety", "Variety wanted", "Variety that the mixes ask for."),
        text_column("wanted_origin", "Origin wanted", "Origin that the mixes ask for."),
        Column(
            "inoculant",
            "flag",
            "Whether a legume's inoculant is to be bought with it.",
            heading="Inoculant",
            nullable=True,
        ),
        day_column("need_by", "Need by", "Day by which it must be here: planting less the lead."),
        number_column("pls_pct", "PLS of lot", 2, "PLS of the lot, or taken for seed to be found."),
        number_column("pls_needed_lb", "PLS needed", 2, "Pure live seed needed from this lot."),
        number_column("pls_to_buy_lb", "PLS to buy", 2, "What of it is not in the shed."),
        number_column("bulk_needed_lb", "Bulk needed", 2, "The same as weighed."),
        number_column("low_pls_needed_lb", "PLS, least", 2, "Least, by the range of seed counts."),
        number_column("high_pls_needed_lb", "PLS, most", 2, "Most, by the range of seed counts."),
        number_column("low_bulk_needed_lb", "Bulk, least", 2, "Least, by seed counts and test."),
        number_column("high_bulk_needed_lb", "Bulk, most", 2, "Most, by seed counts and test."),
        CONFIDENCE,
        number_column("bulk_on_hand_lb", "Bulk on hand", 2, "What the lot holds in the shed."),
        number_column(
            "bulk_to_order_lb", "Bulk to order", 2, "To be bought, rounded up to whole packs."
        ),
        number_column("excess_bulk_lb", "Of it over", 2, "What the rounding up adds."),
        number_column("pack_lb", "Pack", 2, "Pack it is rounded up to."),
        number_column("packs", "Packs", 0, "Packs to be bought.", dimensionless=True),
        number_column(
            "pls_to_order_lb", "PLS to order", 2, "Pure live seed in what is to be bought."
        ),
        number_column("price_usd_per_pls_lb", "Price", 2, "Price of a pound of pure live seed."),
        number_column("price_usd_per_bulk_lb", "Price", 2, "Price of a pound as weighed."),
        number_column("cost_usd", "Cost", 2, "Price of what is to be bought."),
        text_column("origin", "Origin", "Where the lot comes from."),
        day_column("tested", "Tested", "Date of the test."),
    ),
    key=("species", "lot", "role"),
)


SEED_SHED = Layer(
    "seed_shed",
    None,
    "What is in the shed: taken for the areas, and left afterwards.",
    (
        LOT,
        SPECIES_NAME,
        VARIETY,
        PLS_OF_LOT,
        number_column("on_hand_bulk_lb", "Bulk on hand", 2, "What is in the shed, as weighed."),
        number_column("used_bulk_lb", "Bulk taken", 2, "What the areas take of it."),
        number_column("left_bulk_lb", "Bulk left", 2, "What is left of it."),
        number_column("left_pls_lb", "PLS left", 2, "Pure live seed left, by its tag."),
        day_column("tested", "Tested", "Date of the test."),
        day_column(
            "last_good", "Test good through", "Last day on which its test counts, if known."
        ),
    ),
    key=("lot",),
)


SEED_NEEDS = Layer(
    "seed_needs",
    None,
    "Each species over all areas: needed, held, short. Costs cover held and bought seed alike.",
    (
        SPECIES_NAME,
        COMMON_NAME,
        number_column("pls_needed_lb", "PLS needed", 2, "Pure live seed needed."),
        number_column("pls_held_lb", "PLS on hand", 2, "Pure live seed in the shed."),
        number_column("pls_short_lb", "PLS short", 2, "What the shed lacks."),
        number_column("pls_to_order_lb", "PLS to order", 2, "PLS to be bought, packs rounded up."),
        number_column("sown_ac", "Sown on", 1, "Acres it is sown on."),
        number_column(
            "seed_cost_usd", "Seed cost", 2, "Price of the seed sown, where every lot has one."
        ),
        number_column(
            "cost_usd_per_pls_lb", "Seed cost", 2, "Price of a pound of PLS over the lots used."
        ),
        number_column("cost_usd_ac", "Seed cost", 2, "Price per acre sown."),
        number_column(
            "cost_usd_per_thousand_seeds", "Seed cost", 3, "Price of a thousand live seeds."
        ),
        Column("lots", "integer", "Lots it is taken from.", heading="Lots", places=0),
    ),
    key=("species",),
)


SEED_FINDINGS = findings_layer("seed_findings", CAUSES)
