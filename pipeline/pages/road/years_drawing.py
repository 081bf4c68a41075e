"""The years of a unit on one axis of time: band of states, work, grazing, plants, greenness, fuel.

Everything is told by place, shape and fill, nothing by color alone: the band climbs as the unit
comes along the road, so that a look across many drawings finds the ones that stand still.
"""

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.markup import Markup, tag
from pipeline.pages.road.unit_years import Scales, UnitYears, Work
from pipeline.pages.words import code_words, number_words

WIDTH, PAPER_WIDTH = 340.0, 284.0
"""Of a drawing on the screen and on paper, where letters of one size take more of it [px]."""


LEFT, RIGHT = 57.0, 6.0


LETTER_PX = 5.7
"""Width of a letter of a label [px], rather more than less."""


LABEL_LINES = (34.0, 22.0, 10.0)
"""Feet of the lines that names of the steps stand in, from the band upward."""


STEP_PX = 4.3


BAND_FOOT = 65.0


STEPS = {
    "cropped": 0,
    "inherited": 1,
    "resting": 2,
    "waiting": 3,
    "not_answered": 2,
    "answered": 4,
    "recovering": 5,
    "recovered": 6,
    "establishing": 3,
    "established": 6,
}
"""How high the band stands in each state, of six steps."""


ARRIVED = ("recovered", "established")
"""States at the end of the road, whose band is dark."""


BURN = palette.BREAK_STROKES["prepare"].color


ON_PAPER = {
    "xmlns": "http://www.w3.org/2000/svg",
    "font-family": "Libertinus Serif, serif",
    "font-size": 13.5,
    "fill": palette.INK,
}


PALE, BAND_FILL, GRID = "#e9e2d2", "#b7b09f", "#ddd4c0"


@dataclass(slots=True)
class Drawing:
    """A drawing as it grows downward: its marks, and the foot of what was drawn so far."""

    scales: Scales
    width: float = WIDTH
    marks: list[Markup] = field(default_factory=list)
    foot: float = BAND_FOOT

    @property
    def right(self) -> float:
        """Where the last year ends."""
        return self.width - RIGHT

    def x(self, day: pd.Timestamp) -> float:
        """Place of a day across the drawing."""
        return self.of_year(day.year + (day.day_of_year - 1) / 366.0)

    def of_year(self, year: float) -> float:
        """Place of a year, or of a share of one."""
        years = self.scales.last_year + 1 - self.scales.first_year
        share = (max(year, self.scales.first_year) - self.scales.first_year) / years
        return LEFT + share * (self.right - LEFT)

    def row(self, name: str, height: float, note: str = "") -> tuple[float, float]:
        """Begin a row with its name and a note beneath; its top and its foot."""
        top = self.foot + 7.0
        self.foot = top + height
        middle = (top + self.foot) / 2
        self.marks.append(text(name, LEFT - 6, middle + (0 if note else 4), "end", own=True))
        if note:
            self.marks.append(text(note, LEFT - 6, middle + 12, "end"))
        return top, self.foot


def draw_years(
    unit: UnitYears, scales: Scales, *, key: str, title: str, words: str, paper: bool = False
) -> Markup:
    """The drawing of one unit; ``title`` and ``words`` tell all of it to those who do not see.

    On ``paper`` it brings the look of its letters along, which a page on the screen gives it.
    """
    drawing = Drawing(scales, PAPER_WIDTH if paper else WIDTH)
    _band(drawing, unit)
    _done(drawing, unit)
    if scales.has_plants:
        _plants(drawing, unit)
    if scales.has_greenness:
        _greenness(drawing, unit)
    if scales.has_fuel:
        _fuel(drawing, unit)
    marks = [*_years(drawing), *_burn_lines(drawing, unit), *drawing.marks]
    ids = {"aria-labelledby": f"{key}-title", "aria-describedby": f"{key}-words"}
    size = {"viewBox": f"0 0 {drawing.width:.0f} {drawing.foot + 20:.0f}"}
    look = ON_PAPER if paper else {}
    return tag(
        "svg",
        tag("title", title, attributes={"id": f"{key}-title"}),
        tag("desc", words, attributes={"id": f"{key}-words"}),
        *marks,
        attributes={"class": "chart years", **size, "role": "img", **ids, **look},
    )


def text(words: str, x: float, y: float, anchor: str, *, own: bool = False) -> Markup:
    """Words in a drawing; what names a row or a state is in full ink."""
    look = {"class": "own"} if own else {}
    return tag(
        "text", words, attributes={"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor, **look}
    )


def stroke(data: str, color: str, width: float, dash: str | None = None) -> Markup:
    """A line without a fill."""
    look = {"stroke": color, "stroke-width": width, "stroke-dasharray": dash, "fill": "none"}
    return tag("path", attributes={"d": data, **look})


def box(x: float, y: float, width: float, height: float, **look: Any) -> Markup:
    """A rectangle."""
    place = {"x": x, "y": y, "width": max(width, 0.8), "height": max(height, 0.8)}
    named = {name.replace("_", "-"): value for name, value in look.items()}
    return tag("rect", attributes={**{n: f"{v:.1f}" for n, v in place.items()}, **named})


def _years(drawing: Drawing) -> list[Markup]:
    """A line for each year and the names of some."""
    first, last = drawing.scales.first_year, drawing.scales.last_year
    every = 1 if last - first < 8 else 2 if last - first < 12 else 5
    marks, foot = [], drawing.foot + 4
    for year in range(first, last + 2):
        named = year <= last and (year % every == 0 or every == 1)
        x = drawing.of_year(year)
        marks.append(stroke(f"M{x:.1f} {BAND_FOOT}V{foot:.1f}", GRID, 1.2 if named else 0.6))
        if named:
            middle = (x + drawing.of_year(year + 1)) / 2
            marks.append(text(str(year), middle, foot + 12, "middle"))
    return marks


def _burn_lines(drawing: Drawing, unit: UnitYears) -> list[Markup]:
    """A dashed line down from each burn, so that the eye finds what followed it."""
    days = [work.first for work in unit.works if work.kind == "burn"]
    return [
        stroke(f"M{drawing.x(day):.1f} {BAND_FOOT}V{drawing.foot + 2:.1f}", BURN, 1, "3 2.5")
        for day in days
    ]


def _band(drawing: Drawing, unit: UnitYears) -> None:
    """The band of states: a stair that climbs, with a label at the beginning of each step."""
    drawing.marks.append(text("State", LEFT - 6, BAND_FOOT - 8, "end", own=True))
    for run in unit.runs:
        x, rise = drawing.x(run.first), STEPS[run.state] * STEP_PX
        look = {"stroke": palette.INK, "stroke_width": 0.8, "fill": BAND_FILL}
        if run.state in ARRIVED:
            look["fill"] = palette.INK
        if run.state == "not_answered":
            look |= {"fill": PALE, "stroke_dasharray": "2 1.5"}
        if rise:
            drawing.marks.append(box(x, BAND_FOOT - rise, drawing.x(run.last) - x, rise, **look))
    edge = f"M{LEFT:.1f} {BAND_FOOT}H{drawing.x(drawing.scales.until):.1f}"
    drawing.marks.append(stroke(edge, palette.INK, 1))
    _labels(drawing, unit)


def _labels(drawing: Drawing, unit: UnitYears) -> None:
    """Names of the steps, tied to where they begin; the newest first, for it must have room.

    One whose name runs over the beginnings of the next ones stands higher. Neither name nor tie
    crosses another name; what has no room is left to the table.
    """
    taken: list[list[tuple[float, float]]] = [[] for _ in LABEL_LINES]
    begins = [drawing.x(run.first) for run in unit.runs]
    newest = len(begins) - 1
    for place in [newest, *range(newest)][: len(begins)]:
        run, x = unit.runs[place], begins[place]
        start = min(x + 1.0, drawing.right - LETTER_PX * len(code_words(run.state)))
        end = start + LETTER_PX * len(code_words(run.state))
        wanted = min(sum(x < other <= end + 4 for other in begins), len(LABEL_LINES) - 1)
        for line in sorted(range(len(LABEL_LINES)), key=lambda n: (abs(n - wanted), n)):
            free = all(end + 4 <= a or b + 4 <= start for a, b in taken[line])
            below = (name for names in taken[:line] for name in names)
            if free and all(x <= a - 1 or b + 1 <= x for a, b in below):
                taken[line].append((start, end))
                foot, top = LABEL_LINES[line], BAND_FOOT - STEPS[run.state] * STEP_PX
                drawing.marks.append(text(code_words(run.state), start, foot, "start", own=True))
                tie = f"M{x + 0.4:.1f} {foot + 2:.1f}V{top:.1f}"
                drawing.marks.append(stroke(tie, palette.INK, 0.6))
                break


def _done(drawing: Drawing, unit: UnitYears) -> None:
    """Marks of work on its day, and below them a bar for animals and an open one for rest."""
    _, foot = drawing.row("Done", 12.0)
    for work in unit.works:
        if work.kind in MARKS:
            drawing.marks.append(_mark(work, drawing.x(work.first), foot))
    _, foot = drawing.row("Grazed", 12.0)
    drawing.marks.append(stroke(f"M{LEFT} {foot:.1f}H{drawing.right}", GRID, 1))
    months = unit.years["grazed_aum"] / unit.acres / drawing.scales.aum_ac
    for work in unit.works:
        x, width = drawing.x(work.first), drawing.x(work.last) - drawing.x(work.first)
        if work.kind == "rest":
            look = {"fill": "none", "stroke": palette.FAINT_INK, "stroke_width": 0.9}
            drawing.marks.append(box(x, foot - 4.5, width, 4, **look))
        elif work.kind == "graze":
            share = months.get(work.first.year)
            known = pd.notna(share)
            high = 12.0 * max(0.25, float(share)) if known else 6.0
            look = {"fill": palette.FAINT_INK if known else "none", "stroke": palette.INK}
            dash = {} if known else {"stroke_dasharray": "1.5 1.5"}
            look |= {"stroke_width": 0 if known else 0.9, **dash}
            drawing.marks.append(box(x, foot - high, max(width, 1.6), high, **look))


MARKS = {
    "burn": "M-5 0L0 -11L5 0Z",
    "seed": "M-4 -2h.01M0 -2h.01M4 -2h.01M-2 -6h.01M2 -6h.01M0 -10h.01",
    "hay": "M-5 -3H5M-5 -7H5",
    "mow": "M-5 -3H5M-5 -7H5",
    "spray": "M-4 -9L4 -1M4 -9L-4 -1",
    "cut": "M-4 -9L4 -1M-4 -1L0 -5",
    "drag": "M-5 -3H5M-3 -3V-7M0 -3V-7M3 -3V-7",
    "till": "M-6 -3L-3 -8L0 -3L3 -8L6 -3",
    "harvest": "M0 0V-10M-3 -7L0 -10L3 -7M-3 -4L0 -7L3 -4",
}
"""Marks of work around its day, standing on the foot of their row."""


def _mark(work: Work, x: float, foot: float) -> Markup:
    """One mark: a burn filled, or hollow where it took less than half; the others as lines."""
    burn = work.kind == "burn"
    look = {
        "fill": BURN if burn and not work.part else palette.PAPER if burn else "none",
        "stroke": BURN if burn else palette.INK,
        "stroke-width": 3.4 if work.kind == "seed" else 1.4,
        "stroke-linecap": "round",
        "stroke-linejoin": "round",
    }
    place = {"d": MARKS[work.kind], "transform": f"translate({x:.1f} {foot:.1f})"}
    return tag("path", attributes={**place, **look, "data-work": work.kind})


def _plants(drawing: Drawing, unit: UnitYears) -> None:
    """Natives as full dots, exotic cool-season grasses as hollow ones, in percent of the cover."""
    top, foot = drawing.row("Natives", 34.0, "0–100 %")
    half = (top + foot) / 2
    drawing.marks.append(stroke(f"M{LEFT} {foot:.1f}H{drawing.right}", GRID, 1))
    drawing.marks.append(stroke(f"M{LEFT} {half:.1f}H{drawing.right}", palette.FAINT_INK, 0.7))
    for column, full in (("cool_exotic_share_pct", False), ("native_share_pct", True)):
        known = unit.years[["surveyed", column]].dropna()
        places = [
            (drawing.x(day), foot - (foot - top) * value / 100.0)
            for day, value in known.itertuples(index=False)
        ]
        path = "L".join(f"{x:.1f} {y:.1f}" for x, y in places)
        if len(places) > 1:
            drawing.marks.append(
                stroke(f"M{path}", palette.INK, 1.6 if full else 0.8, None if full else "2 2")
            )
        drawing.marks += [_dot(x, y, full) for x, y in places]


def _dot(x: float, y: float, full: bool) -> Markup:
    look = {"fill": palette.INK if full else palette.PAPER, "stroke": palette.INK}
    place = {"cx": f"{x:.1f}", "cy": f"{y:.1f}", "r": 3.2 if full else 2.6}
    return tag("circle", attributes={**place, **look, "stroke-width": 1.1})


def _greenness(drawing: Drawing, unit: UnitYears) -> None:
    """Bars up where the unit is greener in midsummer than unburned units, down where less."""
    reach = number_words(drawing.scales.gap, 2)
    top, foot = drawing.row("Greener", 28.0, f"± {reach}")
    zero = (top + foot) / 2
    drawing.marks.append(stroke(f"M{LEFT} {zero:.1f}H{drawing.right}", palette.FAINT_INK, 0.8))
    known = unit.years[["pictured", "greenness_gap"]].dropna()
    for day, gap in known.itertuples(index=False):
        size = (foot - top) / 2 * abs(gap) / drawing.scales.gap
        up = gap >= 0
        look = {"fill": palette.INK if up else palette.PAPER, "stroke": palette.INK}
        x = drawing.x(day) - 2.5
        drawing.marks.append(box(x, zero - size if up else zero, 5, size, **look, stroke_width=1))


def _fuel(drawing: Drawing, unit: UnitYears) -> None:
    """Dry load of each year as a bar, to the largest of the property."""
    most = number_words(drawing.scales.fuel_lb_ac, 0)
    top, foot = drawing.row("Fuel", 22.0, most)
    drawing.marks.append(stroke(f"M{LEFT} {foot:.1f}H{drawing.right}", GRID, 1))
    known = unit.years[["fuel_on", "fuel_lb_ac"]].dropna()
    for day, load in known.itertuples(index=False):
        high = (foot - top) * load / drawing.scales.fuel_lb_ac
        look = {"fill": BAND_FILL, "stroke": palette.INK, "stroke_width": 0.8}
        drawing.marks.append(box(drawing.x(day) - 3, foot - high, 6, high, **look))
