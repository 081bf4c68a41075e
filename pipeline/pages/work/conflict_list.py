"""Conflicts on the first screen: what is planned, what stands against it, and who decides."""

from typing import Any

import pandas as pd

from pipeline.core.names import listed
from pipeline.pages.maps.conflict_marks import conflict_icon
from pipeline.pages.markup import Markup, escaped, given, joined, tag
from pipeline.pages.packing import fold, packed_fold
from pipeline.pages.words import NOTHING, code_words, date_words, plain, rows, sentence
from pipeline.pages.work_words import SERIOUSNESS_WORDS, WORK_WORDS, planned_words
from pipeline.work.layers import SERIOUSNESS

Row = dict[str, Any]


ROOM = 900
"""Letters of conflicts that stand open on the first screen; one stands there however long."""


ROOM_BELOW = 500
"""Letters more that lesser conflicts may take to stand open below them."""


NONE_FOUND = (
    "Nothing was found that stands against the planned work, in what was given. That allows "
    "nothing: permits, burn bans and the burn boss's own judgment stand above it."
)


ABOUT = "Not before somebody else has answered."


def draw_conflicts(conflicts: pd.DataFrame) -> Markup:
    """The three kinds of conflict, the first on top and open as far as the screen has room."""
    by_kind = {s: rows(conflicts[conflicts["seriousness"] == s]) for s in SERIOUSNESS}
    stop, think, know = (by_kind[s] for s in SERIOUSNESS)
    fits = sum(map(_letters, alike(stop + think))) <= ROOM + ROOM_BELOW
    return joined(
        (
            _stop_box(stop) if stop else "",
            _fold("think_again", think, opened=not stop or fits),
            _fold("know", know, opened=False),
            "" if len(conflicts) else tag("p", NONE_FOUND),
        )
    )


def _stop_box(stop: list[Row]) -> Markup:
    """The box of what must be asked first; what has no room in it is folded and named."""
    groups = alike(stop)
    shown = _fitting(groups)
    heading = tag("h2", f"{SERIOUSNESS_WORDS['stop_and_ask']}: {len(stop)}")
    about = tag("p", ABOUT, attributes={"class": "about"})
    folded = [row for group in groups[shown:] for row in group]
    rest = ""
    if folded:
        summary = tag("summary", f"{len(folded)} more to stop for: ", given(counted(folded)))
        rest = tag("details", summary, _listed(groups[shown:]), attributes={"data-print": True})
    attributes = {"class": "stop", "aria-label": "Stop and ask"}
    return tag("section", heading, about, _listed(groups[:shown]), rest, attributes=attributes)


def alike(conflicts: list[Row]) -> list[list[Row]]:
    """Conflicts that are told in the same words together, in the order of the first of them."""
    groups: dict[tuple[object, ...], list[Row]] = {}
    for row in conflicts:
        groups.setdefault(tuple(row[name] for name in TOLD_ALIKE), []).append(row)
    return list(groups.values())


TOLD_ALIKE = ("seriousness", "kind", "against", "who_decides", "resolve")


MOST_LISTED = 40
"""Conflicts of a lesser kind that are laid out in their fold before it is opened."""


MOST_NAMED = 4


def counted(conflicts: list[Row]) -> str:
    """Pieces of work that conflicts concern, the first few by name, with how many each has."""
    work = [_work_words(row) for row in conflicts]
    named = dict.fromkeys(work)
    told = [f"{words} ({work.count(words)})" for words in list(named)[:MOST_NAMED]]
    more = len(named) - MOST_NAMED
    return "; ".join(told) + (f"; and {more} more" if more > 0 else "")


def _work_words(row: Row) -> str:
    """Piece of work that a conflict concerns: its block or area, or its unit where it has none."""
    whole = pd.notna(row["block"]) or pd.notna(row["area"])
    return plain(planned_words({**row, "unit_id": None} if whole else row))


def _fitting(groups: list[list[Row]]) -> int:
    """How many groups of conflicts have room on the first screen, one at the least."""
    letters = 0
    for shown, group in enumerate(groups):
        letters += _letters(group)
        if shown and letters > ROOM:
            return shown
    return len(groups)


def _letters(group: list[Row]) -> int:
    """Letters that conflicts told together take, with those of their days and headings."""
    heads = sum(30 + len(planned_words(row)) for row in group[:MOST_ALIKE])
    return 40 + heads + len(group[0]["against"]) + len(group[0]["resolve"])


def _fold(seriousness: str, conflicts: list[Row], *, opened: bool) -> Markup:
    """Conflicts of a lesser kind, folded, on paper too: the table of conflicts has them.

    The fold says which work they concern.
    """
    if not conflicts:
        return Markup("")
    groups = alike(conflicts)
    shown = _fitting(groups) if opened else len(groups)
    words = tag("b", f"{SERIOUSNESS_WORDS[seriousness]}: {len(conflicts)}")
    about = tag("span", ". ", given(sentence(counted(conflicts))), attributes={"class": "about"})
    inside = [_listed(groups[:shown])]
    if groups[shown:]:
        more = tag("summary", f"{sum(map(len, groups[shown:]))} more")
        rest = _listed(groups[shown:])
        inside.append(tag("details", more, rest))
    attributes = {"class": "lesser", "open": opened}
    if not opened and len(conflicts) > MOST_LISTED:
        return packed_fold(joined((words, about)), joined(inside), attributes)
    return fold(joined((words, about)), joined(inside), attributes)


def _listed(groups: list[list[Row]]) -> Markup:
    return tag("ol", *map(_item, groups), attributes={"class": "against"})


def _item(group: list[Row]) -> Markup:
    """Conflicts told in the same words: planned, against it, who decides, what would resolve it."""
    first = group[0]
    decides = tag("b", code_words(first["who_decides"]))
    ends = ("Who decides: ", decides, ". To resolve it: ", given(plain(first["resolve"])), ".")
    shown, rest = group[:MOST_ALIKE], group[MOST_ALIKE:]
    icons = [conflict_icon(row["seriousness"], row["number"]) for row in shown]
    body = tag(
        "div",
        *map(_planned, shown),
        _others(rest) if rest else "",
        tag("p", given(sentence(plain(first["against"]))), "."),
        tag("p", *ends, attributes={"class": "ask"}),
    )
    return tag("li", tag("div", *icons), body)


MOST_ALIKE = 4
"""Conflicts told in the same words that are named before the others are folded."""


def _others(conflicts: list[Row]) -> Markup:
    """Further conflicts told in the same words, with their numbers."""
    lines = (
        tag("li", f"{row['number']}: ", given(plain(planned_words(row))), f", {days_words(row)}")
        for row in conflicts
    )
    return fold(
        escaped(f"The same for {len(conflicts)} more"),
        tag("ul", *lines, attributes={"class": "alike"}),
        {"data-print": True},
    )


def _planned(row: Row) -> Markup:
    """What is planned, and the days on which it may fall."""
    days = days_words(row)
    return tag(
        "p", tag("b", given(sentence(plain(planned_words(row))))), f", {days}" if days else ""
    )


def days_words(row: Row) -> str:
    """Days on which the work may fall, empty where none are known."""
    first, last = date_words(row["first_day"]), date_words(row["last_day"])
    if NOTHING in (first, last) or first == last:
        return next((day for day in (first, last) if day != NOTHING), "")
    return f"{first} to {last}"


def conflict_facts(
    conflicts: pd.DataFrame, planned_work: pd.DataFrame
) -> dict[str, list[tuple[str, str]]]:
    """For the card of each unit, what stands against the work planned on it.

    A conflict without a unit concerns every unit of its work. What is good to know is only
    counted: the table of conflicts has it.
    """
    units = planned_work.groupby("work_id")["unit_id"].agg(list).to_dict()
    of_unit: dict[str, list[Row]] = {}
    for row in rows(conflicts):
        named = units.get(row["work_id"], []) if pd.isna(row["unit_id"]) else [row["unit_id"]]
        for unit in named:
            of_unit.setdefault(unit, []).append(row)
    return {unit: _facts(of_this) for unit, of_this in of_unit.items()}


def _facts(conflicts: list[Row]) -> list[tuple[str, str]]:
    """Conflicts of one unit as terms and words of its card."""
    facts = [
        (
            f"{SERIOUSNESS_WORDS[row['seriousness']]} ({row['number']})",
            f"{WORK_WORDS[row['kind']]}: {plain(row['against'])} "
            f"({code_words(row['who_decides'])} decides)",
        )
        for row in conflicts
        if row["seriousness"] != "know"
    ]
    if known := [str(row["number"]) for row in conflicts if row["seriousness"] == "know"]:
        facts.append((SERIOUSNESS_WORDS["know"], f"conflicts {listed(known, 8)}, see the table"))
    return facts
