"""The layers of ``years.gpkg``: seasons, ground through the years, plans against what was done.

They are of many runs and so stand beside those of a run. A *line* is a piece of ground that is
followed through the years: a unit as it is drawn today, or as it was drawn last.
"""

from dataclasses import replace

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.log.layers import KINDS
from pipeline.season.fuel.layers import CARRIES
from pipeline.season.options.layers import SEASON_OPTIONS
from pipeline.season.plants.layers import PLANT_COVER
from pipeline.season.road.layers import ROAD, ROAD_YEARS
from pipeline.work.layers import TASK_KINDS

SEASON = Column("season", "integer", "Calendar year of the season.", "Season")


LINE = Column(
    "line",
    "text",
    "Ground that is followed: a unit as drawn today; one that is no more, with its last season.",
    "Ground",
)


def _acres(name: str, meaning: str, heading: str) -> Column:
    """Acres that are always told."""
    return Column(name, "number", meaning, heading, 1, lowest=0)


OUTCOMES = (
    "done_as_planned",
    "done_otherwise",
    "not_done",
    "untold",
    "carried_over",
    "done_without_plan",
)
"""What came of planned work. untold: no later log speaks of its days. carried_over: a later
season plans it again for the same days."""


DIFFERS = ("day", "acres", "method", "mix", "animals")
"""How what was done may differ from the plan."""


CLASS_ACRES = (
    _acres("as_planned_ac", "Acres of them done as planned.", "As planned"),
    _acres("otherwise_ac", "Acres of them done on another day or in another way.", "Otherwise"),
    _acres(
        "not_done_ac", "Acres of them that no record has, of days that a log tells.", "Not done"
    ),
    _acres("not_told_ac", "Acres of them that no log tells of, or not how much.", "Not told"),
    _acres("carried_over_ac", "Acres of them planned again for the same days.", "Carried over"),
)
"""Acres by what came of them; they add up to the acres planned."""


PLANNED_AC = _acres("planned_ac", "Acres planned.", "Planned")


WITHOUT_PLAN_AC = _acres(
    "without_plan_ac", "Acres done that no plan of the time has.", "Without a plan"
)


SEASONS = Layer(
    "seasons",
    None,
    "A row a run that was read, or that could not be: what was planned in its season, in acres, "
    "and what came of it.",
    (
        optional_count("season", "Calendar year of the season.", "Season"),
        Column("run", "text", "Run folder or GeoPackage, from beside this file.", "Run"),
        Column(
            "state",
            "text",
            "read: all layers. read_in_part: of an older schema. left_out: another run of the "
            "season was looked at later. failed: could not be read.",
            "State",
            choices=("read", "read_in_part", "left_out", "failed"),
        ),
        optional_date("as_of", "Day that its plan is looked at from.", "Looked at on"),
        optional_text("version", "Version of the program.", "Version"),
        optional_count("schema", "Schema of its GeoPackage.", "Schema"),
        optional_count("units", "Units.", "Units", 0),
        optional_number("ground_ac", "Acres of ground that they cover.", "Ground", 1),
        optional_count("plans", "Rows of planned work.", "Plans", 0),
        *(replace(column, nullable=True) for column in (PLANNED_AC, *CLASS_ACRES, WITHOUT_PLAN_AC)),
        optional_number("planned_pls_lb", "Pure live seed planned.", "Seed planned", 1),
        optional_number("done_pls_lb", "Of it for the acres that were sown.", "Seed sown", 1),
        optional_text("reasons", "What was not read, and why.", "Not read"),
    ),
)


OUTCOME_ROWS = Layer(
    "outcomes",
    None,
    "Each piece of planned work on each unit against the logs of later runs, and each record of "
    "work that no plan has. Records, not a judgement: a plan may be left undone for good reasons.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        SEASON,
        Column("unit_id", "text", "Unit as it was called in the plan, or in the log.", "Unit"),
        Column("kind", "text", "What it is.", "Work", choices=KINDS),
        Column("outcome", "text", "What came of it.", "Outcome", choices=OUTCOMES),
        optional_text(
            "differs",
            f"How it differs from the plan, as codes with commas between: {', '.join(DIFFERS)}.",
            "Differs in",
        ),
        optional_text("work_id", "Piece of planned work.", "Plan"),
        optional_date("first_day", "First day planned.", "Planned from"),
        optional_date("last_day", "Last day planned.", "Planned to"),
        optional_date("start", "First day it was done.", "Done from"),
        optional_date("end", "Last day it was done.", "Done to"),
        PLANNED_AC,
        *CLASS_ACRES,
        WITHOUT_PLAN_AC,
        optional_number("done_ac", "Acres that the records tell.", "Recorded", 1),
        optional_number("planned_pls_lb", "Pure live seed planned.", "Seed planned", 1),
        optional_number(
            "done_pls_lb",
            "Of it for the acres that were sown, at the rate planned: a log tells no pounds sown.",
            "Seed sown",
            1,
        ),
        optional_number("taken_lb", "Hay or seed taken off.", "Taken off", 1),
        Column("records", "integer", "Rows of the log it rests on.", "Rows", 0, lowest=0),
        optional_count("told_in", "Season of the run whose log tells it.", "Told in"),
    ),
    key=("number",),
)


CHANGES = (
    "same",
    "renamed",
    "redrawn",
    "split",
    "merged",
    "part",
    "new",
    "gone",
    "same_name_elsewhere",
)
"""What became of a unit from one run to the next, by its outline. part: less than half of either
went over. same_name_elsewhere: the name stands on other ground."""


UNIT_CHANGES = Layer(
    "unit_changes",
    None,
    "What became of each unit from one run to the next, by its outline and never by its name "
    "alone.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        Column("season", "integer", "Season of the later run.", "Season"),
        Column("season_before", "integer", "Season of the run before.", "Before"),
        optional_text("unit_before", "Unit in the run before.", "Unit before"),
        optional_text("unit_id", "Unit in the later run.", "Unit"),
        Column("change", "text", "What became of it.", "Change", choices=CHANGES),
        optional_number("before_ac", "Acres of the unit before.", "Before", 1),
        optional_number("unit_ac", "Acres of the later unit.", "After", 1),
        optional_number("shared_ac", "Acres in both outlines.", "In both", 1),
        optional_number("of_before_pct", "Those in percent of the unit before.", "Of before", 1),
        optional_number("of_unit_pct", "Those in percent of the later unit.", "Of after", 1),
    ),
    key=("number",),
)


TAKEN = ("taken", "not_taken", "untold", "not_asked")
"""Whether an option was taken. untold: no later log reaches into fall. not_asked: it is nothing
that a log would tell."""


UNIT_YEARS = Layer(
    "unit_years",
    None,
    "Each piece of ground in each year: what the season planned it from, what was done on it, and "
    "what was seen of it afterwards.",
    (
        LINE,
        Column("year", "integer", "Calendar year.", "Year"),
        optional_text("units_then", "Units that its ground was in.", "Units then"),
        optional_number("known_pct", "Share of its ground that lay in them.", "In them", 0),
        optional_text(
            "state", ROAD.column("state").meaning, "State", choices=ROAD.columns[1].choices
        ),
        optional_text("carries", "Whether the fuel was to carry.", "Carries", choices=CARRIES),
        optional_number("spring_load_lb_ac", "Likely fuel in spring.", "Fuel in spring", 0),
        optional_text(
            "option",
            "What the first option came to.",
            "Option",
            choices=SEASON_OPTIONS.column("leads_to").choices,
        ),
        optional_text("option_taken", "Whether it was taken.", "Taken", choices=TAKEN),
        optional_text("done", "What the logs tell of the year.", "Done"),
        optional_number("burned_pct", "Share that burned.", "Burned", 0),
        optional_number("seeded_pct", "Share that was seeded.", "Seeded", 0),
        optional_count("grazed_days", "Days with animals.", "Grazed", 0),
        optional_number("grazed_aum", "Animal-unit months; empty where not told.", "Grazed", 1),
        Column(
            "rested",
            "flag",
            "Whether the log of the year tells of no work on it; empty where no log does.",
            "Rested",
            nullable=True,
        ),
        *(
            ROAD_YEARS.column(name)
            for name in ("pictured", "greenness", "greenness_gap", "references", "surveyed")
        ),
        optional_number("native_share_pct", "Native plants in the cover.", "Native", 0),
        optional_number("cool_exotic_share_pct", "Exotic cool-season grasses.", "Exotic", 0),
        optional_count("species_found", "Species on the transects.", "Species", 0),
        optional_date("fuel_on", "Day of the newest load of the year.", "Fuel on"),
        optional_number("fuel_lb_ac", "Dry load on that day.", "Fuel", 0),
        optional_count("seen_in", "Season of the run that looks back on it.", "Seen in"),
    ),
    key=("line", "year"),
)


LINES = Layer(
    "ground_lines",
    "MultiPolygon",
    "The ground that is followed through the years, with what the newest year tells of it.",
    (
        LINE,
        optional_text("name", "What people call it.", "Name"),
        SEASON,
        _acres("line_ac", "Its acres.", "Area"),
        optional_count("first_season", "First season that has most of it in one unit.", "Since"),
        Column("names", "text", "Names of the units that held most of it, oldest first.", "Names"),
        optional_count("burns", "Days with a burn on record.", "Burns", 0),
        UNIT_YEARS.column("state"),
        UNIT_YEARS.column("native_share_pct"),
    ),
    key=("line",),
)


LINE_RECORDS = Layer(
    "line_records",
    None,
    "Each record of the logs on each piece of ground, with the acres of it that lie there.",
    (
        LINE,
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        Column("unit_id", "text", "Unit as the log calls it.", "Unit"),
        Column("kind", "text", "What was done.", "Done", choices=KINDS),
        Column("start", "date", "First day.", "From"),
        Column("end", "date", "Last day that is told.", "To"),
        optional_number("record_ac", "Acres of the record.", "Recorded", 2),
        optional_number(
            "line_ac", "Acres of it on this ground, by its share of the outline.", "Here", 2
        ),
        Column("told_in", "integer", "Season of the run whose log tells it.", "Told in"),
    ),
    key=("line", "number"),
)


OPTION_YEARS = Layer(
    "option_years",
    None,
    "The options of each unit in each season, and whether what the later logs tell is one of them. "
    "An option is something to talk over, never an order.",
    (
        SEASON,
        Column("unit_id", "text", "Unit as it was called then.", "Unit"),
        SEASON_OPTIONS.column("rank"),
        SEASON_OPTIONS.column("leads_to"),
        SEASON_OPTIONS.column("suggestion"),
        Column("taken", "text", "Whether it was taken.", "Taken", choices=TAKEN),
    ),
    key=("season", "unit_id", "rank"),
)


TASK_YEARS = Layer(
    "task_years",
    None,
    "The tasks of each season, and whether what later runs have on record shows them done. Lines "
    "that were mown, orders and letters stand in no log.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        SEASON,
        Column("kind", "text", "What was to be done.", "Task", choices=TASK_KINDS),
        optional_text("place", "Unit, block or area.", "Place"),
        optional_date("due", "Day by which.", "Due"),
        Column(
            "outcome",
            "text",
            "What came of it.",
            "Outcome",
            choices=("done", "not_done", "untold"),
        ),
        optional_date("done_on", "First day that shows it.", "Done on"),
    ),
    key=("number",),
)


SPECIES_YEARS = Layer(
    "species_years",
    None,
    "Each species on each piece of ground by its newest survey of each year.",
    (
        LINE,
        PLANT_COVER.column("species"),
        Column("year", "integer", "Calendar year of the survey.", "Year"),
        PLANT_COVER.column("date"),
        PLANT_COVER.column("group"),
        PLANT_COVER.column("common_name"),
        PLANT_COVER.column("transects"),
        PLANT_COVER.column("cover_pct"),
        Column("seen_in", "integer", "Season of the run that tells it.", "Seen in"),
    ),
    key=("line", "species", "group", "year"),
)


NOTES = Layer(
    "notes",
    None,
    "What a person should look at before using the figures.",
    (
        Column("number", "integer", "Place in the list, from 1.", "Number"),
        optional_count("season", "Season of the run concerned.", "Season"),
        Column(
            "code",
            "text",
            "Cause.",
            "Cause",
            choices=(
                "season_missing",
                "record_withdrawn",
                "unit_unknown",
                "acres_unknown",
                "layers_lacking",
                "name_changed",
            ),
        ),
        optional_text("about", "Unit or layers concerned.", "About"),
        Column("note", "text", "What was found.", "What was found"),
    ),
    key=("number",),
)


LAYERS = {
    layer.name: layer
    for layer in (
        LINES,
        SEASONS,
        OUTCOME_ROWS,
        UNIT_YEARS,
        LINE_RECORDS,
        UNIT_CHANGES,
        OPTION_YEARS,
        TASK_YEARS,
        SPECIES_YEARS,
        NOTES,
    )
}
"""Every layer of ``years.gpkg`` by name."""
