"""The years of a unit as they are drawn: each mark at its day and figure, none off the record."""

import re
from xml.etree import ElementTree

import pandas as pd
import pytest

from pipeline.pages.road.road_section import draw_road, road_rows
from pipeline.pages.road.unit_years import MOST_YEARS, unit_years, years_words
from pipeline.pages.road.years_drawing import (
    BAND_FOOT,
    LEFT,
    LETTER_PX,
    PAPER_WIDTH,
    RIGHT,
    STEPS,
    draw_years,
)
from tests.literal_layers import literal_layer
from tests.made_season import log_of, property_row, square_units

UNITS = square_units(A=80, B=40)


def move(unit_id, number, day, state):
    """A row of ``road_moves``."""
    told = {"event": "burn", "moved_by": "burn", "rule": 1, "reason": "r", "source": "s"}
    return told | {"unit_id": unit_id, "number": number, "day": day, "to_state": state}


def year(unit_id, number, state="inherited", **told):
    """A row of ``road_years``."""
    return {"unit_id": unit_id, "year": number, "state": state, **told}


def frames_of(years, moves, log=None, as_of="2026-11-15"):
    """The layers that the drawings read."""
    last = {row["unit_id"]: row for row in moves}
    road = [
        {
            "unit_id": unit_id,
            "state": row["to_state"],
            "since": row["day"],
            "moved_by": "m",
            "rule": 1,
            "reason": "r",
            "rests_on": "log",
            "carries": "unknown",
            "source": "s",
            "missing": "survey, fuel",
        }
        for unit_id, row in last.items()
    ]
    shapes = dict(zip(UNITS["unit_id"], UNITS.geometry, strict=True))
    return {
        "units": UNITS,
        "property": property_row(as_of=as_of),
        "road": literal_layer("road", road, [shapes[unit] for unit in last], UNITS.crs),
        "road_moves": literal_layer("road_moves", moves),
        "road_years": literal_layer("road_years", years),
        "treatment_log": literal_layer("treatment_log") if log is None else log,
    }


def drawn(frames, unit=0):
    """The drawing of a unit as a tree of elements."""
    units, scales = unit_years(frames)
    words = years_words(units[unit])
    told = draw_years(units[unit], scales, key="k", title="t", words=words, paper=True)
    return ElementTree.fromstring(str(told)), words


def place(day, first=2007, last=2026):
    """Where a day stands across, by the calendar alone."""
    day = pd.Timestamp(day)
    share = (day.year - first + (day.day_of_year - 1) / 366) / (last + 1 - first)
    return LEFT + share * (PAPER_WIDTH - LEFT - RIGHT)


def of(tree, name, **wanted):
    """Elements of a name that have these attributes."""
    found = [el for el in tree.iter() if el.tag.split("}")[-1] == name]
    return [el for el in found if all(el.get(k.replace("_", "-")) == v for k, v in wanted.items())]


TWENTY = [year("A", n) for n in range(2007, 2027)]
ROAD = [
    move("A", 1, None, "inherited"),
    move("A", 2, "2010-01-01", "resting"),
    move("A", 3, "2011-04-10", "waiting"),
    move("A", 4, "2014-06-20", "recovered"),
]


def test_every_mark_stands_at_its_day():
    columns = "unit_id start end kind"
    log = log_of(
        columns,
        ("A", "2011-04-10", "2011-04-10", "burn"),
        ("A", "2015-05-20", "2015-05-20", "seed"),
        ("B", "2012-04-10", "2012-04-10", "burn"),
    )
    tree, words = drawn(frames_of(TWENTY, ROAD, log))
    marks = {
        el.get("data-work"): el.get("transform") for el in of(tree, "path") if el.get("data-work")
    }
    assert set(marks) == {"burn", "seed"}
    for kind, day in (("burn", "2011-04-10"), ("seed", "2015-05-20")):
        x = float(re.search(r"translate\(([\d.]+)", marks[kind])[1])
        assert x == pytest.approx(place(day), abs=0.06)
    assert "burn 2011-04-10, seed 2015-05-20" in words


def test_band_climbs_with_the_road_and_ends_on_the_day_of_the_plan():
    tree, _ = drawn(frames_of(TWENTY, ROAD))
    boxes = [
        el for el in of(tree, "rect") if float(el.get("y")) + float(el.get("height")) == BAND_FOOT
    ]
    heights = [float(el.get("height")) for el in boxes]
    assert heights == sorted(heights)
    assert len(boxes) == 4
    ends = [float(el.get("x")) + float(el.get("width")) for el in boxes]
    assert ends[-1] == pytest.approx(place("2026-11-15"), abs=0.11)
    assert ends[0] == pytest.approx(place("2010-01-01"), abs=0.11)


def test_no_state_stands_higher_than_the_one_it_leads_to():
    ladder = ["inherited", "resting", "waiting", "answered", "recovering", "recovered"]
    steps = [STEPS[state] for state in ladder]
    assert steps == sorted(set(steps))
    assert STEPS["not_answered"] < STEPS["waiting"]
    assert STEPS["cropped"] < STEPS["establishing"] < STEPS["established"]


def test_dots_stand_at_their_figures_and_are_told_in_words():
    years = [
        year("A", 2020, surveyed="2020-06-20", native_share_pct=25.0, cool_exotic_share_pct=75.0),
        year("A", 2026, surveyed="2026-06-20", native_share_pct=75.0, cool_exotic_share_pct=25.0),
    ]
    tree, words = drawn(frames_of(years, ROAD[:1]))
    dots = {(el.get("r"), float(el.get("cx"))): float(el.get("cy")) for el in of(tree, "circle")}
    full = [y for (r, _), y in sorted(dots.items()) if r == "3.2"]
    hollow = [y for (r, _), y in sorted(dots.items()) if r == "2.6"]
    assert len(full) == len(hollow) == 2
    assert full == pytest.approx(hollow[::-1], abs=0.11)
    assert full[0] - full[1] == pytest.approx(17.0, abs=0.11), "half of a row of 34"
    assert "Natives in percent of the cover: 2020 25, 2026 75." in words


def test_greener_is_up_and_full_and_less_green_down_and_hollow():
    years = [
        year("A", 2025, pictured="2025-07-20", greenness=0.5, greenness_gap=0.1),
        year("A", 2026, pictured="2026-07-20", greenness=0.5, greenness_gap=-0.05),
    ]
    tree, _ = drawn(frames_of(years, ROAD[:1]))
    bars = [el for el in of(tree, "rect") if el.get("width") == "5.0"]
    up, down = bars
    assert float(up.get("height")) == 2 * float(down.get("height"))
    assert float(up.get("y")) + float(up.get("height")) == pytest.approx(float(down.get("y")))
    assert up.get("fill") != down.get("fill")


def test_burn_of_less_than_half_is_hollow():
    years = [year("A", 2025, burned_pct=40.0), year("A", 2026, burned_pct=90.0)]
    log = log_of("unit_id start kind", ("A", "2025-04-10", "burn"), ("A", "2026-04-10", "burn"))
    tree, _ = drawn(frames_of(years, ROAD[:1], log))
    fills = [el.get("fill") for el in of(tree, "path", data_work="burn")]
    assert len(set(fills)) == 2


def test_bar_of_animals_is_open_where_they_are_not_told():
    years = [year("A", 2025, grazed_aum=80.0), year("A", 2026)]
    log = log_of(
        "unit_id start end kind",
        ("A", "2025-05-01", "2025-08-01", "graze"),
        ("A", "2026-05-01", "2026-08-01", "graze"),
    )
    tree, _ = drawn(frames_of(years, ROAD[:1], log))
    first = place("2025-05-01", 2019), place("2026-05-01", 2019)
    bars = [
        next(el for el in of(tree, "rect") if float(el.get("x")) == pytest.approx(x, abs=0.06))
        for x in first
    ]
    assert [bar.get("fill") == "none" for bar in bars] == [False, True]


@pytest.mark.parametrize("days", [(1, 30, 60), (1, 90, 400), (300, 330, 5000), (2, 3, 4)])
def test_names_of_the_band_stay_inside_and_never_meet(days):
    first = pd.Timestamp("2007-01-01")
    states = ["resting", "not_answered", "recovering"]
    steps = [
        move("A", n, (first + pd.Timedelta(days=day)).strftime("%Y-%m-%d"), state)
        for n, (day, state) in enumerate(zip(days, states, strict=True), 2)
    ]
    tree, _ = drawn(frames_of(TWENTY, [ROAD[0], *steps]))
    names = of(tree, "text", text_anchor="start")
    assert "recovering" in [el.text for el in names]
    spans = [
        (float(el.get("y")), float(el.get("x")), float(el.get("x")) + LETTER_PX * len(el.text))
        for el in names
    ]
    assert all(low >= LEFT - 60 and high <= PAPER_WIDTH for _, low, high in spans)
    for n, (y, low, high) in enumerate(spans):
        for other_y, other_low, other_high in spans[n + 1 :]:
            assert y != other_y or high <= other_low or other_high <= low


def test_only_the_newest_years_are_drawn_and_short_records_are_not_stretched():
    long = [year("A", n) for n in range(1980, 2027)]
    units, scales = unit_years(frames_of(long, ROAD))
    assert (scales.first_year, scales.last_year) == (2027 - MOST_YEARS, 2026)
    assert units[0].runs[0].first == pd.Timestamp("2007-01-01")
    _, short = unit_years(frames_of([year("A", 2026)], ROAD[:1]))
    assert short.first_year == 2019


def test_rows_that_no_unit_has_are_left_out_and_nothing_is_drawn_of_nothing():
    tree, _ = drawn(frames_of(TWENTY, ROAD))
    named = [el.text for el in of(tree, "text", text_anchor="end")]
    assert named == ["State", "Done", "Grazed"]
    assert not draw_road(frames_of([], ROAD))


def test_section_names_each_unit_and_what_is_missing_in_words():
    frames = frames_of(
        [*TWENTY, *(year("B", n) for n in range(2007, 2027))],
        [*ROAD, move("B", 1, None, "cropped")],
    )
    page = str(draw_road(frames))
    assert page.count("<svg") == 2
    assert page.count('aria-describedby="years-0-words"') == 1
    assert "recovered since 2014" in page
    assert "cropland" in page
    words = road_rows(frames)["missing"].iloc[0]
    assert words == "what grows there since: no survey; its fuel"
