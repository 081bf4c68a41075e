"""Tables and maps that the fuel, history, herd and season steps read. All internal."""

from pipeline.core.layer import Column, Layer, optional_number, optional_text
from pipeline.core.layers import UNIT_ID

LIMIT_KINDS = ("contract", "easement", "species", "cultural", "other")
"""Where a limit on a unit comes from."""


LEADS_TO = (
    "ask",
    "record",
    "seed",
    "establish",
    "rest",
    "rest_or_graze",
    "graze",
    "defer",
    "burn",
    "burn_or_graze",
    "watch",
    "hay",
    "harvest",
    "overseed",
    "cut",
    "weeds",
)
"""What the option of a season rule comes to, for the steps that hold planned work against it."""


NEEDS = ("fuel", "stock", "seed", "approval", "machine", "hands")
"""What an option may need."""


OPTION_TIMES = (
    "dormant",
    "early_spring",
    "late_spring",
    "summer",
    "fall",
    "early",
    "midsummer",
    "late",
)
"""Times of the year of an option: of burning, haying and cutting by months, of grazing by the
parts before, in and after the midsummer deferral."""


CLIPS = Layer(
    "clips",
    None,
    "Clip plots: one row for each frame.",
    (
        UNIT_ID,
        optional_text("plot", "Number of the plot."),
        Column("date", "date", "Day it was clipped."),
        Column("frame_sqft", "number", "Area inside the frame.", lowest=0.01),
        optional_number("dry_g", "Dry weight, bag included if bag_g is given."),
        optional_number("green_g", "Green weight, bag included if bag_g is given."),
        optional_number(
            "dry_matter_pct", "Dry weight in percent of the green weight.", highest=100
        ),
        optional_number(
            "fuel_moisture_pct", "Water in percent of the dry weight (the fire convention)."
        ),
        optional_number("bag_g", "Weight of the empty bag."),
        optional_number("bare_ground_pct", "Bare ground in or around the frame.", highest=100),
        Column(
            "caged",
            "flag",
            "Whether animals were kept off the plot: it then tells production.",
            nullable=True,
            required=False,
        ),
    ),
    internal=True,
)


OBSTRUCTION = Layer(
    "obstruction",
    None,
    "Readings of a visual-obstruction pole, turned into load by the user's own regression.",
    (
        UNIT_ID,
        optional_text("station", "Station of the reading."),
        Column("date", "date", "Day it was read."),
        Column("reading_in", "number", "Height hidden by the grass.", lowest=0),
    ),
    internal=True,
)


LOADS = Layer(
    "loads",
    None,
    "Dry loads that the user states: from a survey, a photo series, a neighbor's clipping.",
    (
        UNIT_ID,
        Column("date", "date", "Day that the figure stands for."),
        Column(
            "measure",
            "text",
            "standing: what is there. production: what grew, animals not counted.",
            choices=("standing", "production"),
        ),
        Column("load_lb_ac", "number", "Dry load.", lowest=0),
        optional_number("low_lb_ac", "The least it may be."),
        optional_number("high_lb_ac", "The most it may be."),
        optional_number("carryover_lb_ac", "Dead grass of earlier years, beside production."),
        optional_number("bare_ground_pct", "Bare ground.", highest=100),
        optional_text(
            "override_reason",
            "Why this figure goes before every measurement of the unit, in the user's words.",
        ),
        Column("reference", "text", "Where the figure comes from."),
    ),
    internal=True,
)


WINTER_LOSSES = Layer(
    "winter_losses",
    None,
    "Share of the standing dry load that is gone by spring, by kind of ground.",
    (
        Column("cover", "text", "Kind of ground, spelled as in the units."),
        Column("low_pct", "number", "The least lost.", lowest=0, highest=100),
        Column("likely_pct", "number", "Loss to reckon with.", lowest=0, highest=100),
        Column("high_pct", "number", "The most lost.", lowest=0, highest=100),
        Column("source", "text", "Published measurement, or its standing."),
    ),
    key=("cover",),
    internal=True,
)


GREEN_UP = Layer(
    "green_up",
    None,
    "Dates of an ordinary spring by region: month and day, written 04-10. Rows with a latitude "
    "stand together: each unit takes the dates at its own, straight between two rows.",
    (
        Column("region", "text", "Name that region of [property] picks."),
        Column(
            "latitude_deg",
            "number",
            "Latitude that the dates are of; empty: for all of the region.",
            lowest=-90,
            highest=90,
            nullable=True,
            required=False,
        ),
        optional_number(
            "cool_exotic_share_pct",
            "Share of introduced cool-season grasses in a sward that nobody has looked at.",
            highest=100,
        ),
        Column("cured_from", "text", "Snow gone and last year's grass dry."),
        Column("green_from", "text", "Cool-season grass grows: 300 degree-days above 32 °F."),
        Column("green_full", "text", "Spring growth has its full load: 1,900 degree-days."),
        Column("source", "text", "Published dates, or their standing."),
    ),
    key=("region", "latitude_deg"),
    internal=True,
)


NESTING_SEASONS = Layer(
    "nesting_seasons",
    None,
    "Primary nesting season by state: verify with the county office.",
    (
        Column("state", "text", "State."),
        Column("first_day", "text", "First day, month and day.", nullable=True),
        Column("last_day", "text", "Last day, month and day.", nullable=True),
        Column("as_of", "text", "Year the dates were published.", nullable=True),
        Column("source", "text", "Published dates, or their standing."),
    ),
    key=("state",),
    internal=True,
)


UNIT_LIMITS = Layer(
    "unit_limits",
    None,
    "What a contract, an easement, a listed species or a cultural site asks of a unit.",
    (
        UNIT_ID,
        Column(
            "kind",
            "text",
            "Where the limit comes from.",
            choices=LIMIT_KINDS,
        ),
        optional_text("first_day", "First day of the year it holds; empty: all year."),
        optional_text("last_day", "Last day of the year it holds."),
        Column(
            "last_year",
            "integer",
            "Last calendar year that it holds; empty: it stays.",
            nullable=True,
            required=False,
            lowest=1900,
            highest=2200,
        ),
        optional_text("approval", "Reference of a written approval."),
        optional_text("contract", "Number or name of the contract or easement."),
        Column("note", "text", "What it says, and whom to ask."),
    ),
    internal=True,
)


SEASON_RULES = Layer(
    "season_rules",
    None,
    "Rules of thumb for the season: those whose condition holds are the options, in their order.",
    (
        Column("rule", "integer", "Place in the order; the lowest is tried first.", lowest=1),
        Column(
            "when",
            "text",
            "Clauses joined by and, such as: carries = yes and burns_in_10_years "
            "< 2. Empty: where no other rule holds.",
            nullable=True,
        ),
        Column("suggestion", "text", "The option, in a few words."),
        Column("window", "text", "When in the year.", nullable=True),
        Column("reason", "text", "Why."),
        Column("source", "text", "Published source, or its standing."),
        optional_text(
            "leads_to",
            "What the option comes to; without it planned work is not held against the option.",
            choices=LEADS_TO,
        ),
        optional_text(
            "time",
            "Time of the year; what was done then last year is not an option again. Empty: any.",
            choices=OPTION_TIMES,
        ),
        optional_text("needs", f"What it needs, with semicolons between: {'; '.join(NEEDS)}."),
        optional_text("rules_out", "What it rules out this season."),
        Column(
            "alone",
            "flag",
            "Whether no further option is looked for where it holds.",
            nullable=True,
            required=False,
        ),
    ),
    key=("rule",),
    internal=True,
)


DAILY_TEMPERATURES = Layer(
    "daily_temperatures",
    None,
    "Highest and lowest temperature of each day near the property.",
    (
        Column("date", "date", "Day."),
        Column("tmax_f", "number", "Highest temperature.", lowest=-80, highest=140),
        Column("tmin_f", "number", "Lowest temperature.", lowest=-80, highest=140),
    ),
    key=("date",),
    internal=True,
)


PLANTS = Layer(
    "plants",
    None,
    "Plant cover by transect: one row for each species of each frame, or of each transect.",
    (
        UNIT_ID,
        Column("transect", "text", "Name of the transect."),
        Column("date", "date", "Day of the survey."),
        optional_text("frame", "Number of the frame along the transect."),
        Column("species", "text", "Scientific or common name, or plant symbol."),
        optional_number("cover_pct", "Cover.", highest=100),
        optional_text(
            "cover_class", "Class of cover, T or 1 to 6 (0: absent), where no percent is given."
        ),
        optional_number(
            "latitude_deg",
            "Where the record was made, in degrees north on WGS 84; empty: the place is not known.",
            lowest=-90,
            highest=90,
            aliases=("latitude", "lat"),
        ),
        optional_number(
            "longitude_deg",
            "Where the record was made, in degrees east on WGS 84, negative in America.",
            lowest=-180,
            highest=180,
            aliases=("longitude", "lon", "long"),
        ),
    ),
    internal=True,
)


PLANT_SPECIES = Layer(
    "plant_species",
    None,
    "Nativity and growth of each species, as this property counts them.",
    (
        Column("species", "text", "Scientific name."),
        optional_text("common_name", "Common name."),
        optional_text("usda_symbol", "Plant symbol."),
        optional_text("synonyms", "Other names, with semicolons between."),
        Column(
            "nativity", "text", "How it counts here.", choices=("native", "introduced", "unknown")
        ),
        Column(
            "growth",
            "text",
            "Kind of plant: cool-season grass, warm-season grass and others.",
            nullable=True,
        ),
        optional_text("invader", "brome or bluegrass where it is one of these."),
        optional_text(
            "noxious_in",
            "States that list it as a noxious weed, with semicolons between; any: wherever it is.",
        ),
        optional_number(
            "coefficient_of_conservatism",
            "Coefficient of conservatism of the user's own list; none is built in.",
            highest=10,
            dimensionless=True,
            aliases=("c_value", "mean_c"),
        ),
        optional_text("c_list", "List that the coefficient is from."),
        Column("source", "text", "Published source, or its standing."),
    ),
    key=("species",),
    internal=True,
)
