"""Words of the season's work: what is planned, what stands against it, what there is to do."""

from typing import Any

import pandas as pd

from pipeline.pages.words import date_words, number_words, plain
from pipeline.work.layers import WINDOW_KINDS

SERIOUSNESS_WORDS = {
    "stop_and_ask": "Stop and ask",
    "think_again": "Think again",
    "know": "Know",
}
"""Headings of the three kinds of conflict."""


WORK_WORDS = {
    "burn": "burn",
    "seed": "seeding",
    "graze": "grazing",
    "rest": "rest",
    "mow": "mowing",
    "hay": "haying",
    "spray": "spraying",
    "till": "tillage",
}
"""What is planned, as a noun."""


def planned_words(row: dict[str, Any]) -> str:
    """What is planned, such as ``burn of block North, unit M1``, from a row of ``conflicts``."""
    places = place_words(row)
    kind = WORK_WORDS[row["kind"]]
    return f"{kind} of {places}" if places else kind


TASK_WORDS = {
    "ask_agency": "Ask the wildlife agency",
    "ask_contract_office": "Ask the contract office",
    "ask_permit": "Ask for the permit",
    "give_notice": "Give notice",
    "settle_conflict": "Settle what stands against it",
    "mow_breaks": "Mow the breaks",
    "prepare_line": "Make the line",
    "window_opens": "Fuel is cured from this day on",
    "window_closes": "Green growth dilutes the fuel after this day",
    "order_seed": "Order seed",
    "test_lot": "Have the lot tested again",
    "sow": "Sow",
    "stock_off": "Stock off",
    "stock_on": "Stock may come on",
    "mow": "Mow",
    "hay": "Hay",
    "spray": "Spray",
    "measure_fuel": "Measure the fuel",
    "look_again": "Look again",
    "take_photo": "Take the repeat photos",
}
"""What there is to do. None of them is a burn, and none of them reads as leave to light one."""


WINDOW_NOTE = "planning arithmetic from fuel and green-up, no permission to light anything"
"""What stands beside a day on which fuel is cured or green again."""


WHO_WORDS = {
    "burn_boss": "burn boss",
    "fire_authority": "fire authority",
    "wildlife_agency": "wildlife agency",
    "contract_office": "contract office",
    "landowner": "landowner",
    "seed_dealer": "seed dealer",
    "licensed_applicator": "licensed applicator",
    "specialist": "specialist",
    "crew": "crew",
}
"""Who does a task, or who is asked, told or decides."""


AMOUNT_WORDS = {
    "ft": ("ft", "ft"),
    "ac": ("ac", "ac"),
    "lb": ("lb", "lb"),
    "head": ("head", "head"),
    "lots": ("lot", "lots"),
    "places": ("place", "places"),
    "points": ("point", "points"),
}
"""What an amount counts, for one and for several."""


AMOUNT_PLACES = {"ac": 1, "lb": 1}
"""Decimals of an amount; none for what is counted or walked."""


def place_words(row: dict[str, Any]) -> str:
    """Block, area and unit of a task or conflict in words; empty where it names none."""
    return ", ".join(
        f"{name} {row[column]}"
        for column, name in (("block", "block"), ("area", "area"), ("unit_id", "unit"))
        if not pd.isna(row[column])
    )


def amount_words(row: dict[str, Any]) -> str:
    """Amount of a task with what it counts, such as ``8,580 ft``; empty where none is known."""
    if pd.isna(row["amount"]):
        return ""
    number = number_words(row["amount"], AMOUNT_PLACES.get(row["amount_unit"], 0))
    one, several = AMOUNT_WORDS[row["amount_unit"]]
    return f"{number} {one if number == '1' else several}"


def task_line(row: dict[str, Any]) -> str:
    """A task in one line, such as ``Mow the breaks: block North, 8,580 ft``."""
    about = "" if pd.isna(row["names"]) else plain(str(row["names"]))
    told = [words for words in (plain(place_words(row)), amount_words(row), about) if words]
    line = TASK_WORDS[row["kind"]]
    if row["kind"] in WINDOW_KINDS:
        line = f"{line} ({WINDOW_NOTE})"
    return f"{line}: {', '.join(told)}" if told else line


def task_days(row: dict[str, Any]) -> str:
    """Days of a task in words: ``by 2027-02-15``, ``2027-06-01 to 2027-06-10``, ``no day``."""
    first, due = row["first_day"], row["due"]
    if pd.isna(due):
        return "no day known" if pd.isna(first) else f"from {date_words(first)}"
    if row["kind"] in WINDOW_KINDS or first == due:
        days = date_words(due)
    elif pd.isna(first):
        days = f"by {date_words(due)}"
    else:
        days = f"{date_words(first)} to {date_words(due)}"
    return f"{days} (past)" if row["overdue"] else days
