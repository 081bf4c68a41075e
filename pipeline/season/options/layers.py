"""Layers of the season options, and of the work on record that they are weighed against."""

from dataclasses import replace

from pipeline.core.layer import Column, Layer, optional_count, optional_number, optional_text
from pipeline.core.layers import UNIT_ID
from pipeline.season.layers import HISTORY
from pipeline.season.source_layers import LEADS_TO, OPTION_TIMES

BURN_RECORD = (
    "years_since_burn",
    "burns_in_5_years",
    "burns_in_10_years",
    "last_burn_window",
)


PAST_WORK = Layer(
    "past_work",
    None,
    "What the log says was done on so much of a unit that it counts for the unit as a whole.",
    (
        UNIT_ID,
        *(replace(HISTORY.column(name), nullable=True) for name in BURN_RECORD),
        optional_count("years_since_seeding", "Seasons since a new field was sown."),
        optional_count("years_since_overseeding", "Seasons since seed was put into a sward."),
        optional_text(
            "done_last_year",
            "Work of last year and this one, each with its time of the year: burn early_spring.",
        ),
    ),
    key=("unit_id",),
    internal=True,
)


UNWANTED = Layer(
    "unwanted",
    None,
    "Woody and noxious plants of a unit by its newest survey or patches, whichever tells more.",
    (
        UNIT_ID,
        optional_number("woody_pct", "Cover of trees and shrubs, or ground of their patches."),
        optional_number("noxious_pct", "Cover of noxious plants, or ground of their patches."),
    ),
    key=("unit_id",),
    internal=True,
)


def _flag(name: str, meaning: str, heading: str) -> Column:
    """A flag that every option tells."""
    return Column(name, "flag", meaning, heading)


SEASON_OPTIONS = Layer(
    "season_options",
    "MultiPolygon",
    "Up to three options for each unit, best first: something to talk over, never an order, and "
    "no permission to light anything.",
    (
        UNIT_ID,
        Column("rank", "integer", "Place of the option on its unit, from 1.", "Option", lowest=1),
        Column("year", "integer", "Season.", "Season"),
        Column("rule", "integer", "Rule of the table that made it.", "Rule"),
        optional_text("leads_to", "What it comes to.", "Comes to", choices=LEADS_TO),
        optional_text("time", "Time of the year.", "Time of the year", choices=OPTION_TIMES),
        Column("suggestion", "text", "The option, in the words of the rule.", "Suggestion"),
        optional_text("window", "When in the year.", "When"),
        Column("reason", "text", "Why, in the words of the rule.", "Why"),
        _flag("needs_fuel", "Whether it needs fuel that carries.", "Needs fuel"),
        _flag("needs_stock", "Whether it needs stock.", "Needs stock"),
        _flag("needs_seed", "Whether it needs seed.", "Needs seed"),
        _flag(
            "needs_approval",
            "Whether a contract, easement, listed species or other limit without an approval on "
            "record has to be asked about first, or the rule says so.",
            "Ask first",
        ),
        _flag("needs_machine", "Whether it needs a machine.", "Needs a machine"),
        _flag("needs_hands", "Whether it needs people on foot.", "Needs hands"),
        _flag(
            "leaves_no_refuge",
            "Whether a refuge is wanted and the burn would leave a unit without an unburned one "
            "along its edge.",
            "Leaves no refuge",
        ),
        optional_text("rules_out", "What it rules out this season.", "Rules out"),
        optional_text("limits", "Kinds of limits to ask about first.", "Limits"),
        optional_text(
            "would_lose",
            "Native species on record within the weed patches: what spray would take.",
            "Spray would take",
        ),
        Column("source", "text", "Where the rule comes from.", "Source"),
    ),
    key=("unit_id", "rank"),
)
