"""Did the fire do it, in a sentence: made of codes and figures, for who never heard of NDVI."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

import pandas as pd

from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.log.treatment_log import YEAR, treatments_of, within
from pipeline.pages.greenness.accounts import Account, printed
from pipeline.pages.words import date_words, sentence

Row = Mapping[Any, Any]


HANDLED_OTHERWISE = "handled_otherwise"


CAUSE_NOUNS = {
    HANDLED_OTHERWISE: "grazing, cutting, spraying or sowing",
    "other_cover": "what grows there",
    "burned_before": "an earlier burn",
    "start_differs": "where it began",
    "size_differs": "its size",
    "year_differs": "how its ground answers to such a year",
    "place_differs": "rain, which may fall otherwise where it lies",
    "other_sensor": "the sensors of the two pictures",
    "composite": "pictures made of several days",
    "share_unknown": "how much of it burned, which is not known",
}
"""What else than the fire may have made a change, by its code, as it is named in a sentence."""


HANDLING_NOUNS = {
    "burn": "burning",
    "graze": "grazing",
    "mow": "mowing",
    "hay": "haying",
    "spray": "spraying",
    "seed": "seeding",
    "till": "tillage",
    "cut": "cutting",
    "drag": "dragging",
    "harvest": "seed harvest",
}
"""Kinds of work of the log, as what may have made a change."""


def cause_nouns(codes: Iterable[str], kinds: Iterable[str]) -> str:
    """What else differed; ``kinds`` of work stand for the code of another handling."""
    nouns: list[str] = []
    for code in codes:
        work = (
            [HANDLING_NOUNS.get(kind, kind) for kind in kinds] if code == HANDLED_OTHERWISE else []
        )
        nouns += work or [CAUSE_NOUNS.get(code, code)]
    return listed(nouns) if nouns else ""


def differing_kinds(
    row: Row, burned: Iterable[str], others: Iterable[str], treatment_log: pd.DataFrame
) -> list[str]:
    """Kinds of work that only the burned units or only some of the others had, in each year.

    From a year before the first picture to the second. Where they had the same kinds in the same
    years, at other times of them, all kinds that there are.
    """
    events = within(treatments_of(treatment_log), row["before"] - YEAR, row["after"])
    events = events[events["kind"] != "burn"]
    ways: dict[str, set[tuple[int, str]]] = {}
    for work in events.itertuples():
        years = range(work.start.year, work.end.year + 1)
        ways.setdefault(str(work.unit_id), set()).update((year, str(work.kind)) for year in years)
    pairs = [(ways.get(a, set()), ways.get(b, set())) for a in burned for b in others]
    unlike = {kind for own, other in pairs for _, kind in own ^ other}
    either = {kind for own, other in pairs for _, kind in own | other}
    return sorted(unlike or either)


def moved(change: Decimal) -> str:
    """A change of greenness as what the ground did: rose by 0.07."""
    if change == 0:
        return "stayed as it was"
    return f"{'rose' if change > 0 else 'fell'} by {abs(change)}"


def _would_have(change: Decimal) -> str:
    """The same of what was to be expected."""
    if change == 0:
        return "stayed as it was"
    return f"{'risen' if change > 0 else 'fallen'} by {abs(change)}"


def _apart(difference: Decimal) -> str:
    """A difference with its side: 0.07 more, 0.02 less; nothing has no side."""
    side = "" if difference == 0 else " more" if difference > 0 else " less"
    return f"{abs(difference)}{side}"


def difference_words(left: Decimal, low: Decimal | None, high: Decimal | None) -> str:
    """What is left with its interval; the side is said once where all lies on one."""
    if low is None or high is None:
        return _apart(left)
    near, far = (low, high) if abs(low) <= abs(high) else (high, low)
    if low * high > 0:
        return f"{_apart(left)} ({abs(near)} to {abs(far)})"
    return f"{_apart(left)} ({_apart(low)} to {_apart(high)})"


def burn_sentence(account: Account, verdict: str, nouns: str, who: str, *, several: bool) -> str:
    """The sentence of a burned unit, or of several together (``who``), that has figures.

    ``nouns`` are what else may have made the change, empty for nothing on record.
    """
    figures = printed(account)
    if figures.unburned is None or figures.change is None or figures.left is None:
        return ""
    expected = figures.change - figures.left
    ground = sentence(f"unburned ground {moved(figures.unburned)}")
    left = difference_words(figures.left, figures.low, figures.high)
    end = f"{left} {_left_for(verdict, nouns)}."
    if expected != figures.unburned:
        they = "they" if several else "it"
        would = f"from where {they} stood before, would have {_would_have(expected)} unburned"
        return f"{ground}, and {who}, {would}; {they} {moved(figures.change)}; {end}"
    same = figures.unburned * figures.change > 0
    did = f"by {abs(figures.change)}" if same else moved(figures.change)
    return f"{ground}; {who} {did}; {end}"


def _left_for(verdict: str, nouns: str) -> str:
    """What is said of what is left."""
    if verdict == "confounded":
        return f"is left for the fire and whatever else differed: {nouns or 'not told'}"
    return LEFT_WORDS[verdict]


LEFT_WORDS = {
    "greener": "is left for the fire and whatever differed that nobody wrote down",
    "less_green": "is left for the fire and whatever differed that nobody wrote down",
    "within": "is left, and unburned ground differs as much without any fire",
    "below_noise": "is left, and the noise of the pictures makes as much",
    "no_interval": "is left, and too few unburned units are there to tell how sure that is",
}
"""What is said of what is left, by the code of the verdict; the others have no figure left."""


def whole_ground_sentence(account: Account) -> str:
    """What is left as it would be if all of the ground had burned; nothing where nearly all did."""
    share = half_up(100.0 * account.dose, 0)
    if share >= 100:
        return ""
    dose = account.dose
    parts = (account.left / dose, account.low / dose, account.high / dose)
    whole = Account(account.unburned, account.change, *parts, 1.0)
    figures = printed(whole)
    if figures.left is None:
        return ""
    words = difference_words(figures.left, figures.low, figures.high)
    return f"About {share} percent burned: on ground that burned whole that comes to {words}."


def unjudged_sentence(row: Row, account: Account, why: str) -> str:
    """The sentence of a unit whose change cannot be put against unburned ground."""
    change = printed(account).change
    if change is None:
        return f"{sentence(why)}."
    days = f"from {date_words(row['before'])} to {date_words(row['after'])}"
    return f"This unit {moved(change)} {days}, which answers nothing: {why}."


def within_sentence(row: Row) -> str:
    """The sentence of burned against unburned ground of one unit, from a row of ``within_unit``."""
    nothing = float("nan")
    figures = printed(
        Account(
            unburned=float(row["unburned_change"]),
            change=float(row["burned_change"]),
            left=float(row["difference"]),
            low=nothing if pd.isna(row["interval_low"]) else float(row["interval_low"]),
            high=nothing if pd.isna(row["interval_high"]) else float(row["interval_high"]),
            dose=1.0,
        )
    )
    if figures.change is None or figures.left is None:
        return ""
    unburned = figures.change - figures.left
    burned, words = moved(figures.change), difference_words(figures.left, figures.low, figures.high)
    return (
        f"where the fire did not go it {moved(unburned)}; where it went it {burned}; {words} lies "
        "between them."
    )
