"""The plan of years as one drawing: a row a unit on an axis of time, and below it the sums.

A mark stands where the work falls in its year: a triangle is a burn, dots are seed, two lines are
hay, a bar along the foot is grazing. So the eye sees how a burn wanders through the season, and
nothing is told by color alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.ahead.year_choices import Choice, UnitPlan
from pipeline.pages.markup import Markup, tag
from pipeline.pages.road.years_drawing import GRID, MARKS, PALE, box, stroke, text
from pipeline.pages.words import number_words

WIDTH, LEFT, RIGHT = 760.0, 74.0, 8.0


HEAD, ROW = 22.0, 19.0


BAR = 30.0
"""Height of a row of sums."""


FIGURE = 9.0
"""Height of a figure above the line it stands on."""


UNKNOWN_SHARE = 0.42
"""Share of the year at which work stands that has no days: a sowing, a question."""


SUMS = (
    ("Burn", "burned_ac", "ac", 0, "most_ac"),
    ("Line", "line_ft", "ft", 0, ""),
    ("Crew", "crew_days", "days", 0, ""),
    ("Cost", "cost_usd", "$", 0, ""),
    ("Short", "short_aum", "AUM", 0, ""),
)
"""Rows of sums: words, column, unit, decimals, and the column of a limit that is drawn."""


@dataclass(frozen=True, slots=True)
class Axis:
    """The years of the plan across the drawing."""

    first: int
    years: int

    @property
    def year_px(self) -> float:
        """Width of a year."""
        return (WIDTH - LEFT - RIGHT) / self.years

    def of_year(self, year: float) -> float:
        """Place of a year, or of a share of one."""
        return LEFT + (year - self.first) * self.year_px

    def x(self, day: pd.Timestamp) -> float:
        """Place of a day."""
        return self.of_year(day.year + (day.day_of_year - 1) / 366.0)


def draw_calendar(units: Sequence[UnitPlan], totals: pd.DataFrame, *, title: str) -> Markup:
    """The whole drawing; its description tells every choice to those who do not see it."""
    axis = Axis(int(totals["year"].min()), len(totals))
    marks, foot = _grid(axis, units, totals), HEAD
    for unit in units:
        marks += _unit(axis, unit, foot)
        foot += ROW
    foot += 8
    for words, column, unit_of, places, limit in SUMS:
        if totals[column].fillna(0).any():
            marks += _sums(axis, totals, foot, (words, column, unit_of, places, limit))
            foot += BAR + 12
    ids = {"aria-labelledby": "ahead-calendar-title", "aria-describedby": "ahead-calendar-words"}
    return tag(
        "svg",
        tag("title", title, attributes={"id": "ahead-calendar-title"}),
        tag("desc", " ".join(u.words() for u in units), attributes={"id": "ahead-calendar-words"}),
        *marks,
        attributes={
            "class": "chart ahead",
            "viewBox": f"0 0 {WIDTH:.0f} {_height(len(units), totals):.0f}",
            "role": "img",
            **ids,
        },
    )


def _height(units: int, totals: pd.DataFrame) -> float:
    """Height of the drawing."""
    rows = sum(bool(totals[column].fillna(0).any()) for _, column, *_ in SUMS)
    return HEAD + units * ROW + 8 + rows * (BAR + 12) + 6


def _grid(axis: Axis, units: Sequence[UnitPlan], totals: pd.DataFrame) -> list[Markup]:
    """A line for each year, its name above, and a pale line under each unit."""
    foot = _height(len(units), totals) - 4
    marks = []
    for year in range(axis.first, axis.first + axis.years + 1):
        x = axis.of_year(year)
        marks.append(stroke(f"M{x:.1f} {HEAD - 4}V{foot:.1f}", GRID, 1))
        if year < axis.first + axis.years:
            middle = axis.of_year(year + 0.5)
            marks.append(text(str(year), middle, HEAD - 9, "middle", own=True))
    for row in range(len(units)):
        y = HEAD + (row + 1) * ROW
        marks.append(stroke(f"M{LEFT} {y:.1f}H{WIDTH - RIGHT}", GRID, 0.6))
    return marks


def _unit(axis: Axis, unit: UnitPlan, top: float) -> list[Markup]:
    """The row of one unit."""
    foot = top + ROW
    marks = [text(unit.unit_id, LEFT - 6, foot - 5, "end", own=True)]
    for choice in unit.choices:
        if choice.late:
            x = axis.of_year(choice.year)
            marks.append(box(x + 1, top + 1, axis.year_px - 2, ROW - 2, fill=PALE))
        marks += _choice(axis, choice, foot)
    return marks


def _choice(axis: Axis, choice: Choice, foot: float) -> list[Markup]:
    """The mark of a choice; a rest has none."""
    middle = _middle(axis, choice)
    marks: list[Markup] = []
    if choice.kind == "graze" and choice.first_day is not None and choice.last_day is not None:
        first, last = axis.x(choice.first_day), axis.x(choice.last_day)
        marks.append(box(first, foot - 7, last - first, 5, fill=palette.FAINT_INK))
    elif choice.kind in MARKS:
        burn = choice.kind == "burn"
        look = {
            "fill": palette.WORK_INKS["burn"] if burn else "none",
            "stroke": palette.WORK_INKS["burn"] if burn else palette.INK,
            "stroke-width": 3.0 if choice.kind == "seed" else 1.4,
            "stroke-linecap": "round",
            "stroke-linejoin": "round",
        }
        place = {"d": MARKS[choice.kind], "transform": f"translate({middle:.1f} {foot - 3:.1f})"}
        marks.append(tag("path", attributes={**place, **look, "data-choice": choice.code}))
    elif choice.kind == "undecided":
        marks.append(text("?", middle, foot - 5, "middle", own=True))
    elif choice.kind == "wait":
        marks.append(text("–", middle, foot - 5, "middle", own=True))
    if choice.fixed and choice.kind != "undecided":
        rule = f"M{middle - 7:.1f} {foot - 0.8:.1f}H{middle + 7:.1f}"
        marks.append(stroke(rule, palette.INK, 1.6))
    return marks


def _middle(axis: Axis, choice: Choice) -> float:
    """Where the mark of a choice stands: in the middle of its days."""
    if choice.first_day is None or choice.last_day is None:
        return axis.of_year(choice.year + UNKNOWN_SHARE)
    return (axis.x(choice.first_day) + axis.x(choice.last_day)) / 2


def _sums(
    axis: Axis, totals: pd.DataFrame, top: float, told: tuple[str, str, str, int, str]
) -> list[Markup]:
    """A bar a year with its figure above, and a dashed line at a limit."""
    words, column, unit_of, places, limit = told
    foot = top + BAR + 6
    figures = totals.set_index("year")[column].fillna(0.0).astype(float)
    most = max(float(figures.max()), *(totals[limit] if limit else [0.0]))
    marks = [
        text(words, LEFT - 6, foot - 12, "end", own=True),
        text(unit_of, LEFT - 6, foot - 1, "end"),
        stroke(f"M{LEFT} {foot:.1f}H{WIDTH - RIGHT}", palette.FAINT_INK, 0.7),
    ]
    room = BAR - 10
    rule = foot - room * float(totals[limit].iloc[0]) / most if limit else foot
    for year, figure in figures.items():
        high = room * figure / most
        x = axis.of_year(float(str(year)) + 0.5)
        if figure > 0:
            look = {"fill": PALE, "stroke": palette.INK, "stroke_width": 0.8}
            marks.append(box(x - axis.year_px * 0.3, foot - high, axis.year_px * 0.6, high, **look))
        under = foot - high - 3
        struck = under - FIGURE <= rule <= under + 2
        marks.append(text(number_words(figure, places), x, rule - 3 if struck else under, "middle"))
    if limit:
        marks.append(stroke(f"M{LEFT} {rule:.1f}H{WIDTH - RIGHT}", palette.INK, 0.9, "5 3"))
    return marks
