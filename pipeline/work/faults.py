"""What is wrong with the table of conflict rules, told before anything is computed."""

from collections.abc import Iterator
from string import Formatter

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import listed, suggestion
from pipeline.work.codes import BOUNDED, CODES
from pipeline.work.layers import AGAINST_NAMES

WHERE = "[sources.conflict_rules]"
MOST_PLACES = 4
ROUNDED = ("figure", "bound")


def work_faults(conflict_rules: pd.DataFrame) -> list[Fault]:
    """Rules that are missing, have no bound where one is needed, or words that cannot be filled."""
    faults = []
    for code in CODES:
        if code not in set(conflict_rules["code"]):
            do = 'add it (seriousness "off" leaves it out), or name your table as extra'
            faults.append(Fault(WHERE, f"no row for {code}", "a row for each code", do))
    for rule in conflict_rules.to_dict("records"):
        where = f"{WHERE} {rule['code']}"
        if rule["code"] in BOUNDED and pd.isna(rule["bound"]):
            found, expected = "no bound", "the figure from which on it is a conflict"
            faults.append(Fault(where, found, expected, "write one"))
        faults += _word_faults(rule["against"], where)
    return faults


def _word_faults(against: str, where: str) -> Iterator[Fault]:
    """What of a rule's words cannot be filled in."""
    try:
        parts = list(Formatter().parse(against))
    except ValueError:
        expected = "names in braces, such as {figure} or {figure:2}"
        yield Fault(where, f'braces without a partner in "{against}"', expected, "mend the words")
        return
    for _, name, places, conversion in parts:
        if name is None:
            continue
        if name not in AGAINST_NAMES:
            expected = f"one of {listed(AGAINST_NAMES)}"
            yield Fault(where, f'unknown "{{{name}}}"', expected, suggestion(name, AGAINST_NAMES))
        elif conversion or (places and not _is_places(name, places)):
            written = "!".join(filter(None, (name, conversion)))
            found = f'"{{{":".join(filter(None, (written, places)))}}}"'
            expected = f"decimals of a figure from 0 to {MOST_PLACES}, such as {{figure:2}}"
            yield Fault(where, found, expected, "mend the words")


def _is_places(name: str, places: str) -> bool:
    """Whether what stands behind the colon is a number of decimals that the name can have."""
    is_digit = len(places) == 1 and places in "0123456789"
    return name in ROUNDED and is_digit and int(places) <= MOST_PLACES
