"""The first screen of the report: what stands against the season's work, and what is to be done."""

from collections.abc import Mapping

import pandas as pd

from pipeline.pages.cautions import CAUTION
from pipeline.pages.maps.work_map import draw_work_map
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import date_words, plain
from pipeline.pages.work.conflict_list import draw_conflicts
from pipeline.pages.work.task_list import draw_task_list, tasks_heading

Frames = Mapping[str, pd.DataFrame]


NOTHING_PLANNED = (
    "No burn, seeding or other work is planned for this season in what was given: name it under "
    "[[burns]] or [[seedings]], or in the log with days still to come."
)


def plan_day(frames: Frames, stamp: str) -> pd.Timestamp:
    """Day that the plan is looked at from: the property's own, or that of the newest source."""
    own = frames["property"]["as_of"].iloc[0]
    return pd.Timestamp(stamp[:10]) if pd.isna(own) else pd.Timestamp(own)


def draw_head(frames: Frames, as_of: pd.Timestamp) -> Markup:
    """Name, season and day of the plan, and the caution that holds for all that follows."""
    row = frames["property"].iloc[0]
    season = f"Season {row['season']}, as of {date_words(as_of)}"
    caution = (tag("b", CAUTION), " ", tag("a", "All cautions", attributes={"href": "#cautions"}))
    return tag(
        "header",
        tag(
            "div",
            tag("h1", given(plain(row["name"]))),
            tag("p", season, attributes={"class": "season"}),
            attributes={"class": "title"},
        ),
        tag("p", *caution, attributes={"class": "firstcaution"}),
    )


def draw_first_screen(frames: Frames, as_of: pd.Timestamp) -> Markup:
    """Conflicts, map and tasks beside each other; one line where nothing is planned."""
    conflicts, tasks = frames["conflicts"], frames["tasks"]
    if not any(len(frames[name]) for name in ("planned_work", "conflicts", "tasks")):
        return tag("p", NOTHING_PLANNED, attributes={"class": "about"})
    drawing = draw_work_map(frames)
    parts = [
        tag("div", draw_conflicts(conflicts), attributes={"class": "conflicts"}),
        tag("div", drawing, attributes={"class": "ground"}) if drawing else "",
        tag(
            "section",
            tag("h2", tasks_heading(tasks, as_of), attributes={"id": "todo-title"}),
            draw_task_list(tasks, as_of),
            attributes={"class": "tasks", "aria-labelledby": "todo-title"},
        ),
    ]
    return tag("div", joined(parts), attributes={"class": "first"})
