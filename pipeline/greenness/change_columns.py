"""The codes of a change in greenness, and the columns that its layers share."""

from pipeline.core.layer import Column
from pipeline.greenness.columns import PAIR_REASONS, codes, count, index_value, words

CHANGE_REASONS = (
    *PAIR_REASONS,
    "burn_in_composite_before",
    "burn_in_composite_after",
    "burn_on_day_before",
    "burn_on_day_after",
    "reference_burned",
    "little_burned",
    "no_reference",
)
"""Why the change of a unit cannot be judged against reference units."""


CONFOUNDERS = (
    "handled_otherwise",
    "other_cover",
    "burned_before",
    "start_differs",
    "size_differs",
    "year_differs",
    "place_differs",
    "other_sensor",
    "composite",
    "share_unknown",
)
"""What on record or in the pictures may have made a change as well as the burn."""


CHANGE_VERDICTS = (
    "greener",
    "less_green",
    "within",
    "below_noise",
    "confounded",
    "no_interval",
    "cannot_judge",
    "seasonal",
)
"""What may be said of a change in greenness against the reference units."""


CLEAR_VERDICTS = ("greener", "less_green")
"""Verdicts that tell a change; all others leave it in doubt."""


CHANGE_CAUTIONS = (
    "composite",
    "no_burn_on_record",
    "other_work",
    "burned_before",
    "cloud_before",
    "cloud_after",
    "part_usable",
    "season_gap",
    "unpaired",
    "mixed_sensors",
    "unlike_before",
    "carried_by_one",
)
"""What to keep in mind beside a change in greenness."""


EFFECT = index_value(
    "change_vs_reference",
    "Change beyond that of the reference units, per fully burned ground: their after and start "
    "tell what was to be expected of it (a reference unit is held against the others).",
    "Beyond the unburned units",
    signed=True,
)


P_VALUE = Column(
    "p_value",
    "number",
    "Probability of a change against the references at least so far from zero without any effect.",
    "Probability by chance",
    places=3,
    nullable=True,
    dimensionless=True,
    lowest=0,
    highest=1,
)


CARRY_OVER = index_value(
    "carry_over",
    "Share of a head start in NDVI that was taken to last, mean of all that the unburned units "
    "allow: 1 is the difference of changes, 0 that of the pictures after.",
    "Start carried over",
)


REFERENCES = count("references", "Reference units it is held against.", "Reference units")


REFERENCES_USED = words("references_used", "Which units those are.", "Held against")


LEFT_OUT_COLUMNS = (
    words(
        "references_unusable",
        "References of the comparison that cannot be used; their own rows tell why.",
        "Not usable",
    ),
    words(
        "references_handled_otherwise",
        "References that were grazed, cut, sprayed or sown otherwise than it, by the log from a "
        "year before the first picture to the second. Where too few others are left they are in "
        "the figures, and the verdict is confounded.",
        "Handled otherwise",
    ),
    words(
        "references_other_cover",
        "References of another cover; they count as those handled otherwise do.",
        "Of other cover",
    ),
    words(
        "references_lacking_years",
        "References that lack half of the earlier years, or more.",
        "Lacking earlier years",
    ),
    words(
        "references_unlike_start",
        "References left out since enough others started more like it.",
        "Of an unlike start",
    ),
)


LEFT_OUT = {column.name: column.name.removeprefix("references_") for column in LEFT_OUT_COLUMNS}
"""Columns that name the references which are not used, and the code of why each is for."""


SPREAD_UNITS = count(
    "spread_units",
    "Unburned units handled alike, those references among them, that tell how much units differ "
    "and how much of a head start lasts.",
    "Units for the spread",
)


CARRYING_REFERENCE = words(
    "carrying_reference",
    "Reference without which the references would spread less than half as much.",
    "Reference that carries the spread",
)


CONFOUNDED_BY = codes(
    "confounded_by",
    "What may have made the change as well as the burn.",
    "May also be due to",
    CONFOUNDERS,
)
