"""The plan of years as people see it: a calendar, maps, what-ifs, a calendar file, drafted burns.

*Source*: RFC 5545 (2009) as the library vobject reads it; TOML 1.0.0 as tomllib reads it; SVG as
ElementTree reads it. What is planned is made up.
"""

import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import vobject
from shapely.geometry import box

from pipeline.ahead.layers import PLANNED
from pipeline.ahead.sum_layers import PLAN_CASES
from pipeline.core.run import Run
from pipeline.pages.ahead.ahead_words import worded_years
from pipeline.pages.ahead.calendar import Axis, draw_calendar
from pipeline.pages.ahead.case_years import draw_cases, plan_first
from pipeline.pages.ahead.year_choices import unit_plans
from pipeline.pages.ahead.year_maps import draw_year_maps
from pipeline.pages.symbols.work_symbols import YEAR_LOOKS
from pipeline.write.years_ahead import burns_of, write_next_burns, write_years_calendar

CRS = "EPSG:32614"


SQUARES = {"1": (0, 0), "2": (400, 0), "10": (800, 0), 'W "low"': (400, 400)}
"""Four squares of 400 m; the last lies north of the second, beside no other."""


TREATMENTS = {
    "1": ("burn_early_spring", "rest", "graze_late"),
    "2": ("rest", "burn_late_spring", "rest"),
    "10": ("graze_early", "burn_late_spring", "seed"),
    'W "low"': ("rest", "burn_early_spring", "undecided"),
}


DAYS = {
    "burn_early_spring": ("04-01", "04-30"),
    "burn_late_spring": ("05-01", "06-30"),
    "graze_early": ("04-15", "05-20"),
    "graze_late": ("09-15", "10-31"),
}


def day(year, code, end):
    return pd.Timestamp(f"{year}-{DAYS[code][end]}") if code in DAYS else pd.NaT


@pytest.fixture
def frames():
    units = gpd.GeoDataFrame(
        {"unit_id": list(SQUARES), "name": [None, "Hill", None, None]},
        geometry=[box(x, y, x + 400, y + 400) for x, y in SQUARES.values()],
        crs=CRS,
    )
    rows = [
        {
            "unit_id": unit,
            "year": 2027 + n,
            "treatment": code,
            "reason": "fixed" if (unit, n) == ("1", 0) else "line",
            "no_burn_by": None if code.startswith("burn") else "line",
            "breaks_rule": None,
            "years_since_burn": 7.0 if unit == "2" and n == 0 else None,
            "first_day": day(2027 + n, code, 0),
            "last_day": day(2027 + n, code, 1),
            "geometry": box(*(2 * SQUARES[unit])).buffer(200),
        }
        for unit, codes in TREATMENTS.items()
        for n, code in enumerate(codes)
    ]
    shapes = dict(zip(units["unit_id"], units.geometry, strict=True))
    years = gpd.GeoDataFrame(rows, geometry="geometry", crs=CRS)
    years["geometry"] = [shapes[unit] for unit in years["unit_id"]]
    edges = pd.DataFrame(
        [("1", "2"), ("2", "10"), ('W "low"', "2"), ("1", None)], columns=["unit_id", "neighbor"]
    )
    return {
        "units": units,
        "plan_years": years,
        "plan_units": pd.DataFrame(
            {
                "unit_id": list(SQUARES),
                "most_years": [6] * 4,
                "smoke_closed": [False, None, True, False],
            }
        ),
        "plan_edges": edges,
        "plan_totals": pd.DataFrame(
            {
                "year": [2027, 2028, 2029],
                "burned_ac": [39.5, 118.6, 0.0],
                "most_ac": [120.0] * 3,
                "line_ft": [5249.0, 13123.0, 0.0],
                "crew_days": [1.0, 3.0, 0.0],
                "cost_usd": [0.0] * 3,
                "short_aum": [None] * 3,
            }
        ),
        "property": pd.DataFrame({"name": ["Made Place"], "season": [2027]}),
    }


def of(tree, name):
    return [element for element in tree.iter() if element.tag.split("}")[-1] == name]


def test_calendar_has_each_choice_once_in_the_year_and_season_that_it_takes(frames):
    drawn = draw_calendar(unit_plans(frames), frames["plan_totals"], title="Years")
    tree = ET.fromstring(drawn)
    axis = Axis(2027, 3)
    marks = [el for el in of(tree, "path") if el.get("data-choice")]
    assert sorted(el.get("data-choice") for el in marks) == sorted(
        code for codes in TREATMENTS.values() for code in codes if code.startswith(("burn", "seed"))
    )
    late = [el for el in marks if el.get("data-choice") == "burn_late_spring"]
    for mark in late:  # the middle of May and June 2028
        x = float(mark.get("transform").removeprefix("translate(").split()[0])
        assert x == pytest.approx(axis.x(pd.Timestamp("2028-05-31")), abs=1)
    words = of(tree, "desc")[0].text
    for unit, codes in TREATMENTS.items():
        assert f"{unit}, Hill: " in words if unit == "2" else f"{unit}: " in words
        assert words.count("burn, early spring") == 2
        assert len(codes) == 3
    assert words.count("undecided") == 1
    texts = [el.text for el in of(tree, "text")]
    assert {"2027", "119", "13,123"} <= set(texts)  # a year, acres and feet to the whole one
    assert "Cost" not in texts  # what is nothing in all years has no row


def test_dashed_limit_strikes_through_no_figure(frames):
    """Figures are 11 high: 8 above their foot, by the digits of common typefaces, from memory."""
    burned = pd.DataFrame({"year": range(2027, 2127), "burned_ac": np.arange(1.0, 101.0)})
    totals = burned.assign(most_ac=100.0, line_ft=0.0, crew_days=0.0, cost_usd=0.0, short_aum=0.0)
    tree = ET.fromstring(draw_calendar(unit_plans(frames), totals, title="Years"))
    dashed = next(el for el in of(tree, "path") if el.get("stroke-dasharray"))
    rule = float(dashed.get("d").split()[1].split("H")[0])
    figures = [el for el in of(tree, "text") if el.get("text-anchor") == "middle"]
    feet = [float(el.get("y")) for el in figures if el.text in set(map(str, range(1, 101)))]
    assert len(feet) == 100
    assert not any(foot - 8 <= rule < foot + 2 for foot in feet)


def test_shade_stands_where_a_longest_return_is_past_and_nowhere_else(frames):
    drawn = unit_plans(frames)
    late = [(unit.unit_id, choice.year) for unit in drawn for choice in unit.choices if choice.late]
    assert late == [("2", 2027)]


def test_maps_show_all_units_each_year_and_tell_what_burns(frames):
    page = ET.fromstring(f"<div>{draw_year_maps(frames)}</div>")
    assert len(of(page, "svg")) == 3
    titles = [el.text for el in of(page, "title")]
    assert titles[0] == "2027: 1 burn, early spring"
    assert titles[2] == "2029: no burn"
    for svg in of(page, "svg"):
        assert len({el.get("href") for el in of(svg, "use")}) == 4


def test_reasons_are_told_by_their_own_column(frames):
    years = frames["plan_years"].assign(reason="establishing", no_burn_by="establishing")
    told = worded_years(years)
    assert set(told["reason"]) == {"a sowing that takes hold"}
    assert set(told["no_burn_by"]) == {"a sowing, or a field without a sward"}


def test_calendar_file_has_an_entry_for_each_choice_with_days_and_counts_the_others(
    frames, tmp_path
):
    run = Run("made", frames, None, "2026-11-01T00:00:00+00:00")
    write_years_calendar(run, tmp_path / "years.ics")
    calendar = vobject.readOne((tmp_path / "years.ics").read_text("utf-8"))
    events = calendar.vevent_list
    assert len(events) == 6
    assert len({event.uid.value for event in events}) == 6
    first = next(e for e in events if "unit 1: burn" in e.summary.value)
    assert (str(first.dtstart.value), str(first.dtend.value)) == ("2027-04-01", "2027-05-01")
    assert "no permission" in first.description.value
    assert "left out here: 2" in calendar.contents["x-wr-caldesc"][0].value


def test_next_burns_are_blocks_of_units_along_one_edge_and_of_one_time(frames, tmp_path):
    run = Run("made", frames, None, "2026-11-01T00:00:00+00:00")
    assert list(burns_of(run, 2027)) == []  # settled already
    write_next_burns(run, tmp_path / "next.toml")
    text = Path(tmp_path / "next.toml").read_text("utf-8")
    burns = tomllib.loads(text)["burns"]
    assert [burn["units"] for burn in burns] == [['W "low"'], ["2", "10"]]
    assert str(burns[1]["first_day"]) == "2028-05-01"
    assert "no permission" in text
    assert max(map(len, text.splitlines())) <= 100
    before_first, before_second, _ = text.split("[[burns]]")
    assert "# smoke of" not in before_first
    assert "# smoke of 10 met" in before_second


def test_what_ifs_stand_beside_the_plan_which_comes_first(frames):
    years = frames["plan_years"].drop(columns="geometry")
    both = pd.concat([years.assign(case=case) for case in ("a case", "the plan")])
    figures = {column.name: 1.0 for column in PLAN_CASES.columns}
    cases = pd.DataFrame([figures | {"case": "a case"}, figures | {"case": "the plan"}])
    assert plan_first(cases)["case"].tolist() == ["the plan", "a case"]
    states = [("a case", "waiting", 60.4), ("the plan", "inherited", 0.0)]
    states += [("the plan", "waiting", 30.0), ("the plan", "recovering", 70.0)]
    states = pd.DataFrame(states, columns=["case", "state", "end_pct"])
    told = {"plan_case_years": both, "plan_cases": cases, "plan_states": states}
    page = ET.fromstring(f"<div>{draw_cases(frames | told)}</div>")
    words = [el.text for el in of(page, "p") if "expected" in el.text]
    assert words == [
        "On the road at the end, expected: recovering 70 %, waiting 30 %",
        "On the road at the end, expected: waiting 60 %",
    ]
    titles = [el.text for el in of(page, "title")]
    assert titles == ["Burns by unit and year: the plan", "Burns by unit and year: a case"]
    burns = sum(code.startswith("burn") for codes in TREATMENTS.values() for code in codes)
    for svg in of(page, "svg"):
        assert sum("h8l-4 -8z" in el.get("d", "") for el in of(svg, "path")) == burns
    none = pd.DataFrame({"case": []})
    assert not draw_cases(frames | {"plan_case_years": none, "plan_cases": none})


def test_each_choice_of_a_year_has_a_look_of_its_own():
    assert set(YEAR_LOOKS) == set(PLANNED)
    assert len(set(YEAR_LOOKS.values())) == len(YEAR_LOOKS)
