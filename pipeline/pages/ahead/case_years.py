"""What-ifs beside the plan: the burns of each unit over the years, a small chart a case."""

import math

import pandas as pd

from pipeline.ahead.settings import PLANNED_CASE
from pipeline.ahead.sum_layers import PLAN_CASES, PLAN_STATES
from pipeline.pages import palette
from pipeline.pages.ahead.year_choices import KIND_OF, Frames
from pipeline.pages.markup import Markup, given, tag
from pipeline.pages.road.years_drawing import GRID, PALE, box, stroke, text
from pipeline.pages.words import code_words, row_words

WIDTH, LEFT, RIGHT = 300.0, 44.0, 6.0


HEAD, ROW = 16.0, 13.0


TOLD = ("burned_ac", "line_ft", "mower_hours", "cost_usd", "short_aum", "late_unit_years")
"""Figures that are told under each chart."""


def draw_cases(frames: Frames) -> Markup:
    """A chart a case, all on the same axes; nothing without a what-if."""
    years, cases = frames["plan_case_years"], plan_first(frames["plan_cases"])
    if years.empty:
        return Markup("")
    most = frames["plan_units"].set_index("unit_id")["most_years"]
    order = [unit for unit in frames["units"]["unit_id"] if unit in set(years["unit_id"])]
    states = frames["plan_states"]
    figures = [
        _figure(
            n,
            row | {"states": _end_words(states[states["case"] == row["case"]])},
            years[years["case"] == row["case"]],
            order,
            most,
        )
        for n, row in enumerate(cases.to_dict("records"))
    ]
    return tag("div", *figures, attributes={"class": "charts"})


def plan_first(cases: pd.DataFrame) -> pd.DataFrame:
    """Table ``plan_cases`` with the plan itself above all what-ifs."""
    return cases.sort_values("case", key=lambda names: names != PLANNED_CASE, kind="stable")


def _figure(
    number: int, case: dict[object, object], rows: pd.DataFrame, order: list[str], most: pd.Series
) -> Markup:
    """The chart of a case under its name, its figures below."""
    told = ", ".join(
        f"{PLAN_CASES.column(name).heading.lower()} {row_words(case, PLAN_CASES, name)}"
        for name in TOLD
        if pd.notna(case[name])
    )
    key = f"case-{number}"
    first, years = int(rows["year"].min()), int(rows["year"].nunique())
    step = (WIDTH - LEFT - RIGHT) / years
    height = HEAD + len(order) * ROW + 4
    marks = [
        stroke(f"M{LEFT + n * step:.1f} {HEAD}V{height - 4:.1f}", GRID, 0.7)
        for n in range(years + 1)
    ]
    marks += [
        text(str(first + n)[2:], LEFT + (n + 0.5) * step, HEAD - 4, "middle") for n in range(years)
    ]
    words = []
    for place, unit in enumerate(order):
        foot = HEAD + (place + 1) * ROW
        marks.append(text(unit, LEFT - 5, foot - 2.5, "end", own=True))
        marks.append(stroke(f"M{LEFT} {foot:.1f}H{WIDTH - RIGHT}", GRID, 0.5))
        burns = []
        for row in rows[rows["unit_id"] == unit].itertuples(index=False):
            x, kind = LEFT + (row.year - first) * step, KIND_OF[row.treatment]
            if kind == "burn":
                middle = x + step / 2
                triangle = f"M{middle - 4:.1f} {foot - 2:.1f}h8l-4 -8z"
                marks.append(
                    tag("path", attributes={"d": triangle, "fill": palette.WORK_INKS["burn"]})
                )
                burns.append(f"{row.year} {code_words(row.treatment)}")
            elif kind == "seed":
                marks.append(text("∴", x + step / 2, foot - 2, "middle", own=True))
            elif pd.notna(row.years_since_burn) and row.years_since_burn >= most.get(
                unit, math.inf
            ):
                marks.append(box(x + 0.8, foot - ROW + 1.5, step - 1.6, ROW - 3, fill=PALE))
        words.append(f"{unit}: {', '.join(burns) or 'no burn'}.")
    drawing = tag(
        "svg",
        tag("title", f"Burns by unit and year: {case['case']}", attributes={"id": f"{key}-title"}),
        tag("desc", " ".join(words), attributes={"id": f"{key}-words"}),
        *marks,
        attributes={
            "class": "chart",
            "viewBox": f"0 0 {WIDTH:.0f} {height:.0f}",
            "role": "img",
            "aria-labelledby": f"{key}-title",
            "aria-describedby": f"{key}-words",
        },
    )
    below = [tag("p", words) for words in (told, case["states"]) if words]
    return tag("figure", tag("figcaption", given(case["case"])), drawing, *below)


def _end_words(states: pd.DataFrame) -> str:
    """Shares of the ground by the state expected after the last year, the greatest first."""
    there = states[states["end_pct"] > 0].sort_values("end_pct", ascending=False, kind="stable")
    shares = [
        f"{code_words(row['state'])} {row_words(row, PLAN_STATES, 'end_pct')}"
        for row in there.to_dict("records")
    ]
    return f"On the road at the end, expected: {', '.join(shares)}" if shares else ""
