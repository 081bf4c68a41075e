"""Tables and maps that the fuel, history, herd and season steps read. All internal."""

from pipeline.layers.schema import Column, Layer

UNIT_ID = Column("unit_id", "text", "Unit.")
KINDS = ("burn", "graze", "rest", "mow", "hay", "spray", "seed")


def text(name: str, meaning: str) -> Column:
    """A text column that a source may leave out."""
    return Column(name, "text", meaning, nullable=True, required=False)


def number(name: str, meaning: str, *, highest: float | None = None) -> Column:
    """A number column, not negative, that a source may leave out."""
    return Column(name, "number", meaning, nullable=True, required=False, lowest=0, highest=highest)


TREATMENTS = Layer(
    "treatments",
    None,
    "The log of what was done to each unit: one row for each event. A row that names no unit of "
    "the map, has no first day or ends before it begins is told and used nowhere.",
    (
        Column("unit_id", "text", "Unit.", nullable=True),
        Column("start", "date", "First day.", nullable=True, aliases=("date", "date_start")),
        Column(
            "end", "date", "Last day; the first day where it is empty.", nullable=True,
            required=False, aliases=("date_end",),
        ),
        Column("kind", "text", "What was done.", choices=KINDS, aliases=("treatment",)),
        Column("head", "number", "Animals on the unit.", nullable=True, required=False,
               lowest=0, dimensionless=True),
        Column(
            "animal_unit_equivalent", "number", "Animal units that one animal counts for.",
            nullable=True, required=False, lowest=0, dimensionless=True, aliases=("aue",),
        ),
        number("weight_lb", "Weight of one animal, where no equivalent is given."),
        text("livestock", "Kind of animal."),
        number("acres_treated_ac", "Acres treated, where it was not the whole unit."),
        number("unburned_inside_pct", "Share inside the burned ground that stayed.", highest=100),
        number("residual_height_in", "Height of what was left standing."),
        text("objective", "What it was done for."),
        text("permit", "Number of the permit."),
        text("weather", "Weather on the day, in the user's words."),
        text("product", "Product that was sprayed."),
        text("epa_reg_no", "EPA registration number on its label."),
        text("applicator", "Who sprayed."),
        text("licence_no", "Licence of the applicator."),
        text("mix", "Mix that was sown."),
        text("recorded_by", "Who wrote the row."),
        text("note", "Anything else."),
    ),
    internal=True,
)  # fmt: skip

BURNED_AREAS = Layer(
    "burned_areas",
    "MultiPolygon",
    "Ground that a burn took where it was not the whole unit.",
    (
        UNIT_ID,
        Column("date", "date", "Day of the burn, as in the treatments table."),
    ),
    internal=True,
)

CLIPS = Layer(
    "clips",
    None,
    "Clip plots: one row for each frame.",
    (
        UNIT_ID,
        text("plot", "Number of the plot."),
        Column("date", "date", "Day it was clipped."),
        Column("frame_sqft", "number", "Area inside the frame.", lowest=0.01),
        number("dry_g", "Dry weight, bag included if bag_g is given."),
        number("green_g", "Green weight, bag included if bag_g is given."),
        number("dry_matter_pct", "Dry weight in percent of the green weight.", highest=100),
        number("fuel_moisture_pct", "Water in percent of the dry weight (the fire convention)."),
        number("bag_g", "Weight of the empty bag."),
        number("bare_ground_pct", "Bare ground in or around the frame.", highest=100),
        Column(
            "caged", "flag", "Whether animals were kept off the plot: it then tells production.",
            nullable=True, required=False,
        ),
    ),
    internal=True,
)  # fmt: skip

OBSTRUCTION = Layer(
    "obstruction",
    None,
    "Readings of a visual-obstruction pole, turned into load by the user's own regression.",
    (
        UNIT_ID,
        text("station", "Station of the reading."),
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
            "measure", "text", "standing: what is there. production: what grew, animals not "
            "counted.", choices=("standing", "production"),
        ),
        Column("load_lb_ac", "number", "Dry load.", lowest=0),
        number("low_lb_ac", "The least it may be."),
        number("high_lb_ac", "The most it may be."),
        number("carryover_lb_ac", "Dead grass of earlier years, beside production."),
        number("bare_ground_pct", "Bare ground.", highest=100),
        Column("reference", "text", "Where the figure comes from."),
    ),
    internal=True,
)  # fmt: skip

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
    "Dates of an ordinary spring by region: month and day, written 04-10.",
    (
        Column("region", "text", "Name that the setting region of [fuel] picks."),
        Column("cured_from", "text", "Snow gone and last year's grass dry."),
        Column("green_from", "text", "Cool-season grass begins to grow."),
        Column("green_full", "text", "Spring growth has reached its full load."),
        Column("source", "text", "Published dates, or their standing."),
    ),
    key=("region",),
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
    "What a contract, an easement or a listed species asks of a unit.",
    (
        UNIT_ID,
        Column(
            "kind", "text", "Where the limit comes from.",
            choices=("contract", "easement", "species", "other"),
        ),
        Column("first_day", "text", "First day of the year it holds; empty: all year.",
               nullable=True, required=False),
        Column("last_day", "text", "Last day of the year it holds.", nullable=True,
               required=False),
        text("approval", "Reference of a written approval."),
        Column("note", "text", "What it says, and whom to ask."),
    ),
    internal=True,
)  # fmt: skip

SEASON_RULES = Layer(
    "season_rules",
    None,
    "Rules of thumb for the season: the first whose condition holds makes the suggestion.",
    (
        Column("rule", "integer", "Place in the order; the lowest is tried first.", lowest=1),
        Column(
            "when", "text", "Clauses joined by and, such as: carries = yes and burns_in_10_years "
            "< 2. Empty: always.", nullable=True,
        ),
        Column("suggestion", "text", "The option, in a few words."),
        Column("window", "text", "When in the year.", nullable=True),
        Column("reason", "text", "Why."),
        Column("source", "text", "Published source, or its standing."),
    ),
    key=("rule",),
    internal=True,
)  # fmt: skip

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

HOURLY_WEATHER = Layer(
    "hourly_weather",
    None,
    "Weather of each hour near the property, in local time.",
    (
        Column("time", "text", "Day and hour, written 2026-04-14T13:00."),
        Column("temperature_f", "number", "Temperature.", nullable=True, lowest=-80, highest=140),
        Column("humidity_pct", "number", "Relative humidity.", nullable=True, lowest=0,
               highest=100),
        Column("wind_mph", "number", "Wind speed, at the height the settings state.",
               nullable=True, lowest=0, highest=200),
        Column("wind_from_deg", "number", "Direction the wind comes from.", nullable=True,
               lowest=0, highest=360),
    ),
    key=("time",),
    internal=True,
)  # fmt: skip

SMOKE_POINTS = Layer(
    "smoke_points",
    "Geometry",
    "Houses, roads and other places that smoke must not drift onto.",
    (
        text("kind", "What it is, in the user's words."),
    ),
    internal=True,
)  # fmt: skip

PLANTS = Layer(
    "plants",
    None,
    "Plant cover by transect: one row for each species of each frame, or of each transect.",
    (
        UNIT_ID,
        Column("transect", "text", "Name of the transect."),
        Column("date", "date", "Day of the survey."),
        text("frame", "Number of the frame along the transect."),
        Column("species", "text", "Scientific or common name, or plant symbol."),
        number("cover_pct", "Cover.", highest=100),
        text("cover_class", "Class of cover, T or 1 to 6 (0: absent), where no percent is given."),
    ),
    internal=True,
)

PLANT_SPECIES = Layer(
    "plant_species",
    None,
    "Nativity and growth of each species, as this property counts them.",
    (
        Column("species", "text", "Scientific name."),
        text("common_name", "Common name."),
        text("usda_symbol", "Plant symbol."),
        text("synonyms", "Other names, with semicolons between."),
        Column("nativity", "text", "How it counts here.",
               choices=("native", "introduced", "unknown")),
        Column("growth", "text", "Kind of plant: cool-season grass, warm-season grass and others.",
               nullable=True),
        text("invader", "brome or bluegrass where it is one of these."),
        Column("source", "text", "Published source, or its standing."),
    ),
    key=("species",),
    internal=True,
)  # fmt: skip

SEASON_SOURCES: tuple[Layer, ...] = (
    TREATMENTS,
    BURNED_AREAS,
    CLIPS,
    OBSTRUCTION,
    LOADS,
    WINTER_LOSSES,
    GREEN_UP,
    NESTING_SEASONS,
    UNIT_LIMITS,
    SEASON_RULES,
    DAILY_TEMPERATURES,
    HOURLY_WEATHER,
    SMOKE_POINTS,
    PLANTS,
    PLANT_SPECIES,
)
