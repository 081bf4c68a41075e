"""Tables that the seed steps read. What they write is declared in order_layers."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer

METHODS = ("drill", "broadcast", "overseed")


RATE_METHODS = (*METHODS, "any")


BOXES = ("large", "small", "chaffy")


def _pct(name: str, meaning: str) -> Column:
    """An optional percentage of a seed tag."""
    return Column(name, "number", meaning, nullable=True, required=False, lowest=0, highest=100)


def _note(name: str, meaning: str) -> Column:
    """An optional text."""
    return Column(name, "text", meaning, nullable=True, required=False)


def _amount(name: str, meaning: str, *, dimensionless: bool = False) -> Column:
    """An optional number that is not negative."""
    return Column(name, "number", meaning, nullable=True, required=False, lowest=0,
                  dimensionless=dimensionless)  # fmt: skip


def _count(name: str, meaning: str) -> Column:
    """An optional count of seeds: at least one."""
    return Column(name, "number", meaning, nullable=True, required=False, lowest=1)


def _price(name: str, meaning: str, former_name: str) -> Column:
    """An optional price, which tables also call by a former name."""
    return replace(_amount(name, meaning), aliases=(former_name,))


VIABLE = (
    _pct("germination_pct", "Seed that sprouted in the test, hard and dormant seed not counted."),
    _pct("hard_pct", "Seed that did not take up water."),
    _pct("dormant_pct", "Live seed that did not sprout."),
    _pct("total_viable_pct", "Germination, hard and dormant together, where the tag has the sum."),
    _pct("tetrazolium_pct", "Live seed by tetrazolium stain; in place of a germination test."),
)


SEEDINGS = Layer(
    "seedings",
    None,
    "Areas to be seeded: one row for each unit of each area.",
    (
        Column("area", "text", "Name of the seeding area."),
        Column("unit_id", "text", "Unit that is part of it."),
        Column("mix", "text", "Mix to be sown."),
        Column("method", "text", "How it is sown.", choices=METHODS),
        Column("planting", "date", "Planned date of sowing.", nullable=True),
        _note("season", "Name of the season factor."),
        _note("slope", "Name of the slope factor."),
        _note("sod", "Name of the sod factor."),
        _amount("method_factor", "Method factor told for this area.", dimensionless=True),
        _amount("season_factor", "Season factor told for this area.", dimensionless=True),
        _amount("slope_factor", "Slope factor told for this area.", dimensionless=True),
        _amount("sod_factor", "Sod factor told for this area.", dimensionless=True),
        _note("bag", "Pre-mixed bag that the area is sown from."),
    ),
    key=("area", "unit_id"),
    internal=True,
)


SPECIES = Layer(
    "species",
    None,
    "What a species' seed is like. A table of this kind ships as config/species.csv.",
    (
        Column("species", "text", "Scientific name.", aliases=("scientific_name",)),
        _note("common_name", "Name people use."),
        _note("synonyms", "Other names, set apart by semicolons."),
        _note("usda_symbol", "Plant symbol."),
        _note("seed_group", "Warm-season grass, cool-season grass, legume, forb."),
        _count("seeds_per_lb", "Seeds in a pound."),
        _count("low_seeds_per_lb", "Lowest published figure."),
        _count("high_seeds_per_lb", "Highest published figure."),
        _note("seed_unit", "What is counted as one seed."),
        Column("box", "text", "Drill box its seed runs from.", nullable=True, required=False,
               choices=BOXES),
        Column("dormancy_tested", "flag", "Whether a test must tell its dormant seed.",
               nullable=True, required=False),
        _note("reference", "Where seeds_per_lb comes from."),
        _note("range_from", "Where the lowest and highest figure come from."),
        _note("note", "What else is to be said of the figures."),
        _note("confidence", "Whether the figure is published or from memory."),
        _note("from_memory", "Columns of the row that are from memory, to be checked."),
    ),
    key=("species",),
    internal=True,
)  # fmt: skip


MIXES = Layer(
    "mixes",
    None,
    "Seed mixes, one row for each species. Exactly one of pls_lb_ac, seeds_sqft, full_rate_pct, or "
    "bulk_lb_ac for a nurse crop or carrier.",
    (
        Column("mix", "text", "Name of the mix."),
        Column("species", "text", "Species, by any of its names."),
        Column("role", "text", "What the line is; seed where it does not say.", nullable=True,
               required=False, choices=("seed", "nurse", "carrier")),
        _amount("pls_lb_ac", "Rate in pure live seed."),
        _amount("seeds_sqft", "Rate in live seeds."),
        _amount("full_rate_pct", "Share of the species' full rate."),
        _amount("bulk_lb_ac", "Rate as weighed: nurse crops and carriers only."),
        _note("full_rate", "Name of the set of full rates that full_rate_pct is a share of."),
        Column("rate_method", "text", "Method of sowing that the rate is written for.",
               nullable=True, required=False, choices=RATE_METHODS),
        _count("seeds_per_lb", "Own figure; goes before that of the species table."),
        Column("box", "text", "Drill box, where it is not the usual one of the species.",
               nullable=True, required=False, choices=BOXES),
        Column("not_100", "flag", "Says that the mix's percents are meant to differ from 100.",
               nullable=True, required=False),
    ),
    internal=True,
)  # fmt: skip


FULL_RATES = Layer(
    "full_rates",
    None,
    "Full rates of single species. A table of this kind ships as config/full_rates.csv.",
    (
        Column("full_rate", "text", "Name of the set."),
        Column("species", "text", "Species, by any of its names."),
        Column("pls_lb_ac", "number", "Rate of the species sown alone.", lowest=0),
        Column("region", "text", "Where the rate holds."),
        Column("purpose", "text", "What it is meant for."),
        Column("rate_method", "text", "Method it is written for.", choices=RATE_METHODS),
        _note("reference", "Where it is published."),
    ),
    internal=True,
)


SEED_LOTS = Layer(
    "seed_lots",
    None,
    "Lots of seed in the shed or on offer, as their tags say.",
    (
        Column("lot", "text", "Lot number or name."),
        Column("species", "text", "Species, by any of its names."),
        _note("variety", "Variety, or VNS."),
        _pct("purity_pct", "Pure seed, by weight."),
        _pct("other_crop_pct", "Other crop seed, by weight."),
        _pct("inert_pct", "Inert matter, by weight."),
        _pct("weed_pct", "Weed seed, by weight."),
        _note("noxious", "Noxious or restricted weeds named on the tag, with their numbers."),
        *VIABLE,
        _pct("pls_pct", "Pure live seed as the tag or the dealer states it; only checked."),
        _amount("on_hand_bulk_lb", "What is in the shed, as weighed."),
        _amount("offered_bulk_lb", "What the dealer has on offer, as weighed."),
        _amount("pack_lb", "Bulk in one bag or pack."),
        _price("price_usd_per_pls_lb", "Price by pure live seed.", "price_usd"),
        _price("price_usd_per_bulk_lb", "Price by weight as delivered.", "price_usd_per_lb"),
        Column("tested", "date", "Date of the test; the month counts.", nullable=True,
               required=False),
        _note("origin", "Where the seed was grown or gathered."),
    ),
    key=("lot",),
    internal=True,
)  # fmt: skip


SEED_FACTORS = Layer(
    "seed_factors",
    None,
    "Factors on a rate, by region. A table of this kind ships as config/seed_factors.csv.",
    (
        Column("region", "text", "Region, as the setting spells it."),
        Column("kind", "text", "What the factor is for.",
               choices=("method", "season", "slope", "sod")),
        Column("name", "text", "Method of sowing, or name of the season, slope or sod."),
        Column("factor", "number", "What the drilled rate is multiplied by.", lowest=0,
               dimensionless=True),
        _note("reference", "Where it is published."),
    ),
    internal=True,
)  # fmt: skip


TEST_RULES = Layer(
    "test_rules",
    None,
    "How long a seed test is good. A table of this kind ships as config/test_rules.csv.",
    (
        Column("state", "text", "State, as the setting spells it."),
        Column(
            "months", "integer", "Full months after the month of the test.", lowest=0, highest=120
        ),
        _note("reference", "Law or manual."),
    ),
    internal=True,
)


SEED_BAGS = Layer(
    "seed_bags",
    None,
    "Pre-mixed bags, one row for each species in a bag; pure seed is a share of the whole bag.",
    (
        Column("bag", "text", "Name of the bag."),
        Column("species", "text", "Species, by any of its names."),
        Column("purity_pct", "number", "Pure seed of the species in the whole bag.", lowest=0,
               highest=100),
        *VIABLE,
    ),
    internal=True,
)  # fmt: skip


HARVESTS = Layer(
    "harvests",
    None,
    "Seed gathered on the property: counted and cut, or with a low, likely and high PLS.",
    (
        Column("harvest", "text", "Name of the harvest."),
        Column("species", "text", "Species, by any of its names."),
        Column("bulk_lb", "number", "What was gathered, as weighed.", lowest=0),
        _amount("sample_g", "Weight of the counted sample."),
        Column("filled_seeds", "integer", "Seeds counted in the sample.", nullable=True,
               required=False, lowest=0),
        Column("cut_seeds", "integer", "Seeds cut open.", nullable=True, required=False, lowest=0),
        Column("good_seeds", "integer", "Of those, filled and sound.", nullable=True,
               required=False, lowest=0),
        _pct("low_pls_pct", "Lowest pure live seed thought possible."),
        _pct("likely_pls_pct", "Likely pure live seed."),
        _pct("high_pls_pct", "Highest pure live seed thought possible."),
        _amount("target_seeds_sqft", "Live seeds to be sown; without it as in the season's mixes."),
    ),
    key=("harvest", "species"),
    internal=True,
)  # fmt: skip
