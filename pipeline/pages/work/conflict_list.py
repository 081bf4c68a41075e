"""Conflicts on the first screen: what is planned, what stands against it, and who decides."""

from typing import Any

import pandas as pd

from pipeline.pages.maps.conflict_marks import conflict_icon
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import NOTHING, code_words, date_words, plain, rows, sentence
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WORK_WORDS, planned_words
from pipeline.work.layers import SERIOUSNESS

ROOM = 900
"""Letters of conflicts that stand open on the first screen; one stands there however long."""


ROOM_BELOW = 500
"""Letters more that lesser conflicts may take to stand open below them."""


NONE_FOUND = (
    "Nothing was found that stands against the planned work, in what was given. That allows "
    "nothing: permits, burn bans and the burn boss's own judgment stand above it."
)


ABOUT = {
    "stop_and_ask": "Not before somebody else has answered.",
    "think_again": "Likely to go wrong as it is planned.",
    "know": "Good to know on the day.",
}


def draw_conflicts(conflicts: pd.DataFrame) -> Markup:
    """The three kinds of conflict, the first on top and open as far as the screen has room."""
    by_kind = {s: rows(conflicts[conflicts["seriousness"] == s]) for s in SERIOUSNESS}
    stop, think, know = (by_kind[s] for s in SERIOUSNESS)
    fits = sum(map(_letters, stop + think)) <= ROOM + ROOM_BELOW
    return joined(
        (
            _stop_box(stop) if stop else "",
            _fold("think_again", think, opened=not stop or fits),
            _fold("know", know, opened=False),
            "" if len(conflicts) else tag("p", NONE_FOUND),
        )
    )


def _stop_box(stop: list[dict[str, Any]]) -> Markup:
    """The box of what must be asked first; what has no room in it is folded and named."""
    shown = _fitting(stop)
    heading = tag("h2", f"{SERIOUSNESS_WORDS['stop_and_ask']}: {len(stop)}")
    about = tag("p", ABOUT["stop_and_ask"], attributes={"class": "about"})
    rest = ""
    if folded := stop[shown:]:
        planned = dict.fromkeys(plain(planned_words(row)) for row in folded)
        words = f"{len(folded)} more to stop for: {_named(list(planned))}"
        summary = tag("summary", given(words))
        rest = tag("details", summary, _listed(folded), attributes={"data-print": True})
    attributes = {"class": "stop", "aria-label": "Stop and ask"}
    return tag("section", heading, about, _listed(stop[:shown]), rest, attributes=attributes)


MOST_NAMED = 4


def _named(planned: list[str]) -> str:
    """What is planned, the first few of it by name."""
    more = len(planned) - MOST_NAMED
    return "; ".join(planned[:MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")


def _fitting(conflicts: list[dict[str, Any]]) -> int:
    """How many conflicts have room on the first screen, one at the least."""
    letters = 0
    for shown, row in enumerate(conflicts):
        letters += _letters(row)
        if shown and letters > ROOM:
            return shown
    return len(conflicts)


def _letters(row: dict[str, Any]) -> int:
    """Letters that a conflict takes, with those of its days and headings."""
    return 60 + len(planned_words(row)) + len(row["against"]) + len(row["resolve"])


def _fold(seriousness: str, conflicts: list[dict[str, Any]], *, opened: bool) -> Markup:
    """Conflicts of a lesser kind, folded."""
    if not conflicts:
        return Markup("")
    shown = _fitting(conflicts)
    words = f"{SERIOUSNESS_WORDS[seriousness]}: {len(conflicts)}"
    about = tag("span", f" {ABOUT[seriousness]}", attributes={"class": "about"})
    summary = tag("summary", tag("b", words), about)
    inside = [_listed(conflicts[:shown] if opened else conflicts)]
    if opened and conflicts[shown:]:
        more = tag("summary", f"{len(conflicts) - shown} more")
        rest = _listed(conflicts[shown:])
        inside.append(tag("details", more, rest, attributes={"data-print": True}))
    attributes = {"class": "lesser", "open": opened, "data-print": True}
    return tag("details", summary, *inside, attributes=attributes)


def _listed(conflicts: list[dict[str, Any]]) -> Markup:
    return tag("ol", *map(_item, conflicts), attributes={"class": "against"})


def _item(row: dict[str, Any]) -> Markup:
    """One conflict with its mark: planned, against it, who decides, what would resolve it."""
    days = days_words(row)
    planned = tag("b", given(sentence(plain(planned_words(row)))))
    decides = tag("b", code_words(row["who_decides"]))
    ends = ("Who decides: ", decides, ". To resolve it: ", given(plain(row["resolve"])))
    body = tag(
        "div",
        tag("p", planned, f", {days}" if days else ""),
        tag("p", given(plain(row["against"]))),
        tag("p", *ends, attributes={"class": "ask"}),
    )
    return tag("li", conflict_icon(row["seriousness"], row["number"]), body)


def days_words(row: dict[str, Any]) -> str:
    """Days on which the work may fall, empty where none are known."""
    first, last = date_words(row["first_day"]), date_words(row["last_day"])
    if NOTHING in (first, last) or first == last:
        return next((day for day in (first, last) if day != NOTHING), "")
    return f"{first} to {last}"


def conflict_facts(
    conflicts: pd.DataFrame, planned_work: pd.DataFrame
) -> dict[str, list[tuple[str, str]]]:
    """For the card of each unit, what stands against the work planned on it.

    A conflict without a unit concerns every unit of its work.
    """
    units = planned_work.groupby("work_id")["unit_id"].agg(list).to_dict()
    facts: dict[str, list[tuple[str, str]]] = {}
    for row in rows(conflicts):
        named = units.get(row["work_id"], []) if pd.isna(row["unit_id"]) else [row["unit_id"]]
        term = f"{SERIOUSNESS_WORDS[row['seriousness']]} ({row['number']})"
        words = (
            f"{WORK_WORDS[row['kind']]}: {plain(row['against'])} "
            f"({code_words(row['who_decides'])} decides)"
        )
        for unit in named:
            facts.setdefault(unit, []).append((term, words))
    return facts
