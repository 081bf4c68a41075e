"""Ten seasons joined, against what was planned and done in them by hand: see made_years.py.

Every forty is a quarter of a quarter section, 40 acres by the definition of the public land survey,
so acres add up by head. Ellipsoidal acres differ from that by less than 0.001.
"""

import json

import pandas as pd
import pyogrio
import pytest
from osgeo_utils.samples import validate_gpkg

from pipeline.years.layers import CLASS_ACRES, LAYERS
from tests.years.made_years import SEASONS

CLASSES = [column.name for column in CLASS_ACRES]
NEAR = 0.001


def table(folder, name):
    return pyogrio.read_dataframe(folder / "years.gpkg", layer=name)


def outcome(folder, season, unit_id, kind):
    rows = table(folder, "outcomes")
    own = rows["season"].eq(season) & rows["unit_id"].eq(unit_id) & rows["kind"].eq(kind)
    (row,) = rows[own].to_dict("records")
    return row


# season, unit, kind; outcome, how it differs; acres as planned, otherwise, not done, not told
TOLD = [
    (2027, "A", "burn", "done_as_planned", None, (40, 0, 0, 0)),
    (2028, "B", "burn", "done_otherwise", "day", (0, 40, 0, 0)),
    (2029, "C", "seed", "done_otherwise", "acres, method", (0, 25, 15, 0)),
    (2030, "D", "mow", "not_done", None, (0, 0, 40, 0)),
    (2031, "D", "hay", "done_as_planned", None, (40, 0, 0, 0)),
    (2034, "A1", "burn", "done_as_planned", None, (40, 0, 0, 0)),
    (2036, "CD", "burn", "untold", None, (0, 0, 0, 80)),
]


@pytest.mark.parametrize(("season", "unit_id", "kind", "code", "differs", "acres"), TOLD)
def test_plan_has_the_outcome_that_was_told(
    ten_seasons, season, unit_id, kind, code, differs, acres
):
    row = outcome(ten_seasons, season, unit_id, kind)
    assert row["outcome"] == code
    assert (None if pd.isna(row["differs"]) else row["differs"]) == differs
    assert [row[name] for name in CLASSES] == pytest.approx([*acres, 0], abs=NEAR)


def test_every_planned_row_and_every_record_is_told_once(ten_seasons):
    rows = table(ten_seasons, "outcomes")
    plans = sum(
        len(pyogrio.read_dataframe(ten_seasons / f"four_{s}.gpkg", layer="planned_work"))
        for s in SEASONS
        if "planned_work" in pyogrio.list_layers(ten_seasons / f"four_{s}.gpkg")[:, 0]
    )
    assert len(rows[rows["outcome"] != "done_without_plan"]) == plans == len(TOLD)
    (beside,) = rows[rows["outcome"] == "done_without_plan"].to_dict("records")
    assert (beside["unit_id"], beside["kind"], beside["season"]) == ("A", "graze", 2031)
    assert beside["without_plan_ac"] == pytest.approx(40, abs=NEAR)
    assert rows["records"].sum() == 6


def test_planned_acres_are_the_sum_of_the_classes_in_rows_seasons_and_all(ten_seasons):
    for name in ("outcomes", "seasons"):
        rows = table(ten_seasons, name)
        assert rows[CLASSES].sum(axis=1).tolist() == pytest.approx(rows["planned_ac"].tolist())
    record = json.loads((ten_seasons / "years.json").read_text())
    totals = record["totals"]
    assert sum(totals[name] for name in CLASSES) == pytest.approx(totals["planned_ac"])
    assert totals["planned_ac"] == pytest.approx(6 * 40 + 80, abs=NEAR)


def test_pounds_are_those_of_the_plan_and_of_the_acres_sown(ten_seasons):
    # By hand: 6 lb of pure live seed an acre on 40 acres, of which 25 were sown.
    row = outcome(ten_seasons, 2029, "C", "seed")
    assert row["planned_pls_lb"] == pytest.approx(240, abs=0.01)
    assert row["done_pls_lb"] == pytest.approx(150, abs=0.01)


def test_units_are_followed_by_their_ground(ten_seasons):
    lines = table(ten_seasons, "ground_lines").set_index("line")
    assert lines["names"].to_dict() == {"A1": "A, A1", "B1": "B, B1", "B2": "B, B2", "CD": "CD"}
    assert lines["line_ac"].to_dict() == pytest.approx(
        {"A1": 40, "B1": 20, "B2": 20, "CD": 80}, abs=NEAR
    )
    assert lines["burns"].to_dict() == {"A1": 2, "B1": 1, "B2": 1, "CD": 0}
    assert lines.crs.to_epsg() == 4326


def test_changes_are_told_with_their_acres(ten_seasons):
    changes = table(ten_seasons, "unit_changes")
    told = changes[changes["change"] != "same"]
    rows = told[["season", "unit_before", "unit_id", "change"]].values.tolist()
    assert rows == [
        [2033, "A", "A1", "renamed"],
        [2034, "B", "B1", "split"],
        [2034, "B", "B2", "split"],
        [2035, "C", "CD", "merged"],
        [2035, "D", "CD", "merged"],
    ]
    assert told["shared_ac"].tolist() == pytest.approx([40, 20, 20, 40, 40], abs=NEAR)
    assert told["of_before_pct"].tolist() == pytest.approx([100, 50, 50, 100, 100], abs=NEAR)
    assert told["of_unit_pct"].tolist() == pytest.approx([100, 100, 100, 50, 50], abs=NEAR)


def year(folder, line, number):
    rows = table(folder, "unit_years")
    (row,) = rows[rows["line"].eq(line) & rows["year"].eq(number)].to_dict("records")
    return row


def test_line_of_a_unit_goes_on_through_its_names(ten_seasons):
    assert year(ten_seasons, "A1", 2027)["burned_pct"] == pytest.approx(100)
    assert year(ten_seasons, "A1", 2027)["units_then"] == "A"
    assert year(ten_seasons, "A1", 2034)["burned_pct"] == pytest.approx(100)
    assert year(ten_seasons, "A1", 2034)["units_then"] == "A1"
    assert year(ten_seasons, "B2", 2028)["burned_pct"] == pytest.approx(100)
    assert year(ten_seasons, "B2", 2028)["state"] == "waiting"
    # 25 of the 80 acres that C and D are together.
    assert year(ten_seasons, "CD", 2029)["seeded_pct"] == pytest.approx(31.25, abs=NEAR)
    assert year(ten_seasons, "A1", 2031)["grazed_days"] == 30


def test_rest_is_told_where_a_log_tells_of_the_year_and_of_no_work(ten_seasons):
    assert bool(year(ten_seasons, "A1", 2030)["rested"]) is True
    assert bool(year(ten_seasons, "A1", 2031)["rested"]) is False
    assert pd.isna(year(ten_seasons, "A1", 2036)["rested"])


def test_species_stand_side_by_side(ten_seasons):
    species = table(ten_seasons, "species_years")
    brome = species[species["species"] == "Bromus inermis"]
    assert brome["year"].tolist() == list(range(2026, 2036))
    assert brome["cover_pct"].tolist() == pytest.approx([30 + n for n in range(10)])
    # By hand: 20 of 50 points of cover were of the native one.
    assert year(ten_seasons, "A1", 2026)["native_share_pct"] == pytest.approx(40)
    assert year(ten_seasons, "A1", 2026)["species_found"] == 2


def test_options_are_held_against_what_was_done(ten_seasons):
    options = table(ten_seasons, "option_years").set_index(["season", "unit_id", "rank"])
    assert options.loc[(2031, "A", 1), "leads_to"] == "graze"
    assert options.loc[(2031, "A", 1), "taken"] == "taken"
    assert options.loc[(2027, "A", 1), "taken"] == "not_taken"
    assert set(options.loc[2036, "taken"]) <= {"untold", "not_asked"}


def test_record_of_a_name_that_is_no_more_has_its_ground_and_is_told(ten_seasons):
    notes = table(ten_seasons, "notes")
    assert set(notes["code"]) == {"unit_unknown"}
    assert notes["about"].tolist() == ["A", "B", "C", "D"]
    records = table(ten_seasons, "line_records")
    assert records.loc[records["unit_id"] == "B", "line_ac"].tolist() == pytest.approx(
        [20, 20], abs=NEAR
    )


def test_geopackage_is_one_by_the_checker_of_the_standard(ten_seasons):
    """*Source*: OGC 12-128r17, by the checker of gdal-utils."""
    checker = validate_gpkg.GPKGChecker(
        str(ten_seasons / "years.gpkg"), abort_at_first_error=False, warning_msg=False
    )
    checker.check()
    assert [*checker.errors, *checker.warnings] == []
    assert {name for name, _ in pyogrio.list_layers(ten_seasons / "years.gpkg")} == set(LAYERS)


def test_table_is_the_years_of_the_units(ten_seasons):
    rows = pd.read_csv(ten_seasons / "years.csv", encoding="utf-8-sig")
    assert len(rows) == 4 * 11
    assert list(rows.columns) == LAYERS["unit_years"].column_names


@pytest.mark.parametrize("width", [390, 1280])
def test_page_is_whole_and_the_accessibility_checker_finds_nothing(
    ten_seasons, browser, axe, width
):
    page = browser.new_page(viewport={"width": width, "height": 900})
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((ten_seasons / "years.html").as_uri())
    assert page.locator("svg.years").count() == 4
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    page.evaluate(axe)
    assert page.evaluate("axe.run({resultTypes: ['violations']})")["violations"] == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert [url for url in asked if not url.startswith("file:")] == []
    page.close()


def test_tables_sort_by_a_heading(ten_seasons, browser):
    page = browser.new_page()
    page.goto((ten_seasons / "years.html").as_uri())
    seasons = page.locator("table", has=page.get_by_text("Planned and done, season by season"))
    button = seasons.get_by_role("button", name="Season").first
    button.click()
    assert seasons.locator("tbody th").first.inner_text() == "2036"
    button.click()
    assert seasons.locator("tbody th").first.inner_text() == "2027"
    page.close()
