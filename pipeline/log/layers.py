"""The treatment log as it is read, and the ground that its burns took."""

from pipeline.core.layer import Column, Layer, optional_number, optional_text

UNIT_ID = Column("unit_id", "text", "Unit.")

KINDS = ("burn", "graze", "rest", "mow", "hay", "spray", "seed")


TREATMENTS = Layer(
    "treatments",
    None,
    "The log of what was done to each unit: one row for each event. A row that names no unit of "
    "the map, has no first day or ends before it begins is told and used nowhere.",
    (
        Column("unit_id", "text", "Unit.", nullable=True),
        Column("start", "date", "First day.", nullable=True, aliases=("date", "date_start")),
        Column(
            "end",
            "date",
            "Last day; the first day where it is empty.",
            nullable=True,
            required=False,
            aliases=("date_end",),
        ),
        Column("kind", "text", "What was done.", choices=KINDS, aliases=("treatment",)),
        Column(
            "head",
            "number",
            "Animals on the unit.",
            nullable=True,
            required=False,
            lowest=0,
            dimensionless=True,
        ),
        Column(
            "animal_unit_equivalent",
            "number",
            "Animal units that one animal counts for.",
            nullable=True,
            required=False,
            lowest=0,
            dimensionless=True,
            aliases=("aue",),
        ),
        optional_number("weight_lb", "Weight of one animal, where no equivalent is given."),
        optional_text("livestock", "Kind of animal."),
        optional_number(
            "acres_treated_ac", "Acres treated, where it was not the whole unit.", lowest=0.01
        ),
        optional_number(
            "unburned_inside_pct", "Share inside the burned ground that stayed.", highest=100
        ),
        optional_number("residual_height_in", "Height of what was left standing."),
        optional_text("objective", "What it was done for."),
        optional_text("permit", "Number of the permit."),
        optional_text("weather", "Weather on the day, in the user's words."),
        optional_text("product", "Product that was sprayed."),
        optional_text("epa_reg_no", "EPA registration number on its label."),
        optional_text("applicator", "Who sprayed."),
        optional_text("licence_no", "Licence of the applicator."),
        optional_text("mix", "Mix that was sown."),
        optional_text("recorded_by", "Who wrote the row."),
        optional_text("note", "Anything else."),
    ),
    internal=True,
)


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
