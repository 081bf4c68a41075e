"""The first and the last sheets of the packet: what to stop and ask for, tasks, other work."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.names import natural_key
from pipeline.pages.conflict_lines import stops
from pipeline.pages.packet.conflict_notes import (
    of_area,
    of_block,
    other_conflicts,
    told_conflicts,
)
from pipeline.pages.packet.packet_table import (
    ColumnWords,
    Filled,
    declared_words,
    name_words,
    words_table,
)
from pipeline.pages.season_words import option_rows
from pipeline.pages.words import rows
from pipeline.pages.work_words import (
    TASK_WORDS,
    WHO_WORDS,
    WINDOW_NOTE,
    amount_words,
    place_words,
    task_days,
)
from pipeline.season.options.layers import SEASON_OPTIONS
from pipeline.season.sheets import OPTIONS_TABLE
from pipeline.work.layers import BLOCK_CONFLICTS, SERIOUSNESS
from pipeline.work.tasks.task_rows import listed_in

Frames = Mapping[str, pd.DataFrame]

OTHER_WORK = "Other work of the season"


def season_page(frames: Frames) -> dict[str, Any] | None:
    """The first sheet; None where nothing stands against the plan and there is no task."""
    conflicts, tasks = frames["conflicts"], frames["tasks"]
    if not len(conflicts) and not len(tasks):
        return None
    return {
        **told_conflicts(stops(conflicts)),
        "counts": _counts(frames),
        "tasks": _tasks(tasks),
    }


def options_page(frames: Frames) -> dict[str, Filled] | None:
    """The sheet of the options for each unit, and their rules, each once; None without any."""
    options = option_rows(frames)
    if not len(options):
        return None
    options = options.assign(lost=[_lost_words(row) for row in rows(options)])
    columns = declared_words(OPTIONS_TABLE.declared, wide="suggestion")
    more: list[ColumnWords] = [
        ("Needs", "needs", "l", name_words),
        ("Ask first", "against", "l", name_words),
        ("Would lose", "lost", "l", name_words),
        ("Plan", "planned", "l", name_words),
    ]
    rule = SEASON_OPTIONS.column("rule")
    names = [*columns, *more, *declared_words([rule], wide="suggestion")]
    by_rule = [rule, *map(SEASON_OPTIONS.column, ("reason", "rules_out", "source"))]
    rules = options.drop_duplicates("rule").sort_values("rule")
    return {
        "options": words_table(options, names, wide="suggestion"),
        "rules": words_table(rules, declared_words(by_rule, wide="reason"), wide="reason"),
    }


def _lost_words(option: dict[str, Any]) -> str | None:
    """What is known to be lost on the unit: feed of the herd, natives where weeds are sprayed."""
    natives, feed = option["would_lose"], option["feed"]
    told = [] if pd.isna(feed) else [str(feed)]
    told += [] if pd.isna(natives) else [f"to spray, in the patches: {natives}"]
    return "; ".join(told) or None


def other_page(frames: Frames) -> dict[str, Any] | None:
    """The sheet of what belongs to no block and no area; None where there is none."""
    conflicts = other_conflicts(frames)
    return {"name": OTHER_WORK, **told_conflicts(conflicts)} if len(conflicts) else None


def _counts(frames: Frames) -> Filled:
    """Conflicts of each sheet by kind, and their sum: what comes in is what is shown."""
    conflicts = frames["conflicts"]
    blocks = sorted(frames["burn_blocks"]["block"], key=natural_key)
    areas = sorted(frames["seed_areas"]["area"], key=natural_key)
    sheets = [
        *((f"Burn block {block}", of_block(conflicts, block)) for block in blocks),
        *((f"Seeding area {area}", of_area(conflicts, area)) for area in areas),
        (OTHER_WORK, other_conflicts(frames)),
    ]
    told = [
        {"sheet": name, **{kind: int((of_it["seriousness"] == kind).sum()) for kind in SERIOUSNESS}}
        for name, of_it in sheets
    ]
    kinds = declared_words(map(BLOCK_CONFLICTS.column, SERIOUSNESS), wide="sheet")
    sheet: ColumnWords = ("Sheet", "sheet", "l", name_words)
    frame = pd.DataFrame(told, columns=["sheet", *SERIOUSNESS])
    return words_table(frame, [sheet, *kinds], wide="sheet", totals=SERIOUSNESS)


WINDOW_KINDS = ("window_opens", "window_closes")


TASK_COLUMNS = (
    ("No.", "number", "r"),
    ("By", "days", "l"),
    ("What to do", "what", "l"),
    ("Where", "where", "l"),
    ("How much", "amount", "r"),
    ("Who", "who", "l"),
    ("Waits for", "waits", "l"),
)


def _tasks(tasks: pd.DataFrame) -> Filled:
    """The season as a dated list; a task waits for those whose numbers are told."""
    numbers = dict(zip(tasks["task_id"], tasks["number"].map(str), strict=True))
    told = [
        {
            "number": numbers[row["task_id"]],
            "days": task_days(row),
            "what": _what(row),
            "where": place_words(row),
            "amount": amount_words(row),
            "who": WHO_WORDS[row["who"]],
            "waits": _waits(row["waits_for"], numbers),
        }
        for row in rows(tasks)
    ]
    names = [name for _, name, _ in TASK_COLUMNS]
    columns: list[ColumnWords] = [(*column, name_words) for column in TASK_COLUMNS]
    frame = pd.DataFrame(told, columns=names, dtype=object)
    return words_table(frame, columns, wide="what", boxes=("Done",))


def _what(row: dict[str, Any]) -> str:
    """What to do and what it is about; a day of the fuel window never stands without its note."""
    about = "" if pd.isna(row["names"]) else f": {row['names']}"
    note = f" ({WINDOW_NOTE})" if row["kind"] in WINDOW_KINDS else ""
    return f"{TASK_WORDS[row['kind']]}{about}{note}"


def _waits(waits_for: Any, numbers: Mapping[str, str]) -> str:
    """Numbers of the tasks that come first."""
    return ", ".join(sorted((numbers[name] for name in listed_in(waits_for)), key=int))
