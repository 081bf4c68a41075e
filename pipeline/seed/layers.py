"""Tables that the seed steps read. What they write is declared in order_layers."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_number, optional_text

METHODS = ("drill", "broadcast", "overseed")


RATE_METHODS = (*METHODS, "any")


BOXES = ("large", "small", "chaffy")


def _pct(name: str, meaning: str) -> Column:
    """An optional percentage of a seed tag."""
    return optional_number(name, meaning, highest=100)


def _part(name: str, meaning: str) -> Column:
    """An optional percentage of a seed tag that is as a rule below ten, often below one."""
    return replace(_pct(name, meaning), small_part=True)


def _flag(name: str, meaning: str) -> Column:
    """An optional yes or no."""
    return Column(name, "flag", meaning, nullable=True, required=False)


def _choice(name: str, meaning: str, choices: tuple[str, ...]) -> Column:
    """An optional word out of a few."""
    return Column(name, "text", meaning, nullable=True, required=False, choices=choices)


def _day(name: str, meaning: str) -> Column:
    """An optional date."""
    return Column(name, "date", meaning, nullable=True, required=False)


def _seeds(name: str, meaning: str) -> Column:
    """An optional whole number of seeds."""
    return Column(name, "integer", meaning, nullable=True, required=False, lowest=0)


def _months(name: str, meaning: str) -> Column:
    """An optional whole number of months."""
    return Column(name, "integer", meaning, nullable=True, required=False, lowest=0, highest=120)


def _factor(name: str, meaning: str) -> Column:
    """An optional factor."""
    return optional_number(name, meaning, dimensionless=True)


def _seeds_per_lb(name: str, meaning: str) -> Column:
    """An optional number of seeds in a pound: at least one."""
    return optional_number(name, meaning, lowest=1)


def _price(name: str, meaning: str, former_name: str) -> Column:
    """An optional price, which tables also call by a former name."""
    return replace(optional_number(name, meaning), aliases=(former_name,))


VIABLE = (
    _pct("germination_pct", "Seed that sprouted in the test, hard and dormant seed not counted."),
    _part("hard_pct", "Seed that did not take up water."),
    _part("dormant_pct", "Live seed that did not sprout."),
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
        optional_text("season", "Name of the season factor."),
        optional_text("slope", "Name of the slope factor."),
        optional_text("sod", "Name of the sod factor."),
        _factor("method_factor", "Method factor told for this area."),
        _factor("season_factor", "Season factor told for this area."),
        _factor("slope_factor", "Slope factor told for this area."),
        _factor("sod_factor", "Sod factor told for this area."),
        optional_text("bag", "Pre-mixed bag that the area is sown from."),
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
        optional_text("common_name", "Name people use."),
        optional_text("synonyms", "Other names, set apart by semicolons."),
        optional_text("usda_symbol", "Plant symbol."),
        optional_text("seed_group", "Warm-season grass, cool-season grass, legume, forb."),
        _seeds_per_lb("seeds_per_lb", "Seeds in a pound."),
        _seeds_per_lb("low_seeds_per_lb", "Lowest published figure."),
        _seeds_per_lb("high_seeds_per_lb", "Highest published figure."),
        optional_text("seed_unit", "What is counted as one seed."),
        _choice("box", "Drill box its seed runs from.", BOXES),
        _flag("dormancy_tested", "Whether a test must tell its dormant seed."),
        optional_text("reference", "Where seeds_per_lb comes from."),
        optional_text("range_from", "Where the lowest and highest figure come from."),
        optional_text("note", "What else is to be said of the figures."),
        optional_text("confidence", "Whether the figure is published or from memory."),
        optional_text("from_memory", "Columns of the row that are from memory, to be checked."),
    ),
    key=("species",),
    internal=True,
)


MIXES = Layer(
    "mixes",
    None,
    "Seed mixes, one row for each species. Exactly one of pls_lb_ac, seeds_sqft, full_rate_pct, or "
    "bulk_lb_ac for a nurse crop or carrier.",
    (
        Column("mix", "text", "Name of the mix."),
        Column("species", "text", "Species, by any of its names."),
        _choice(
            "role", "What the line is; seed where it does not say.", ("seed", "nurse", "carrier")
        ),
        optional_number("pls_lb_ac", "Rate in pure live seed.", highest=1000),
        optional_number("seeds_sqft", "Rate in live seeds.", highest=10_000),
        optional_number("full_rate_pct", "Share of the species' full rate."),
        optional_number("bulk_lb_ac", "Rate as weighed: nurse crops and carriers only."),
        optional_text(
            "full_rate", "Name of the set of full rates that full_rate_pct is a share of."
        ),
        _choice("rate_method", "Method of sowing that the rate is written for.", RATE_METHODS),
        _seeds_per_lb("seeds_per_lb", "Own figure; goes before that of the species table."),
        Column(
            "box",
            "text",
            "Drill box, where it is not the usual one of the species.",
            nullable=True,
            required=False,
            choices=BOXES,
        ),
        optional_text("variety", "Variety wanted; a dealer is asked for it."),
        optional_text("origin", "Origin wanted; a dealer is asked for it."),
        _flag("not_100", "Says that the mix's percents are meant to differ from 100."),
    ),
    internal=True,
)


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
        optional_text("reference", "Where it is published."),
    ),
    internal=True,
)


SEED_LOTS = Layer(
    "seed_lots",
    None,
    "Lots of seed in the shed or on offer, as their tags say.",
    (
        Column("lot", "text", "Lot number or name."),
        Column(
            "species",
            "text",
            "Species, by any of its names; nurse crop, carrier or pre-mixed bag as the mix has it.",
        ),
        optional_text("variety", "Variety, or VNS."),
        _pct("purity_pct", "Pure seed, by weight."),
        _part("other_crop_pct", "Other crop seed, by weight."),
        _part("inert_pct", "Inert matter, by weight."),
        _part("weed_pct", "Weed seed, by weight."),
        replace(
            optional_text(
                "noxious",
                "Noxious or restricted weeds named on the tag, with their numbers; none where the "
                "tag says so. An empty cell is unknown.",
            ),
            none_is_said=True,
        ),
        *VIABLE,
        _pct("pls_pct", "Pure live seed as the tag or the dealer states it; only checked."),
        optional_number("on_hand_bulk_lb", "What is in the shed, as weighed."),
        optional_number("offered_bulk_lb", "What the dealer has on offer, as weighed."),
        optional_number("pack_lb", "Bulk in one bag or pack."),
        _price("price_usd_per_pls_lb", "Price by pure live seed.", "price_usd"),
        _price("price_usd_per_bulk_lb", "Price by weight as delivered.", "price_usd_per_lb"),
        replace(_day("tested", "Date of the test; the month counts."), month_counts=True),
        _flag("sealed", "Whether it is packed hermetically: its test counts longer by law."),
        optional_text("origin", "Where the seed was grown or gathered."),
        optional_number("origin_mi", "How far that is from the property, straight."),
        optional_text("vendor", "Who sells it."),
    ),
    key=("lot",),
    internal=True,
)


SEED_FACTORS = Layer(
    "seed_factors",
    None,
    "Factors on a rate, by region. A table of this kind ships as config/seed_factors.csv.",
    (
        Column("region", "text", "Region, as the setting spells it."),
        Column(
            "kind", "text", "What the factor is for.", choices=("method", "season", "slope", "sod")
        ),
        Column("name", "text", "Method of sowing, or name of the season, slope or sod."),
        Column(
            "factor",
            "number",
            "What the drilled rate is multiplied by.",
            lowest=0,
            dimensionless=True,
        ),
        optional_text("reference", "Where it is published."),
    ),
    internal=True,
)


TEST_RULES = Layer(
    "test_rules",
    None,
    "How long a seed test is good. A table of this kind ships as config/test_rules.csv.",
    (
        Column("state", "text", "State, as the setting spells it."),
        Column(
            "months",
            "integer",
            "Months for which a test counts; empty where the rule was not read.",
            nullable=True,
            lowest=0,
            highest=120,
        ),
        _flag("test_month_counts", "Whether the month of the test is one of them; no if empty."),
        _months("native_months", "The same for seed of native kinds, where it is longer."),
        _months("sealed_months", "The same for seed that is packed hermetically."),
        optional_text("reference", "Law or manual."),
    ),
    internal=True,
)


SEEDING_WINDOWS = Layer(
    "seeding_windows",
    None,
    "Days of the year on which seed is sown in a state or region. A table of this kind ships as "
    "config/seeding_windows.csv.",
    (
        Column("place", "text", "State or region; any for those without a row of the window."),
        Column("method", "text", "Method that the days hold for.", choices=RATE_METHODS),
        Column("window", "text", "Name of the window: spring, dormant, frost."),
        Column("first_day", "text", "First day, month and day."),
        Column("last_day", "text", "Last day; before the first one where it passes New Year."),
        Column("source", "text", "Published days, or their standing."),
    ),
    key=("place", "method", "window"),
    internal=True,
)


SEED_BAGS = Layer(
    "seed_bags",
    None,
    "Pre-mixed bags, one row for each species in a bag; pure seed is a share of the whole bag.",
    (
        Column("bag", "text", "Name of the bag."),
        Column("species", "text", "Species, by any of its names."),
        Column(
            "purity_pct",
            "number",
            "Pure seed of the species in the whole bag.",
            lowest=0,
            highest=100,
        ),
        *VIABLE,
    ),
    internal=True,
)


HARVESTS = Layer(
    "harvests",
    None,
    "Seed gathered on the property: counted and cut, or with a low, likely and high PLS.",
    (
        Column("harvest", "text", "Name of the harvest."),
        Column("species", "text", "Species, by any of its names."),
        Column("bulk_lb", "number", "What was gathered, as weighed.", lowest=0),
        optional_number("sample_g", "Weight of the counted sample."),
        _seeds("filled_seeds", "Seeds counted in the sample."),
        _seeds("cut_seeds", "Seeds cut open."),
        _seeds("good_seeds", "Of those, filled and sound."),
        _pct("low_pls_pct", "Lowest pure live seed thought possible."),
        _pct("likely_pls_pct", "Likely pure live seed."),
        _pct("high_pls_pct", "Highest pure live seed thought possible."),
        optional_number(
            "target_seeds_sqft", "Live seeds to be sown; without it as in the season's mixes."
        ),
    ),
    key=("harvest", "species"),
    internal=True,
)
