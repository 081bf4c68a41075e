"""Causes of findings: what each is called, what is at stake, in which unit, and what to do.

Every subject declares its own in a table. A finding carries the code of its cause and, where
something can be counted, an amount; findings of one cause are told in one line with their sum.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import pandas as pd

STAKES = ("fire", "season", "ground", "supply", "evidence", "reading")
"""What is at stake, the gravest first.

fire: a line that does not hold, smoke, or a block without figures. season: limits in a burn window,
fuel and history. ground: acres and outlines. supply: seed, feed or money. evidence: how far a
verdict can be trusted. reading: how a source was read, and what always holds.
"""


SEVERITIES = ("warning", "note")
"""How grave a finding is, the graver first."""


UNITS = ("ac", "ft", "lb", "aum", "pixels")
"""Units that amounts are told in, by the suffix that columns use. Own choice: these add up."""


MOST_WORST = 3
"""Places that are named beside a cause."""


IN_BRACKETS = re.compile(r"\[([^|\]]*)\|([^|\]]*)\]")


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause of findings.

    ``words`` name it behind a count, with what one and what several have in brackets:
    ``unit[|s] that [has|have] no edge``. ``do`` is what a person does about all of them. ``unit``
    is that of the amounts, None where nothing is counted but the findings themselves.
    """

    code: str
    stake: str
    words: str
    do: str
    unit: str | None = None

    def told(self, count: int) -> str:
        """Words for so many findings, without their number."""
        return IN_BRACKETS.sub(lambda match: match[1 if count == 1 else 2], self.words)


def sum_by_cause(
    findings: pd.DataFrame, causes: Iterable[Cause], totals: Mapping[str, float]
) -> pd.DataFrame:
    """Findings summed by severity and cause, in the order in which a person should look at them.

    The order: warnings before notes; then what is at stake, as ``STAKES`` has it; then the larger
    share of the property's total, causes without a share after those that have one; then the more
    findings; then the code, so that it never depends on the order of rows. ``totals`` are those of
    the property by unit. Every finding is in one row, so that the counts sum to their number.
    """
    cause_by_code = {cause.code: cause for cause in causes}
    rows = [
        _row(str(severity), cause_by_code[str(code)], mine, totals)
        for (severity, code), mine in findings.groupby(["severity", "code"], sort=False)
    ]
    rows.sort(key=_place)
    columns = ["rank", "severity", "code", "stake", "cause", "findings", "amount", "unit"]
    columns += ["share_pct", "worst", "do"]
    return pd.DataFrame([row | {"rank": n} for n, row in enumerate(rows, 1)], columns=columns)


def _row(
    severity: str, cause: Cause, mine: pd.DataFrame, totals: Mapping[str, float]
) -> dict[str, object]:
    """One cause with its sums; an amount that no finding tells is none, not nothing."""
    amount = mine["amount"].astype(float).sum(min_count=1) if cause.unit else float("nan")
    total = totals.get(cause.unit or "", 0.0)
    return {
        "severity": severity,
        "code": cause.code,
        "stake": cause.stake,
        "cause": cause.told(len(mine)),
        "findings": len(mine),
        "amount": amount,
        "unit": cause.unit if pd.notna(amount) else None,
        "share_pct": 100.0 * amount / total if total > 0 else float("nan"),
        "worst": worst_places(mine),
        "do": cause.do,
    }


def worst_places(findings: pd.DataFrame) -> str:
    """Names of at most three things that findings speak of, the largest amounts first.

    How many more there are is told after them. Where none of them names a thing, the sources or
    steps that they speak of.
    """
    names = findings["subject"] if findings["subject"].notna().any() else findings["source"]
    amounts = findings["amount"].astype(float).groupby(names, sort=False).sum()
    ranked = list(amounts.sort_values(ascending=False, kind="stable").index)
    more = [f"and {len(ranked) - MOST_WORST} more"] if len(ranked) > MOST_WORST else []
    return "; ".join([*ranked[:MOST_WORST], *more])


def _place(row: Mapping[str, object]) -> tuple[object, ...]:
    """Where a cause stands in the order: the less, the earlier."""
    share = float(str(row["share_pct"]))
    return (
        SEVERITIES.index(str(row["severity"])),
        STAKES.index(str(row["stake"])),
        -share if pd.notna(share) else 1.0,
        -int(str(row["findings"])),
        row["code"],
    )
