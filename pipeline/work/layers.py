"""The layers of the season's work: what is planned, what stands against it, tasks and costs."""

from dataclasses import replace

from pipeline.core.layer import (
    Column,
    Layer,
    optional_count,
    optional_date,
    optional_number,
    optional_text,
)
from pipeline.core.layers import UNIT_ID, findings_layer
from pipeline.work.causes import CAUSES
from pipeline.work.codes import (
    CODES,
    FIRE_CODES,
    SEED_CODES,
    STOCK_CODES,
    UNIT_CODES,
    WORK_KINDS,
)

SERIOUSNESS = ("stop_and_ask", "think_again", "know")
"""How serious a conflict is, the most serious first."""


DECIDERS = (
    "burn_boss",
    "fire_authority",
    "wildlife_agency",
    "contract_office",
    "landowner",
    "seed_dealer",
    "licensed_applicator",
    "specialist",
)
"""Who has the word on a conflict or task; the tool never has it."""


TASK_KINDS = (
    "ask_agency",
    "ask_contract_office",
    "ask_permit",
    "give_notice",
    "settle_conflict",
    "mow_breaks",
    "prepare_line",
    "window_opens",
    "window_closes",
    "order_seed",
    "test_lot",
    "sow",
    "stock_off",
    "stock_on",
    "mow",
    "hay",
    "spray",
    "cut",
    "drag",
    "move",
    "measure_fuel",
    "look_again",
    "take_photo",
)
"""What there is to do in a season. No task is a burn: the day decides, and those who hold it."""


WINDOW_KINDS = ("window_opens", "window_closes")
"""Days of the fuel that nobody does anything on: one that passed is no task left undone."""


AMOUNT_UNITS = ("ft", "ac", "lb", "head", "lots", "places", "points")
"""What the amount of a task counts."""


WORK_ID = Column("work_id", "text", "Piece of planned work, such as burn:North.", "Work")


WORK_KIND = Column("kind", "text", "What is planned.", "Planned", choices=WORK_KINDS)


_UNIT = replace(UNIT_ID, nullable=True)


_BLOCK = optional_text("block", "Burn block, where the work is a burn.", "Block")


_AREA = optional_text("area", "Seeding area, where the work is a seeding.", "Area")


_FIRST_DAY = optional_date("first_day", "First day that it may fall on.", "From")


_LAST_DAY = optional_date("last_day", "Last day that it may fall on.", "To")


PLANNED_WORK = Layer(
    "planned_work",
    "MultiPolygon",
    "What is planned for the season, unit by unit: burns and seedings of the property file, and "
    "what the log tells of days still to come. No plan here is a permission to light anything.",
    (
        WORK_ID,
        UNIT_ID,
        WORK_KIND,
        _BLOCK,
        _AREA,
        _FIRST_DAY,
        _LAST_DAY,
        Column(
            "days_from",
            "text",
            "Where the days come from.",
            "Days from",
            choices=("property_file", "fuel_window", "log", "none"),
        ),
        optional_number(
            "work_ac",
            "Acres of the unit that it concerns; of a burn that was begun, those left.",
            "Acres",
            1,
        ),
        optional_number(
            "wind_from_deg", "Direction the planned wind comes from.", "Wind from", 0, highest=360
        ),
        optional_number("head", "Animals.", "Animals", 0, dimensionless=True),
        optional_text("mix", "Mix that is sown.", "Mix"),
        optional_text("method", "How it is sown.", "Method"),
    ),
    key=("work_id", "unit_id"),
)


PLANNED_FINDINGS = findings_layer("planned_findings", CAUSES)


def _code(choices: tuple[str, ...]) -> Column:
    meaning = "What stands against the work: a row of the conflict rules."
    return Column("code", "text", meaning, "Rule", choices=choices)


def _clashes(name: str, codes: tuple[str, ...]) -> Layer:
    """Internal layer of what one subject knows that stands against planned work."""
    return Layer(
        name,
        "Geometry",
        "What of one subject stands against planned work, before the rules judge it.",
        (
            _code(codes),
            WORK_ID,
            replace(
                _UNIT, meaning="Unit that it concerns; empty where it concerns all of the work."
            ),
            Column("number", "integer", "Number of the clash of this code, work and unit, from 1."),
            optional_number("figure", "Figure found.", lowest=-1e12, dimensionless=True),
            optional_number(
                "bound", "Figure it is held against.", lowest=-1e12, dimensionless=True
            ),
            optional_date("day", "Day found."),
            optional_date("bound_day", "Day it is held against."),
            optional_number(
                "bearing_deg", "Direction of the place from the ground of the work.", highest=360
            ),
            optional_text("names", "Places, units, lots or species that it is about."),
        ),
        key=("code", "work_id", "unit_id", "number"),
        internal=True,
    )


FIRE_CLASHES = _clashes("fire_clashes", FIRE_CODES)
UNIT_CLASHES = _clashes("unit_clashes", UNIT_CODES)
STOCK_CLASHES = _clashes("stock_clashes", STOCK_CODES)
SEED_CLASHES = _clashes("seed_clashes", SEED_CODES)


AGAINST_NAMES = ("figure", "bound", "day", "bound_day", "bearing", "names", "unit")
"""What a rule's words may have filled in; a figure is rounded to the places told: {figure:2}."""


CONFLICT_RULES = Layer(
    "conflict_rules",
    None,
    "How serious each kind of conflict is, who decides, and what would resolve it.",
    (
        _code(CODES),
        Column(
            "seriousness",
            "text",
            "How serious it is; off leaves it out.",
            choices=(*SERIOUSNESS, "off"),
        ),
        optional_number("bound", "Figure that it is held against.", dimensionless=True),
        Column(
            "against",
            "text",
            "What stands against the work; {figure}, {bound}, {day}, {bound_day}, {bearing}, "
            "{names}, {unit} are filled in, figures to the decimals told, such as {figure:2}.",
        ),
        Column("who_decides", "text", "Who decides.", choices=DECIDERS),
        Column("resolve", "text", "What would resolve it."),
        Column("source", "text", "Published source, or its standing."),
    ),
    key=("code",),
    internal=True,
)


CONFLICTS = Layer(
    "conflicts",
    "Geometry",
    "Planned work held against all that is known, the most serious first. What it does not list "
    "is not thereby allowed: permits, burn bans and the burn boss's own judgment stand above it.",
    (
        Column("number", "integer", "Rank, from 1: the most serious first.", "Number"),
        Column("seriousness", "text", "How serious it is.", "Weight", choices=SERIOUSNESS),
        _code(CODES),
        WORK_ID,
        WORK_KIND,
        replace(_UNIT, meaning="Unit that it concerns; empty where it concerns all of the work."),
        _BLOCK,
        _AREA,
        _FIRST_DAY,
        _LAST_DAY,
        Column("against", "text", "What stands against it.", "What stands against it"),
        Column("who_decides", "text", "Who decides.", "Who decides", choices=DECIDERS),
        Column("resolve", "text", "What would resolve it.", "What would resolve it"),
        optional_number("figure", "Figure found.", "Found", 1, lowest=-1e12, dimensionless=True),
        optional_number(
            "bound",
            "Figure it is held against.",
            "Held against",
            1,
            lowest=-1e12,
            dimensionless=True,
        ),
        Column("source", "text", "Source of the rule.", "Source"),
    ),
    key=("number",),
    always=True,
)


BLOCK_CONFLICTS = Layer(
    "block_conflicts",
    None,
    "Conflicts of each burn block by kind, to be joined to burn_blocks by the name of the block. "
    "A block without any is not thereby allowed: see conflicts.",
    (
        Column("block", "text", "Burn block.", "Block"),
        Column("stop_and_ask", "integer", "Conflicts to stop and ask for.", "Stop and ask", 0),
        Column("think_again", "integer", "Conflicts to think about again.", "Think again", 0),
        Column("know", "integer", "Conflicts to know of.", "Know", 0),
    ),
    key=("block",),
)


OPTION_CONFLICTS = Layer(
    "option_conflicts",
    None,
    "Options that are planned, each with the conflicts of the work that carries it out, to be "
    "joined to season_options by unit and rank.",
    (
        UNIT_ID,
        Column("rank", "integer", "Place of the option on its unit.", "Option"),
        WORK_ID,
        optional_count("number", "Number of the conflict; empty: none was found.", "Conflict", 0),
        optional_text("seriousness", "How serious it is.", "Seriousness", choices=SERIOUSNESS),
    ),
    key=("unit_id", "rank", "work_id", "number"),
)


TASK_ID = Column("task_id", "text", "Name of the task, the same in each run.", "Task")


TASK_KIND = Column("kind", "text", "What to do.", "To do", choices=TASK_KINDS)


TASK_DAYS = (
    optional_date("first_day", "First day it can be done.", "From"),
    optional_date("due", "Day it is to be done by.", "By"),
    optional_date("due_low", "The same with less fuel and more exotics.", "By, less fuel"),
    optional_date("due_high", "The same with more fuel and fewer exotics.", "By, more fuel"),
)


TASK_AMOUNTS = (
    optional_number("amount", "How much.", "Amount", 1, dimensionless=True),
    optional_text("amount_unit", "What the amount counts.", "Of", choices=AMOUNT_UNITS),
    optional_number("work_hours", "Hours of work.", "Time", 1),
    optional_number("work_ac", "Acres of it.", "Acres", 1),
    optional_number("length_ft", "Length of line.", "Length", 0),
    optional_number("seed_lb", "Pounds of seed to be bought, as weighed.", "Seed", 1),
)


TASK_WORDING = (
    optional_text("names", "Lots, species, places or animals that it is about.", "About"),
    optional_text("waits_for", "Tasks that come first, by name, a comma between.", "Waits for"),
    Column(
        "who",
        "text",
        "Who does it, or who is asked, told or decides.",
        "Who",
        choices=(*DECIDERS, "crew"),
    ),
    optional_text("source", "What the day or the amount rests on.", "Rests on"),
)


_WITHOUT_PRICE = optional_text(
    "without_price", "Settings and columns of prices that were not given.", "Price not given"
)


def _task_rows(name: str, what: str) -> Layer:
    """Internal layer of the tasks of one kind of work, before they are put in order and priced."""
    return Layer(
        name,
        "Geometry",
        f"Tasks of {what}, before they are put in order and priced.",
        (
            TASK_ID,
            TASK_KIND,
            _UNIT,
            _BLOCK,
            _AREA,
            *TASK_DAYS,
            *TASK_AMOUNTS,
            optional_number("bought_usd", "Dollars of what is bought, where it is known."),
            optional_text("price", "Setting of the price that it is paid by."),
            optional_number("price_times", "What that price is multiplied by.", dimensionless=True),
            *TASK_WORDING,
            optional_text("serves", "Keys of the planned work that it prepares or is."),
        ),
        key=("task_id",),
        internal=True,
    )


BURN_TASKS = _task_rows("burn_tasks", "burns")
SEED_TASKS = _task_rows("seed_tasks", "seedings")
GROUND_TASKS = _task_rows("ground_tasks", "stock, mowing, haying and spraying")
ASKING_TASKS = _task_rows("asking_tasks", "asking those who have the word")
PHOTO_TASKS = _task_rows("photo_tasks", "photo points that are due")


TASKS = Layer(
    "tasks",
    "Geometry",
    "The season as a dated list: what to do by when, where, how much, and what it waits for. A "
    "day here is planning arithmetic and no permission to light anything.",
    (
        Column("number", "integer", "Place in the list, from 1: by day, task and place.", "Number"),
        TASK_ID,
        TASK_KIND,
        _UNIT,
        _BLOCK,
        _AREA,
        *TASK_DAYS,
        Column(
            "overdue",
            "flag",
            "Whether the day it is due lies before the day the plan is looked at from; the days of "
            "a window are never overdue.",
            "Overdue",
        ),
        *TASK_AMOUNTS,
        optional_number("cost_usd", "What it costs, as far as prices are known.", "Cost", 0),
        _WITHOUT_PRICE,
        *TASK_WORDING,
    ),
    key=("number",),
)


SEASON_COSTS = Layer(
    "season_costs",
    None,
    "Hours, acres, pounds and dollars of the season by task and unit; no row is a total, and work "
    "that two blocks share stands once. Dollars come from the user's own prices alone; what has "
    "none is told.",
    (
        Column("number", "integer", "Place in the list, from 1: by task and place.", "Number"),
        Column("kind", "text", "What is done.", "Task", choices=TASK_KINDS),
        Column("place", "text", "Unit, block or seeding area.", "Place"),
        optional_number("work_hours", "Hours of work.", "Time", 1),
        optional_number("work_ac", "Acres.", "Acres", 1),
        optional_number("length_ft", "Length of line.", "Length", 0),
        optional_number("seed_lb", "Pounds of seed to be bought, as weighed.", "Seed", 1),
        optional_number("cost_usd", "Dollars, as far as prices are known.", "Cost", 0),
        Column("priced", "flag", "Whether all of it has a price.", "All priced"),
        _WITHOUT_PRICE,
    ),
    key=("number",),
)
