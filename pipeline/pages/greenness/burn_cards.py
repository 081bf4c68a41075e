"""A card for each burn: whether the fire did it, in words, in a chart, and in figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from pipeline.core.units import half_up
from pipeline.greenness.change_columns import CLEAR_VERDICTS
from pipeline.greenness.columns import parted_codes
from pipeline.pages.greenness.accounts import Account, named_in, pooled_account, unit_account
from pipeline.pages.greenness.burn_figures import chart_notes, left_figure, slopes_figure
from pipeline.pages.greenness.burn_lines import (
    NO_FIGURES,
    burn_days,
    burn_lines,
    left_out_references,
)
from pipeline.pages.greenness.burn_sentences import (
    burn_sentence,
    cause_nouns,
    differing_kinds,
    unjudged_sentence,
    whole_ground_sentence,
    within_sentence,
)
from pipeline.pages.greenness.burn_table import draw_figures
from pipeline.pages.greenness.interval_chart import Left
from pipeline.pages.greenness.slope_chart import MOST_NAMED
from pipeline.pages.greenness_words import (
    caution_words,
    greenness_settings,
    verdict_words,
    within_caution_words,
)
from pipeline.pages.markup import Markup, given, joined, tag
from pipeline.pages.words import sentence

Frames = Mapping[str, pd.DataFrame]
Row = Mapping[Any, Any]


ANSWERS = {
    "greener": "Likely, by all that is on record.",
    "less_green": "Likely, by all that is on record.",
    "within": "No sign of it.",
    "below_noise": "No sign of it.",
    "confounded": "Nobody can tell.",
    "no_interval": "Nobody can tell.",
    "cannot_judge": "Nobody can tell.",
    "seasonal": "Nobody can tell.",
}
"""Short answer to whether the fire did it, by the code of the verdict."""


ALL_TOGETHER = "together"
"""Name of the row of all burned units of a burn together."""


MOST_TOLD = 6
"""Burned units that are told in full; what is said of further ones is folded."""


ABOUT = (
    "Greenness is read from satellite pictures as an index, NDVI: low for bare soil and dead "
    "grass, high for dense green leaves, never above 1. Weather makes all ground greener or less "
    "green, so burned ground is held against ground that did not burn. A change speaks of "
    "greenness on two days; it is no measure of plants, and no proof of success."
)


@dataclass(frozen=True, slots=True)
class Burn:
    """One comparison: its name, its rows of ``greenness``, every layer, the settings as text."""

    name: str
    rows: pd.DataFrame
    frames: Frames
    settings: Mapping[str, str]

    @property
    def burned(self) -> list[Row]:
        """Rows of the burned units."""
        return list(self.rows[self.rows["role"] == "burned"].to_dict("records"))

    @property
    def log(self) -> pd.DataFrame:
        """The treatment log."""
        return self.frames["treatment_log"]

    def account(self, row: Row) -> Account:
        """What the change of one unit is made of."""
        return unit_account(row, self.rows[self.rows["role"] == "reference"])


@dataclass(frozen=True, slots=True)
class Together:
    """All burned units of a burn: their row of ``burn_effects``, their names, their account.

    ``uneven`` tells that more of one burned than of another.
    """

    row: Row
    units: list[str]
    account: Account
    uneven: bool


def draw_burn_cards(frames: Frames) -> Markup:
    """A card for each comparison, in the order of their names; nothing without any."""
    settings = greenness_settings(frames["settings"])
    by_name = frames["greenness"].groupby("comparison", sort=True)
    burns = [Burn(str(name), rows, frames, settings) for name, rows in by_name]
    cards = [_card(f"burn{n}", burn) for n, burn in enumerate(burns) if burn.burned]
    return joined([tag("p", ABOUT, attributes={"class": "about"}), *cards]) if cards else Markup("")


def _card(key: str, burn: Burn) -> Markup:
    """The card of one comparison: the answer, both charts beside each unit, and the figures."""
    name, rows, frames, pooled = burn.name, burn.rows, burn.frames, _together(burn)
    accounts = {str(row["unit_id"]): burn.account(row) for row in burn.burned}
    left_out = left_out_references(rows, burn.settings)
    days, lines = burn_lines(rows, frames["zone_scenes"], burn.log, left_out, burn.settings)
    charts = (
        slopes_figure(f"{key}-slopes", name, days, lines, burn_days(rows, burn.log)),
        chart_notes(rows, lines, left_out),
        left_figure(f"{key}-left", name, _lefts(burn, accounts, pooled)),
    )
    beside = (*_told_units(burn), _within(burn))
    numbers = {unit: n for n, unit in enumerate(frames["units"]["unit_id"])}
    pool = None if pooled is None else pooled.account
    return tag(
        "article",
        tag("h3", given(name), attributes={"id": f"{key}-name"}),
        _answer(burn, pooled),
        tag("div", tag("div", *charts), tag("div", *beside), attributes={"class": "burn"}),
        draw_figures(name, days, lines, accounts, pool, burn.settings, numbers),
        attributes={"class": "burncard", "aria-labelledby": f"{key}-name"},
    )


def _together(burn: Burn) -> Together | None:
    """What is known of all burned units of a comparison, None where it is only one."""
    effects, rows = burn.frames["burn_effects"], burn.rows
    found = effects[(effects["comparison"] == burn.name) & (effects["units"] > 1)]
    if found.empty:
        return None
    row = found.to_dict("records")[0]
    units = rows[named_in(row["unit_ids"], rows["unit_id"]) & (rows["role"] == "burned")]
    uneven = units["burned_pct"].map(lambda pct: half_up(pct, 0)).nunique() > 1
    return Together(row, list(units["unit_id"]), pooled_account(row, rows), uneven)


def _answer(burn: Burn, pooled: Together | None) -> Markup:
    """Whether the fire did it: of all units together, or of the only one that can be judged."""
    if pooled is not None:
        return _pooled_answer(burn, pooled)
    burned = burn.burned
    judged = [row for row in burned if row["verdict"] not in NO_FIGURES]
    if len(judged) > 1:
        return Markup("")
    row = judged[0] if judged else burned[0]
    only = "" if len(burned) == 1 or not judged else f"Only {row['unit_id']} can be judged."
    return _question(str(row["verdict"]), only)


def _pooled_answer(burn: Burn, pooled: Together) -> Markup:
    """The answer of all burned units together, with their sentence."""
    row, verdict = pooled.row, str(pooled.row["verdict"])
    counted = " (each counted by how much of it burned)" * pooled.uneven
    who = f"its {len(pooled.units)} burned units together{counted}"
    nouns = _nouns(row, pooled.units, burn)
    said = burn_sentence(pooled.account, verdict, nouns, who, several=True)
    whole = whole_ground_sentence(pooled.account)
    why = f"{sentence(verdict_words(row, burn.settings))}."
    return joined((_question(verdict, why), tag("p", f"{said} {whole}".strip())))


def _question(verdict: str, words: str) -> Markup:
    """The question, its short answer, and why."""
    short = tag("b", ANSWERS[verdict])
    return tag("p", "Did the fire do it? ", short, f" {words}".rstrip(), attributes=ANSWER)


ANSWER = {"class": "answer"}


def _nouns(row: Row, units: Sequence[str], burn: Burn) -> str:
    """What else may have made a change, in nouns."""
    ids = burn.rows["unit_id"]
    others = ids[named_in(row["references_handled_otherwise"], ids)]
    kinds = differing_kinds(row, units, others, burn.log)
    return cause_nouns(parted_codes(row["confounded_by"]), kinds)


def _told_units(burn: Burn) -> list[Markup]:
    """What is said of each burned unit; that of more than a few is folded."""
    told = [_unit(row, burn) for row in burn.burned]
    fold = tag("summary", f"{len(told) - MOST_TOLD} more burned units")
    more = tag("details", fold, *told[MOST_TOLD:], attributes={"data-print": True})
    return [*told[:MOST_TOLD], more] if len(told) > MOST_TOLD else told


def _unit(row: Row, burn: Burn) -> Markup:
    """What is said of one burned unit: verdict, sentence, and what to keep in mind."""
    verdict, words = str(row["verdict"]), verdict_words(row, burn.settings)
    account, lines = burn.account(row), [tag("h4", given(_name(row["unit_id"], burn)))]
    if verdict in NO_FIGURES:
        lines.append(tag("p", given(unjudged_sentence(row, account, words))))
    else:
        nouns = _nouns(row, [str(row["unit_id"])], burn)
        said = burn_sentence(account, verdict, nouns, "this unit", several=False)
        whole = whole_ground_sentence(account)
        lines.append(tag("p", f"{sentence(words)}.", attributes={"class": "verdict"}))
        lines.append(tag("p", f"{said} {whole}".strip()))
    caution = caution_words(row, burn.settings)
    about = tag("p", given(f"Keep in mind: {caution}."), attributes={"class": "about"})
    return joined([*lines, about] if caution else lines)


def _name(unit_id: object, burn: Burn) -> str:
    """Name of a unit with its longer one, where it has one."""
    names = burn.frames["units"].set_index("unit_id")["name"].dropna()
    return f"{unit_id}, {names[unit_id]}" if unit_id in names.index else f"{unit_id}"


def _within(burn: Burn) -> Markup:
    """Burned against unburned ground of one unit, where fire took a part of it."""
    rows = burn.frames["within_unit"]
    said = []
    for row in rows[rows["comparison"] == burn.name].to_dict("records"):
        caution = within_caution_words(row)
        more = given(f" Keep in mind: {caution}.") if caution else ""
        words = (tag("b", "Within ", given(row["unit_id"])), ": ", within_sentence(row), more)
        said.append(tag("p", *words))
    if not said:
        return Markup("")
    about = (
        "A second line of evidence, on the same soil and in the same weather: but fire stops "
        "where ground differs, as at a wet, bare or grazed place."
    )
    heading = tag("h4", "Where fire took a part of a unit")
    return joined((heading, *said, tag("p", about, attributes={"class": "about"})))


def _lefts(burn: Burn, accounts: Mapping[str, Account], pooled: Together | None) -> list[Left]:
    """Rows of the chart of what is left: the first burned units, and all together."""
    burned = burn.burned[:MOST_NAMED]
    found = [_left(str(r["unit_id"]), r, accounts[str(r["unit_id"])]) for r in burned]
    if pooled is None:
        return found
    return [*found, _left(ALL_TOGETHER, pooled.row, pooled.account, pooled=True)]


def _left(name: str, row: Row, account: Account, *, pooled: bool = False) -> Left:
    clear = row["verdict"] in CLEAR_VERDICTS
    return Left(name, account.left, account.low, account.high, clear, pooled)
