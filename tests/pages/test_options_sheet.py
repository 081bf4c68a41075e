"""The sheet of options in the packet: each with what it loses, and its rule told once with why."""

from pipeline.pages.packet.season_pages import options_page
from tests.literal_layers import literal_layer
from tests.made_season import square_units

UNITS = square_units(A=80, B=40)


def option(unit_id, rank, rule, **cells):
    flags = ("fuel", "stock", "seed", "approval", "machine", "hands")
    row = {f"needs_{name}": False for name in flags} | {"leaves_no_refuge": False}
    row |= {"unit_id": unit_id, "rank": rank, "year": 2027, "rule": rule, "suggestion": "x"}
    return row | {"reason": f"because of {rule}", "source": f"source {rule}"} | cells


def frames_of(*options):
    shapes = dict(zip(UNITS["unit_id"], UNITS.geometry, strict=True))
    places = [shapes[row["unit_id"]] for row in options]
    fed = {"unit_id": "A", "open": True, "supply_aum": 12.0}
    fed |= {"reason": "measured"}
    return {
        "season_options": literal_layer("season_options", list(options), places, UNITS.crs),
        "option_conflicts": literal_layer("option_conflicts", []),
        "forage": literal_layer("forage", [fed]),
    }


def sheet(*options):
    return options_page(frames_of(*options))


def column(table, heading):
    place = table["headings"].index(heading)
    return [row[place] for row in table["rows"]]


def test_each_rule_stands_once_with_its_reason_what_it_rules_out_and_its_source():
    page = sheet(
        option("A", 1, 160, leads_to="rest", rules_out="fire and grazing"),
        option("A", 2, 20, leads_to="graze"),
        option("B", 1, 160, leads_to="rest", rules_out="fire and grazing"),
    )
    assert column(page["options"], "Rule") == ["160", "20", "160"]
    assert column(page["rules"], "Rule") == ["20", "160"]
    assert column(page["rules"], "Why") == ["because of 20", "because of 160"]
    assert column(page["rules"], "Rules out") == ["–", "fire and grazing"]
    assert column(page["rules"], "Source") == ["source 20", "source 160"]


def test_what_an_option_loses_on_its_unit_stands_beside_it():
    page = sheet(
        option("A", 1, 70, leads_to="weeds", would_lose="thistle: big bluestem"),
        option("A", 2, 160, leads_to="rest"),
        option("B", 1, 160, leads_to="rest"),
    )
    assert column(page["options"], "Would lose") == [
        "to spray, in the patches: thistle: big bluestem",
        "up to 12.0 AUM of feed",
        "–",
    ]


def test_without_options_there_is_no_sheet():
    assert options_page(frames_of()) is None
