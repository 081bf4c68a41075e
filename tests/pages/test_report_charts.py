"""Charts of greenness: what was done to a unit is marked, and labels do not run into each other."""

import re
from xml.etree import ElementTree

import pandas as pd

from pipeline.pages import palette
from pipeline.pages.report_charts import LABEL_WIDTH, draw_series

DAYS = pd.to_datetime(["2022-07-20", "2023-07-21", "2024-07-19", "2025-07-20", "2026-07-22"])
WORK = "mow 2024-06-01; graze 2025-05-01 to 2025-08-01; burn 2026-04-14"


def charts(told=None, burns=""):
    rows = [(unit, day, mean) for unit, mean in (("P1", 0.5), ("P2", 0.6)) for day in DAYS]
    scenes = pd.DataFrame(rows, columns=["unit_id", "date", "mean"]).assign(
        kind="ndvi", valid_pct=100.0, treated_since_last=None
    )
    last = (scenes["unit_id"] == "P1") & (scenes["date"] == DAYS[-1])
    scenes["treated_since_last"] = pd.Series(told, index=scenes.index, dtype=object).where(last)
    history = pd.DataFrame({"unit_id": ["P1"], "burn_dates": [burns]})
    return [ElementTree.fromstring(str(chart)) for chart in draw_series(scenes, history, {})]


def labels(chart):
    return [text for text in chart.iter("text") if (text.text or "").startswith("burned")]


def feet(chart):
    return [p.get("d") for p in chart.iter("path") if p.get("stroke-width") == "4"]


def test_other_work_is_drawn_along_the_foot_as_long_as_it_lasted():
    first, second = charts(WORK)
    (drawn,) = feet(first)
    spans = [(float(a), float(b)) for a, b in re.findall(r"M([\d.]+) \S+H([\d.]+)", drawn)]
    assert [round(b - a) for a, b in spans] == [2, round(2 + 92 * (340 - 38) / 1826)]
    assert feet(second) == []
    told = first.find("svg/title").text
    assert "Other work: mow 2024-06-01; graze 2025-05-01 to 2025-08-01." in told
    assert "burn 2026" not in told, "burns have lines of their own"


def test_every_burn_has_a_line_and_dates_keep_clear_of_each_other():
    chart = charts(burns="2022-04-10; 2023-04-12; 2025-04-09; 2026-04-14")[0]
    lines = [p for p in chart.iter("path") if p.get("stroke-dasharray")]
    assert len(lines) == 4
    boxes = []
    for text in labels(chart):
        x = float(text.get("x"))
        left = x if text.get("text-anchor") == "start" else x - LABEL_WIDTH
        boxes.append((left, left + LABEL_WIDTH))
    assert 1 < len(boxes) < 4
    assert all(b <= c or d <= a for n, (a, b) in enumerate(boxes) for c, d in boxes[n + 1 :])
    assert labels(chart)[0].text == "burned 2026-04-14"


def dots(chart):
    """Dots of a chart from left to right: height on the page and what they are filled with."""
    found = {}
    for path in chart.iter("path"):
        if path.get("stroke-linecap") == "round":
            for x, y in re.findall(r"M([\d.]+) ([\d.]+)h", path.get("d")):
                found[float(x), float(y)] = path.get("stroke")
    return [(y, fill) for (_, y), fill in sorted(found.items())]


def names_of_shared(chart):
    return [group.get("id") for group in chart.iter("g") if group.get("id")]


def test_what_charts_have_alike_is_drawn_once_and_used_by_the_others():
    means = [0.3, 0.4, 0.5, 0.4, 0.3]
    rows = [
        (u, d, m + n / 50) for n, u in enumerate("ABCD") for d, m in zip(DAYS, means, strict=True)
    ]
    scenes = pd.DataFrame(rows, columns=["unit_id", "date", "mean"]).assign(
        kind="ndvi", valid_pct=100.0, treated_since_last=None
    )
    history = pd.DataFrame({"unit_id": [], "burn_dates": []})
    drawn = [ElementTree.fromstring(str(chart)) for chart in draw_series(scenes, history, {})]
    uses = [[use.get("href").removeprefix("#") for use in chart.iter("use")] for chart in drawn]
    first, second, third, last = map(names_of_shared, drawn)
    assert len(first) == 2, "axes, and the range of the units above"
    assert len(second) == 1
    assert uses[1] == [first[0]], "A too is below B, so that B has a range of its own"
    assert third == []
    assert uses[2] == [first[0], second[0]], "C and B have A below and D above them"
    assert len(last) == 1


def readings(means, valid_pct=100.0, days=DAYS):
    """Charts of one unit with these readings and of another that reads 0.2 and 0.6."""
    rows = [("P1", day, mean) for day, mean in zip(days, means, strict=True)]
    rows += [("P2", day, 0.2 if n % 2 else 0.6) for n, day in enumerate(days)]
    scenes = pd.DataFrame(rows, columns=["unit_id", "date", "mean"]).assign(
        kind="ndvi", valid_pct=valid_pct, treated_since_last=None
    )
    history = pd.DataFrame({"unit_id": ["P1"], "burn_dates": [None]})
    return [ElementTree.fromstring(str(chart)) for chart in draw_series(scenes, history, {})]


def test_greener_is_higher_and_reads_off_the_scale():
    chart = readings([0.0, 0.3, 0.6, 0.9, 0.45])[0]
    heights = [y for y, _ in dots(chart)]
    assert heights[0] > heights[1] > heights[2] > heights[3]
    lines = {
        text.text: float(text.get("y")) - 4
        for text in chart.iter("text")
        if text.text in ("0.0", "0.3", "0.6", "0.9")
    }
    assert [lines[level] for level in ("0.0", "0.3", "0.6", "0.9")] == heights[:4]


def test_readings_with_few_usable_pixels_are_hollow():
    usable = pd.Series([100, 80, 79.9, 0, 100] * 2, dtype=float)
    fills = [fill for _, fill in dots(readings([0.5] * 5, usable)[0])]
    assert fills == [palette.INK, palette.INK, palette.PAPER, palette.PAPER, palette.INK]


def test_a_unit_stands_before_the_range_of_the_others():
    # The other unit reads 0.6 and 0.2 by turns: bars of no height at its readings.
    first, second = readings([0.1, 0.1, 0.1, 0.1, 0.1])
    bars = next(p.get("d") for p in first.iter("path") if p.get("stroke-width") == "7")
    tops = [float(y) for y in re.findall(r"M\S+ ([\d.]+)V", bars)]
    assert tops == [y for y, _ in dots(second)]


def test_readings_are_joined_only_where_they_are_close_in_time():
    # Days 10, 40 and 73 of a year: 30 days apart, then 33.
    days = pd.to_datetime(["2026-01-10", "2026-02-09", "2026-03-14"])
    chart = readings([0.3, 0.4, 0.5], days=days)[0]
    joined = [p.get("d") for p in chart.iter("path") if p.get("stroke-width") == "1.4"]
    assert len(joined) == 1
    (first, _), (second, _), _ = dots(chart)
    assert [float(y) for y in re.findall(r" ([\d.]+)", joined[0])] == [first, second]
