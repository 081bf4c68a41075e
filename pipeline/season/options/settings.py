"""What the owner wants of the ground: it steers the season options, it hides none of the facts."""

from pipeline.core.section import Name, Section, setting

OWNER = "the owner's word"


class AimsSettings(Section):
    """[aims]"""

    fire_possible: bool = setting(
        True,
        meaning="Whether fire is possible at all; without it no option is a burn.",
        source=OWNER,
    )
    no_fire_units: tuple[Name, ...] = setting(
        (),
        meaning="Units on which it is not, though it is elsewhere.",
        source=OWNER,
    )
    herd_must_be_fed: bool = setting(
        False,
        meaning="Whether the herd must be fed from these units: options that feed it come before "
        "those that keep it off.",
        source=OWNER,
    )
    hay_units: tuple[Name, ...] = setting(
        (),
        meaning="Units on which hay is wanted.",
        source=OWNER,
    )
    seed_units: tuple[Name, ...] = setting(
        (),
        meaning="Units on which native seed is to be gathered.",
        source=OWNER,
    )
    keep_refuge: bool = setting(
        False,
        meaning="Whether each unit that burns is to keep a unit along its edge that does not: a "
        "burn that leaves none comes after the other options.",
        source=OWNER + "; prescribed-fire clauses of the U.S. Fish and Wildlife Service for "
        "butterfly habitat; the rule by neighbors is judgment of this program, no source",
    )
