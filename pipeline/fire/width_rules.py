"""How wide a firebreak should be by a published rule, and what of a planned line counts for it.

The published rules are no rivals: the small widths speak of ground bare of fuel, the large ones
of bare line, mown strip and burned strip together. So each rule says which ground it counts.
"""

from dataclasses import dataclass
from typing import Literal, get_args

from pipeline.fire.settings import FirebreakSettings

Ground = Literal["bare_or_burned", "bare_mown_or_burned"]


COUNTED_GROUND: tuple[Ground, ...] = get_args(Ground)
"""Ground that counts for a rule: without the mown strip, or with it."""


COUNTS: dict[Ground, tuple[str, ...]] = {
    "bare_or_burned": ("bare", "burned"),
    "bare_mown_or_burned": ("bare", "mown", "burned"),
}
"""Kinds of ground that count: mown grass is not bare ground."""


GROUND_BY_CHOICE: dict[str, Ground] = {"bare": "bare_or_burned", "all": "bare_mown_or_burned"}
"""The same by the words of the setting own_rule_counts."""


OWN_RULE = "own"


@dataclass(frozen=True, slots=True)
class WidthRule:
    """One published rule: the largest of its terms [ft].

    ``fuel_heights`` times the height of the fuel, ``flame_lengths`` times the flame length that
    the burn boss expects, ``fixed_ft`` plus ``ft_per_mph`` times the expected wind, and
    ``at_least_ft``. ``ground`` is what counts: bare ground (with wet line and blackline), or the
    mown strip too.
    """

    name: str
    source: str
    ground: Ground
    fuel_heights: float = 0.0
    flame_lengths: float = 0.0
    fixed_ft: float = 0.0
    ft_per_mph: float = 0.0
    at_least_ft: float = 0.0


MISSOURI = "Missouri NRCS, Firebreak (394) Conservation Practice Guidance Document, February 2020"

EXTENSION = "Extension (eXtension Prescribed Fire), Fire prescriptions, rule 4: downwind side"

GREAT_PLAINS = (
    "Higgins, Kruse and Piehl, Prescribed burning guidelines in the Northern Great Plains, USFWS, "
    "1989: burned-out buffer"
)

PUBLISHED = (
    WidthRule(
        "2 x fuel height, 4 ft",
        f"{MISSOURI}, page 1",
        "bare_or_burned",
        fuel_heights=2,
        at_least_ft=4,
    ),
    WidthRule(
        "2 x flame length, 6 ft",
        "Florida NRCS, job sheet FL394JS, September 2003",
        "bare_or_burned",
        flame_lengths=2,
        at_least_ft=6,
    ),
    WidthRule(
        "10 x fuel height",
        f"{EXTENSION}, bare, mowed and backfired ground together",
        "bare_mown_or_burned",
        fuel_heights=10,
    ),
    WidthRule(
        "8 ft + 1 ft per mph",
        "Texas Ranching Conservancy, Burn standards",
        "bare_or_burned",
        fixed_ft=8,
        ft_per_mph=1,
    ),
    WidthRule("100 ft", GREAT_PLAINS, "bare_mown_or_burned", at_least_ft=100),
    WidthRule(
        "200 ft",
        f"{GREAT_PLAINS}, wind above 8 mph",
        "bare_mown_or_burned",
        at_least_ft=200,
    ),
)

RULES: dict[str, WidthRule] = {rule.name: rule for rule in PUBLISHED}


def rule_named(name: str, settings: FirebreakSettings) -> WidthRule:
    """Width rule of a name: a published one, or the user's own with its own source."""
    if name != OWN_RULE:
        return RULES[name]
    return WidthRule(
        OWN_RULE,
        settings.own_rule_source or "",
        GROUND_BY_CHOICE[settings.own_rule_counts],
        fuel_heights=settings.own_rule_height_factor,
        flame_lengths=settings.own_rule_flame_factor,
        at_least_ft=settings.own_rule_at_least_ft,
    )


def figures_needed(rule: WidthRule) -> list[str]:
    """Figures that the rule cannot do without, by their names under [[burns]] or [firebreaks]."""
    factors = {
        "fuel_height_ft": rule.fuel_heights,
        "flame_length_ft": rule.flame_lengths,
        "wind_mph": rule.ft_per_mph,
    }
    return [name for name, factor in factors.items() if factor]


def required_ft(
    rule: WidthRule,
    *,
    fuel_height_ft: float | None = None,
    flame_length_ft: float | None = None,
    wind_mph: float | None = None,
) -> float | None:
    """Width [ft] by the rule; None where the rule needs a figure that was not given."""
    terms = [rule.at_least_ft]
    for factor, value, fixed in (
        (rule.fuel_heights, fuel_height_ft, 0.0),
        (rule.flame_lengths, flame_length_ft, 0.0),
        (rule.ft_per_mph, wind_mph, rule.fixed_ft),
    ):
        if factor and value is None:
            return None
        if factor and value is not None:
            terms.append(fixed + factor * value)
    return max(terms)
